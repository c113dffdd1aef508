"""Pieces of procedures made whole, for the tests of the rules."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from benchwalk.procedure.findings import Finding
from benchwalk.procedure.linked import Linked
from benchwalk.procedure.linking import link
from benchwalk.procedure.read import read
from benchwalk.proof.check import check_file
from benchwalk.sums import compute

HEAD = {
    "procedure": "sample",
    "title": "A sample",
    "revision": "1",
    "for": "[snare drum]",
    "purpose": "Show what a rule is about.",
    "needs": "{tools: [drum key], parts: none, supplies: none, before: none}",
    "hazards": "{none_found_by: senior}",
    "time": "5 min",
    "sources": "[common practice, no published source]",
}

OTHERS = {
    "snip-a-strand": """
procedure: snip-a-strand
gives: [ends_left]
readings:
  ends_left: {ask: Ends left in the tray, kind: whole, possible: 0 .. 8}
  strand: {ask: The strand, choices: {loose: hangs loose, fast: is fast at both ends}}
steps:
  - step: strand
    record: [strand]
    branches:
      - {when: strand is loose, go: snip}
      - {when: strand is fast, go: leave}
  - step: snip
    do: Snip the strand at both plates.
    record: [ends_left]
    end: done
  - step: leave
    do: Leave the strand alone.
    end: stopped
""",
    "tie-a-side": """
procedure: tie-a-side
takes: {target: {range: mm}, side: {choices: {butt: butt side, strainer: strainer side}}}
gives: [stopper]
readings:
  stopper: {ask: The cord is stopped by, choices: {knot: a knot, washer: a washer}}
steps:
  - step: tie
    do: "Tie the {{ side }} at {{ target }}."
    record: [stopper]
    end: done
""",
    "wipe-the-film": """
procedure: wipe-the-film
steps:
  - step: wipe
    do: Wipe the film dry.
    end: done
""",
    "count-strands": """
procedure: count-strands
gives: [strands]
readings:
  strands: {ask: Strands on the set, kind: whole, possible: 0 .. 50}
steps:
  - step: count
    do: Count the strands.
    record: [strands]
    branches:
      - {when: strands >= 12, go: enough}
      - {when: strands < 12, go: too-few}
  - step: enough
    do: Put the set by.
    end: done
  - step: too-few
    do: Put the set by for the senior.
    end: stopped
""",
}
"""Procedures that samples may run."""

KNOWN = (*OTHERS, "sample")


@dataclass(frozen=True)
class Given:
    """An approval that a shop has given."""

    procedure: str
    revision: str
    content: str
    name: str
    at: str
    runs: Mapping[str, str] = field(default_factory=dict)


APPROVED = (
    Given("sample", "4", "f" * 64, "Ines Okafor", "2026-01-12T08:30:00+00:00"),
    Given("sample", "3", "e" * 64, "Mara Quill", "2026-03-02T09:00:00+00:00"),
)
"""What the shop of the samples has approved: two revisions, with other content than any sample has."""


ROLES = ("apprentice", "senior")
"""The roles that the people of the shop of the samples have."""


def whole(piece: str) -> str:
    """The piece with all that a procedure begins with put after it, so that its own lines keep their numbers."""
    keys = {line.partition(":")[0] for line in piece.splitlines()}
    return piece.rstrip("\n") + "\n" + "".join(f"{key}: {text}\n" for key, text in HEAD.items() if key not in keys)


@lru_cache
def other(name: str) -> Linked | None:
    """One of the procedures that samples may run."""
    return link(read(whole(OTHERS[name]).encode(), f"{name}.yaml"), other) if name in OTHERS else None


def linked(piece: str) -> Linked:
    """A piece, made whole, read and linked; fails where it cannot be."""
    found = link(read(whole(piece).encode(), "sample.yaml"), other)
    assert found is not None, read(whole(piece).encode(), "sample.yaml").findings
    return found


def findings(piece: str, *, known: Sequence[str] = KNOWN) -> list[Finding]:
    """Everything that is found in a piece, its examples walked; that it has none is left out."""
    found = check_file(
        whole(piece).encode(),
        "sample.yaml",
        other,
        known=known,
        compute=compute,
        approvals=APPROVED,
        roles=ROLES,
        file="sample.yaml",
    )
    return [f for f in found if not (f.rule == "example" and f.severity == "advice")]


def said(found: Sequence[Finding]) -> list[str]:
    """Findings as the manual shows them: `line:column: sentence [rule]`."""
    return [f"{f.pos.line}:{f.pos.column}: {f.message} [{f.rule}]" for f in found]


def check(piece: str) -> list[str]:
    """`said` of `findings`."""
    return said(findings(piece))
