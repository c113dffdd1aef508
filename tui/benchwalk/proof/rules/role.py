"""A role that is not a word.

Who signs, looks on, allows or vouches is named by a role: one or two plain words in small letters, such as `senior` or
`shop manager`, as the shop's people have them. A name, a sentence or a list of people is none.

Wrong:

    steps:
      - step: look
        do: Show the drum to the senior.
        witness: {by: Somebody who knows., because: A cord that lets go does so on stage}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done

Says:

    4:19: 'Somebody who knows.' is no role; write one or two plain words in small letters, such as senior [role]

Right:

    steps:
      - step: look
        do: Show the drum to the senior.
        witness: {by: senior, because: A cord that lets go does so on stage}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked, Path
from ...procedure.parts import NoHazards
from ...procedure.showing import shortened

ID = "role"
ROLE = re.compile(r"[a-z][a-z-]*(?: [a-z][a-z-]*)?\Z")


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each role that is not one or two plain words."""
    for text, path in _roles(linked):
        if not ROLE.match(text):
            message = f"'{shortened(text)}' is no role; write one or two plain words in small letters, such as senior"
            yield Finding(ID, message, linked.place(*path))


def _roles(linked: Linked) -> Iterator[tuple[str, Path]]:
    hazards = linked.procedure.hazards
    if isinstance(hazards, NoHazards):
        yield hazards.none_found_by, ("hazards", "none_found_by")
    for step in linked.steps.values():
        at: Path = ("steps", linked.at[step.step])
        if step.hold:
            yield step.hold.by, (*at, "hold", "by")
            for number, role in enumerate(step.hold.for_work_by):
                yield role, (*at, "hold", "for_work_by", number)
        if step.witness:
            yield step.witness.by, (*at, "witness", "by")
        if step.may_skip:
            yield step.may_skip.by, (*at, "may_skip", "by")
