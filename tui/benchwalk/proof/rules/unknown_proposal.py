"""A procedure is proposed that the library does not have.

What a finding or an end proposes is offered to the technician as the next thing to do. Where the library lacks it the
proposal is a name only. Mostly that is work still to be written, so it is advice, told once for each name; it may also
be a slip of the pen.

Wrong:

    steps:
      - step: hand-on
        do: Put the drum by for the senior.
        end: {as: referred, proposes: [snip-the-strand]}

Says:

    4:36: the library has no procedure 'snip-the-strand'; did you mean 'snip-a-strand'? [unknown-proposal]

Right:

    steps:
      - step: hand-on
        do: Put the drum by for the senior.
        end: {as: referred, proposes: [snip-a-strand]}
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from difflib import get_close_matches
from functools import partial

from ...procedure.findings import Finding, Pos
from ...procedure.linked import Linked, Path

ID = "unknown-proposal"


def check(linked: Linked, known: Collection[str] = ()) -> Iterator[Finding]:
    """Advice for each name proposed that is not in `known`, once; none where nothing is known."""
    places: dict[str, list[Pos]] = {}
    for name, path in _proposals(linked):
        if known and name not in known:
            places.setdefault(name, []).append(linked.place(*path))
    for name, found in places.items():
        key = (get_close_matches, name, tuple(known))
        near = linked.worked.of(key, partial(get_close_matches, name, known, 1, cutoff=0.8))
        message = f"the library has no procedure '{name}'" + (f"; did you mean '{near[0]}'?" if near else "")
        lines = ", ".join(str(line) for line in sorted({pos.line for pos in found} - {found[0].line}))
        if lines:
            message += f" (proposed in line{'s' if ',' in lines else ''} {lines} too)"
        yield Finding(ID, message, found[0], severity="advice")


def _proposals(linked: Linked) -> Iterator[tuple[str, Path]]:
    for key, finding in linked.procedure.findings.items():
        for number, name in enumerate(finding.proposes):
            yield name, ("findings", key, "proposes", number)
    for step in linked.steps.values():
        for number, name in enumerate(step.end.proposes if step.end else []):
            yield name, ("steps", linked.at[step.step], "end", "proposes", number)
