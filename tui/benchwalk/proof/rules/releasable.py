"""A sign-off that nobody in the shop could give.

A look that nobody may give stops the drum for ever. Told only where it is known who works here (`check` with a shop):
whoever releases a hold, allows a skip or looks on must have a role that somebody of the shop has. Give somebody the
role (`benchwalk people change`), or name one that is there. An error for a hold; advice for a skip, which may just be
left undone, and for who is only told.

Wrong:

    steps:
      - step: look
        do: Show the drum to the tuner.
        hold: {by: tuner, signs: checked, because: A cord that lets go does so on stage}
        branches:
          - {when: hold is released, go: hand-back}
          - {when: hold is refused, go: hand-on}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
      - step: hand-on
        do: Put the drum by for the senior.
        end: referred

Says:

    4:16: nobody of this shop is a tuner, so nobody could release this; here are apprentice and senior [releasable]

Right:

    steps:
      - step: look
        do: Show the drum to the senior.
        hold: {by: senior, signs: checked, because: A cord that lets go does so on stage}
        branches:
          - {when: hold is released, go: hand-back}
          - {when: hold is refused, go: hand-on}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
      - step: hand-on
        do: Put the drum by for the senior.
        end: referred
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked, Path
from .role import ROLE

ID = "releasable"


def check(linked: Linked, roles: Collection[str] = ()) -> Iterator[Finding]:
    """One finding for each role that none of the shop's people has; `roles` are those they have (none: not known)."""
    if not roles:
        return
    for path, role, does, severity in _asked(linked):
        if role not in roles and ROLE.match(role):  # what is no role at all is told by `role`
            here = _listed(sorted(roles))
            message = f"nobody of this shop is a {role}, so nobody could {does}; here are {here}"
            yield Finding(ID, message, linked.place(*path), severity=severity)


def _asked(linked: Linked) -> Iterator[tuple[Path, str, str, str]]:
    """(place, role, what for, severity) of everybody whose word is asked for."""
    for name, step in linked.steps.items():
        at: Path = ("steps", linked.at[name])
        if step.hold:
            yield (*at, "hold", "by"), step.hold.by, "release this", "error"
        if step.may_skip:
            yield (*at, "may_skip", "by"), step.may_skip.by, "allow this", "advice"
        if step.witness:
            yield (*at, "witness", "by"), step.witness.by, "look on here", "advice"


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
