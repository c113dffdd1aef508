"""A procedure is proposed that the library does not have.

What a finding or an end proposes is offered to the technician as the next thing to do. Where the library lacks it the
proposal is a name only. Mostly that is work still to be written, so it is advice; it may also be a slip of the pen.

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

from ...procedure.findings import Finding
from ...procedure.linked import Linked, Path
from ...procedure.scope import meant

ID = "unknown-proposal"


def check(linked: Linked, known: Collection[str] = ()) -> Iterator[Finding]:
    """Advice for each proposal that is not in `known`; none where nothing is known."""
    if not known:
        return
    for name, path in _proposals(linked):
        if name not in known:
            message = f"the library has no procedure '{name}'{meant(name, known)}"
            yield Finding(ID, message, linked.place(*path), severity="advice")


def _proposals(linked: Linked) -> Iterator[tuple[str, Path]]:
    for key, finding in linked.procedure.findings.items():
        for number, name in enumerate(finding.proposes):
            yield name, ("findings", key, "proposes", number)
    for step in linked.steps.values():
        for number, name in enumerate(step.end.proposes if step.end else []):
            yield name, ("steps", linked.at[step.step], "end", "proposes", number)
