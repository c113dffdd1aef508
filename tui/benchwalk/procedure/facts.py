"""What can be known of a drum, under the names a procedure may ask for.

A procedure lists in `drum:` what it needs; the job answers, or the technician is asked before step 1.
"""

from __future__ import annotations

from typing import NamedTuple


class Fact(NamedTuple):
    """A fact of a drum: its kind (whole, number, words), unit, the question, and the possible values as a range."""

    kind: str
    unit: str
    ask: str
    possible: str | None


FACTS: dict[str, Fact] = {
    "rods": Fact("whole", "", "How many tension rods has a head", "3 .. 16"),
    "diameter": Fact("number", "mm", "Nominal diameter of the shell (14 in, or mm)", "100 .. 1200"),
    "depth": Fact("number", "mm", "Depth of the shell (5 1/2 in, or mm)", "20 .. 1200"),
    "strands": Fact("whole", "", "How many strands has the snare set", "1 .. 60"),
    "shell": Fact("words", "", "What is the shell made of", None),
    "wrap": Fact("words", "", "What covers the shell (lacquer, wrap, bare, chrome)", None),
}
