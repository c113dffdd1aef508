"""Which advice is silenced where: `allow: {RULE: why}` in a step, a reading or a finding, and at the top.

A silence reaches what stands in the lines of its part. The innermost that names the rule is the one that is used.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from ..procedure.findings import Finding, Pos
from ..procedure.linked import Linked, Path
from ..procedure.tree import Map

Span = tuple[Pos, Pos]

_BEGIN, _END = Pos(0, 0), Pos(1 << 40, 0)


@dataclass(frozen=True, eq=False)
class Silence:
    """One entry of an `allow`: the rule and the reason as written, its place in the file, and what it reaches."""

    rule: str
    reason: object
    path: Path
    span: Span

    def reaches(self, finding: Finding) -> bool:
        """Whether the finding is advice of its rule and stands in its part."""
        return (
            finding.severity == "advice"
            and finding.rule == self.rule
            and self.span[0] <= finding.pos < self.span[1]
            and isinstance(self.reason, str)
            and bool(self.reason.strip())
        )


def silences(linked: Linked) -> list[Silence]:
    """Every silence of a procedure: those of its parts first, then those of the whole."""
    return [*_in_parts(linked), *_of(("allow",), linked.procedure.allow, (_BEGIN, _END))]


def silenced(found: Iterable[Finding], silences: Sequence[Silence]) -> tuple[list[Finding], set[Silence]]:
    """What is left of the findings, and the silences that silenced something."""
    kept: list[Finding] = []
    used: set[Silence] = set()
    for finding in found:
        by = next((silence for silence in silences if silence.reaches(finding)), None)
        if by is None:
            kept.append(finding)
        else:
            used.add(by)
    return kept, used


def _in_parts(linked: Linked) -> Iterator[Silence]:
    p = linked.procedure
    parts: list[tuple[Path, dict[str, object]]] = [
        *((("steps", number), step.allow) for number, step in enumerate(p.steps)),
        *((("readings", name), reading.allow) for name, reading in p.readings.items()),
        *((("findings", name), finding.allow) for name, finding in p.findings.items()),
    ]
    for path, allow in parts:
        if allow:
            yield from _of((*path, "allow"), allow, _span(linked, path))


def _of(path: Path, allow: dict[str, object], span: Span) -> Iterator[Silence]:
    for rule, reason in allow.items():
        yield Silence(rule, reason, (*path, rule), span)


def _span(linked: Linked, path: Path) -> Span:
    """From where an entry of a section begins to where the next entry, or the next section, does."""
    document = linked.source.document
    root = document.root
    assert isinstance(root, Map)
    section, entry = str(path[0]), path[1]
    node = root[section]
    entries = [*node] if isinstance(node, Map) else [*range(len(node or ()))]
    begin = document.locate_key(path)
    behind = entries[entries.index(entry) + 1 :][:1]
    later = [document.locate_key(at) for at in (*((section, other) for other in behind), *((key,) for key in root))]
    return begin, min((pos for pos in later if pos > begin), default=_END)
