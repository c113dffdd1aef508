"""Everything that is wrong with a procedure, at once: what reading and linking found, and what the rules find.

Nothing here reads a disk or a clock: files are handed in as bytes, other procedures by `find`, sums by `compute`.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from ..procedure.collector import collector_rests
from ..procedure.findings import Finding
from ..procedure.linked import Find, Linked
from ..procedure.linking import link
from ..procedure.read import read
from ..procedure.source import Source
from .rules import RULES, allow, endless, example, file_name, may_skip, releasable, revision, unknown_proposal, unwalked
from .silence import silenced, silences

Compute = Callable[[str, dict[str, Any]], Any]
Rehearse = Callable[[Linked], Iterable[example.Walked]]
Tell = Callable[[Linked], Sequence[Finding]]


@dataclass(frozen=True)
class Checked:
    """The findings of one file in the order of the file, and the procedure where it could be read."""

    findings: tuple[Finding, ...]
    linked: Linked | None

    @property
    def ok(self) -> bool:
        """Whether nothing worse than advice was found."""
        return not any(finding.severity == "error" for finding in self.findings)


@collector_rests()
def check_file(
    data: bytes,
    name: str,
    find: Find,
    *,
    known: Collection[str] = (),
    compute: Compute | None = None,
    approvals: Sequence[revision.Approved] = (),
    roles: Collection[str] = (),
    file: str = "",
) -> list[Finding]:
    """All findings of one file. `find` gives the procedures it runs, `known` are the ids that can be proposed (none:
    proposals are not looked up), with `compute` its examples are walked, `approvals` and `roles` are those of the
    shop that uses it, and `file` is what the file is called, where that is known."""
    source = read(data, name)
    tell = telling(compute) if compute is not None else None
    return check_source(source, link(source, find), known=known, tell=tell, approvals=approvals, roles=roles, file=file)


def check_source(
    source: Source,
    linked: Linked | None,
    *,
    known: Collection[str] = (),
    tell: Tell | None = None,
    approvals: Sequence[revision.Approved] = (),
    roles: Collection[str] = (),
    file: str = "",
) -> list[Finding]:
    """The same for a file that is read and linked already; `tell` gives what walking its examples tells."""
    return list(_checked(source, linked, known, tell, approvals, roles, file).findings)


@collector_rests()
def check(
    source: Source,
    find: Find,
    *,
    known: Collection[str] = (),
    rehearse: Rehearse | None = None,
    approvals: Sequence[revision.Approved] = (),
    roles: Collection[str] = (),
    file: str = "",
    before: Linked | None = None,
) -> Checked:
    """The same for a file that is read; `rehearse` walks the examples of a procedure. `before` is an earlier text of
    it: what was worked out of its parts is taken over where they are alike."""
    linked = link(source, find, before=before.worked if before is not None else None)
    tell = (lambda book: _of_walks(book, [*rehearse(book)])) if rehearse is not None else None
    return _checked(source, linked, known, tell, approvals, roles, file)


def telling(compute: Compute) -> Tell:
    """What walking the examples of a procedure tells, with these sums."""
    from .rehearse import rehearse  # only now: a check without examples loads no walk

    return lambda linked: _of_walks(linked, rehearse(linked, compute))


def _of_walks(linked: Linked, walked: Sequence[example.Walked]) -> list[Finding]:
    return [*example.check(linked, walked), *unwalked.check(linked, walked)]


@collector_rests()
def _checked(
    source: Source,
    linked: Linked | None,
    known: Collection[str],
    tell: Tell | None,
    approvals: Sequence[revision.Approved],
    roles: Collection[str],
    file: str,
) -> Checked:
    if linked is None:
        return Checked(in_order(source.findings), None)
    findings = list(linked.findings)
    for rule in RULES.values():
        findings += rule(linked)
    findings += unknown_proposal.check(linked, known)
    findings += revision.check(linked, approvals)
    findings += releasable.check(linked, roles)
    findings += file_name.check(linked, file)
    walkable = linked.sound and not any(f.rule in _UNWALKABLE and f.severity == "error" for f in findings)
    walked = linked.procedure.examples if tell is not None and walkable else ()
    findings += tell(linked) if tell is not None and walkable else _of_walks(linked, ())
    asked = ((unknown_proposal, known), (unwalked, walked), (releasable, roles), (file_name, file))
    unasked = {rule.ID for rule, given in asked if not given}
    return Checked(in_order(_after_silence(linked, findings, unasked)), linked)


def _after_silence(linked: Linked, findings: list[Finding], unasked: Collection[str]) -> list[Finding]:
    """What is left when each silence was heard, and what is wrong with the silences themselves.

    A silence that nothing came of is only told of where its rule was asked, and nothing else is wrong: what could not
    be looked at because of an error may want it yet.
    """
    wanted = silences(linked)
    if not wanted:
        return findings
    kept, used = silenced(findings, wanted)
    sound = not any(finding.severity == "error" for finding in kept)
    idle = {silence for silence in wanted if silence not in used and sound and silence.rule not in unasked}
    from .manual import described  # only now: few files hold a silence

    return [*kept, *allow.check(linked, wanted, idle, described())]


_UNWALKABLE = frozenset((endless.ID, may_skip.ID))


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings in the order of the file, the same one once."""
    seen: dict[tuple[str, str, tuple[int, int]], Finding] = {}
    for finding in findings:
        seen.setdefault((finding.rule, finding.message, finding.pos), finding)
    return tuple(sorted(seen.values(), key=lambda f: (f.pos, f.severity != "error", f.rule, f.message)))
