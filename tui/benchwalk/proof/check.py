"""Everything that is wrong with a procedure, at once: what reading and linking found, and what the rules find.

Nothing here reads a disk or a clock: files are handed in as bytes, other procedures by `find`, sums by `compute`.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from typing import Any

from ..procedure.findings import Finding
from ..procedure.linked import Find, Linked
from ..procedure.linking import link
from ..procedure.read import Source, read
from .rules import RULES, endless, example, may_skip, unknown_proposal

Compute = Callable[[str, dict[str, Any]], Any]
Rehearse = Callable[[Linked], Iterable[example.Walked]]


@dataclass(frozen=True)
class Checked:
    """The findings of one file in the order of the file, and the procedure where it could be read."""

    findings: tuple[Finding, ...]
    linked: Linked | None

    @property
    def ok(self) -> bool:
        """Whether nothing worse than advice was found."""
        return not any(finding.severity == "error" for finding in self.findings)


def check_file(
    data: bytes, name: str, find: Find, *, known: Collection[str] = (), compute: Compute | None = None
) -> list[Finding]:
    """All findings of one file. `find` gives the procedures it runs, `known` are the ids that can be proposed (none:
    proposals are not looked up), and with `compute` its examples are walked."""
    return list(check(read(data, name), find, known=known, rehearse=rehearsal(compute)).findings)


def check_source(
    source: Source, linked: Linked | None, *, known: Collection[str] = (), compute: Compute | None = None
) -> list[Finding]:
    """The same for a file that is read and linked already."""
    return list(_checked(source, linked, known, rehearsal(compute)).findings)


def check(source: Source, find: Find, *, known: Collection[str] = (), rehearse: Rehearse | None = None) -> Checked:
    """The same for a file that is read; `rehearse` walks the examples of a procedure."""
    return _checked(source, link(source, find), known, rehearse)


def rehearsal(compute: Compute | None) -> Rehearse | None:
    """The walk of a procedure's examples with these sums; None without sums."""
    if compute is None:
        return None
    from .rehearse import rehearse

    return lambda linked: rehearse(linked, compute)


def _checked(source: Source, linked: Linked | None, known: Collection[str], rehearse: Rehearse | None) -> Checked:
    if linked is None:
        return Checked(in_order(source.findings), None)
    findings = list(linked.findings)
    for rule in RULES.values():
        findings += rule(linked)
    findings += unknown_proposal.check(linked, known)
    walkable = linked.sound and not any(f.rule in _UNWALKABLE and f.severity == "error" for f in findings)
    findings += example.check(linked, rehearse(linked) if rehearse is not None and walkable else ())
    return Checked(in_order(findings), linked)


_UNWALKABLE = frozenset((endless.ID, may_skip.ID))


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings in the order of the file, the same one once."""
    seen: dict[tuple[str, str, tuple[int, int]], Finding] = {}
    for finding in findings:
        seen.setdefault((finding.rule, finding.message, finding.pos), finding)
    return tuple(sorted(seen.values(), key=lambda f: (f.pos, f.severity != "error", f.rule, f.message)))
