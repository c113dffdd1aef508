"""What is wrong with a text while it is written: at once what its words show, a moment later what its examples show."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, NamedTuple

from ..procedure.findings import Finding
from ..procedure.linked import Find, Linked
from ..procedure.read import read
from ..procedure.tree import Document
from ..proof.check import check
from ..proof.rehearse import Rehearsal, rehearse_one
from ..proof.rules.revision import Approved

Compute = Callable[[str, dict[str, Any]], Any]


@dataclass(frozen=True)
class Judged:
    """A text with its tree and findings; `linked` is None where it could not be read as a procedure at all."""

    document: Document
    findings: Sequence[Finding]
    linked: Linked | None

    @property
    def walkable(self) -> bool:
        """Whether nothing is wrong that keeps it from being walked."""
        return self.linked is not None and self.linked.sound and not self.errors

    @property
    def errors(self) -> int:
        """How many errors there are."""
        return sum(finding.severity == "error" for finding in self.findings)

    @property
    def said(self) -> str:
        """How much is wrong, in words."""
        errors, advice = self.errors, len(self.findings) - self.errors
        said = f"{errors} error{'' if errors == 1 else 's'}" if errors else "no errors"
        return f"{said}, {advice} advice" if advice else said


class Stale(Exception):
    """The text is another one by now; what was found out about the old one is of no use."""


class Held(NamedTuple):
    """What a procedure is held against: of its shop the approvals, and the roles that people have; and what its file is
    called, where it has a name that stays."""

    approvals: Sequence[Approved] = ()
    roles: Collection[str] = ()
    file: str = ""


NOTHING_HELD = Held()


def judge(
    text: str,
    name: str,
    find: Find,
    known: Collection[str],
    compute: Compute | None = None,
    fresh: Callable[[], bool] = lambda: True,
    shop: Held = NOTHING_HELD,
    before: Linked | None = None,
) -> Judged:
    """Check a text, as it would be used in that shop; with `compute` its examples are walked too. It is told sooner
    where most of it is as it was in a text `before`; what is told is the same.

    Raises Stale between two of them once it is not `fresh`: walking all would be in the way of whoever writes on.
    """

    source = read(text.encode(), name, before.source if before is not None else None)
    rehearse = partial(_walked, compute, fresh) if compute is not None else None
    checked = check(
        source,
        find,
        known=known,
        rehearse=rehearse,
        approvals=shop.approvals,
        roles=shop.roles,
        file=shop.file,
        before=before,
    )
    return Judged(source.document, checked.findings, checked.linked)


def _walked(compute: Compute, fresh: Callable[[], bool], linked: Linked) -> Iterator[Rehearsal]:
    for example in linked.procedure.examples:
        if not fresh():
            raise Stale
        yield rehearse_one(linked, example, compute)
