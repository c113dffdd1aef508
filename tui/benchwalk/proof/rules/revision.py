"""Content that was changed under an approved revision.

An approval of a shop speaks of one revision and of exactly what it said. A file that says something else under the same
number would make two texts of one name: records speak of revision 3, and nobody can tell which. Raise the revision; it
is then approved anew. Told only of a procedure that a shop uses, where the shop has approved that revision, by itself
or with a procedure that runs it, and never with this content; layout and comments do not count. An error.

Wrong:

    procedure: sample
    revision: 3
    steps:
      - step: hand-back
        do: Put the drum out for its owner.
        end: done

Says:

    2:11: revision 3 was approved by Mara Quill on 2026-03-02, and says something else now; raise it to 5 [revision]

Right:

    procedure: sample
    revision: 5
    steps:
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Protocol

from ...procedure.findings import Finding
from ...procedure.linked import Linked

ID = "revision"


class Approved(Protocol):
    """An approval that stands: of which procedure, revision and content, with which it runs, by whom, when.

    `runs` holds "revision content" by the id of the procedure that is run; `at` begins with the date.
    """

    @property
    def procedure(self) -> str: ...
    @property
    def revision(self) -> str: ...
    @property
    def content(self) -> str: ...
    @property
    def runs(self) -> Mapping[str, str]: ...
    @property
    def name(self) -> str: ...
    @property
    def at(self) -> str: ...


def check(linked: Linked, approvals: Sequence[Approved] = ()) -> Iterator[Finding]:
    """One finding where this revision was approved, and never with what it says now. `approvals` in their order."""
    own = str(linked.procedure.revision)
    known = [found for approval in approvals if (found := _of(linked.id, approval)) is not None]
    same = [(content, approval) for revision, content, approval in known if revision == own]
    if not same or any(content == linked.content for content, _ in same):
        return
    last = same[-1][1]
    whole = [int(revision) for revision, _, _ in known if revision.isdecimal()]
    within = "" if last.procedure == linked.id else f" as part of '{last.procedure}'"
    message = (
        f"revision {own} was approved by {last.name} on {last.at[:10]}{within}, and says something else now; "
        f"raise it to {max(whole, default=0) + 1}"
    )
    yield Finding(ID, message, linked.place("revision"))


def _of(procedure: str, approval: Approved) -> tuple[str, str, Approved] | None:
    """The revision and the content of a procedure that an approval speaks of, by itself or as one that is run."""
    if approval.procedure == procedure:
        return approval.revision, approval.content, approval
    revision, _, content = approval.runs.get(procedure, "").partition(" ")
    return (revision, content, approval) if content else None
