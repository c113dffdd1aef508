"""A drawing that there is not, or that cannot be drawn.

`show` names one of the drawings there are: `pairs`, `rod order`, `snares from the side`, `knot`, `groove`. The first
two depend on the number of rods, so the procedure asks for it under `drum`. The full screen draws them; plain mode and
paper do not, so `do` says all that must be done.

Wrong:

    steps:
      - step: loosen
        do: Loosen all rods by a quarter turn.
        each: [batter head, snare head]
        show: rod order
      - step: look
        do: Look at the snares.
        show: the snares from the side
      - step: hand-back
        do: Put the drum out for its owner.
        end: done

Says:

    5:11: 'rod order' is drawn for the rods of this drum, and 'drum:' does not ask for rods [show]
    8:11: there is no drawing 'the snares from the side'; did you mean 'snares from the side'? [show]

Right:

    steps:
      - step: loosen
        do: Loosen all rods by a quarter turn.
        each: [batter head, snare head]
      - step: look
        do: Look at the snares.
        show: snares from the side
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
"""

from __future__ import annotations

from collections.abc import Iterator

from ...procedure.drawings import DRAWINGS
from ...procedure.findings import Finding
from ...procedure.linked import Linked
from ...procedure.scope import meant
from ...procedure.showing import shortened

ID = "show"


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each `show` that names no drawing, or one that needs the rods of a drum not asked for them."""
    for name, step in linked.steps.items():
        if step.show is None:
            continue
        place = linked.place("steps", linked.at[name], "show")
        if step.show not in DRAWINGS:
            hint = meant(step.show, DRAWINGS) or f"; there are {', '.join(DRAWINGS)}"
            yield Finding(ID, f"there is no drawing '{shortened(step.show)}'{hint}", place)
        elif DRAWINGS[step.show] and "rods" not in linked.procedure.drum:
            message = f"'{step.show}' is drawn for the rods of this drum, and 'drum:' does not ask for rods"
            yield Finding(ID, message, place)
