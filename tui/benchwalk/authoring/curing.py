"""What can be done about a finding: the edits that mend it, each with a line that says what it does.

A cure changes the text where the fault stands and nothing else; what it puts in is for the author to word.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from ..errors import Misread
from ..procedure.findings import Finding
from ..procedure.linked import Linked
from ..proof.rules.vague import TO_BE_WORDED
from ..quantities import parse_quantity
from .edits import Edit

_MISSING = re.compile(r"missing is a branch for '(?P<when>.+)'")
_MEANT = re.compile(r"'(?P<wrong>[^']+)'.*did you mean '?(?P<right>[A-Za-z0-9_.-]+)")
_BEYOND = re.compile(r"(?P<name>[a-z_]+) (?P<sign>[<>]) (?P<end>.+)")
_ITEM = re.compile(r"(?P<indent>\s*)- ")


class Cure(NamedTuple):
    """What can be done, in words, and the edits that do it. `leads`: the step a branch that is put in leads to, unless
    its author says another."""

    said: str
    edits: list[Edit]
    leads: str = ""

    def to(self, step: str) -> Cure:
        """The same, its branch leading to that step."""
        [edit] = self.edits
        text = edit.text.removesuffix(f"{self.leads}}}\n") + f"{step}}}\n"
        return Cure(f"{self.said}, to {step}", [edit._replace(text=text)], step)


def cures(finding: Finding, lines: list[str], linked: Linked | None) -> list[Cure]:
    """All that can be done about one finding of this text; often nothing."""
    made = [cure for find in (_meant, _branch, _never_taken) if (cure := find(finding, lines, linked)) is not None]
    return made


def _meant(finding: Finding, lines: list[str], linked: Linked | None) -> Cure | None:
    """A name that is nearly another."""
    found = _MEANT.search(finding.message)
    if found is None:
        return None
    line, column = finding.pos.line - 1, finding.pos.column - 1
    at = lines[line].find(found["wrong"], column) if line < len(lines) else -1
    if at < 0:
        return None
    edit = Edit((line, at), (line, at + len(found["wrong"])), found["right"])
    return Cure(f"Write {found['right']} in place of {found['wrong']}", [edit])


def _branch(finding: Finding, lines: list[str], linked: Linked | None) -> Cure | None:
    """A branch for the cases that no branch takes."""
    found = _MISSING.search(finding.message)
    if found is None or linked is None or finding.rule != "coverage":
        return None
    step = _step_of(linked, finding.pos.line)
    last = _last_branch(linked, step, lines) if step is not None else None
    if step is None or last is None:
        return None
    item, end = last
    indent = item["indent"]
    go = linked.next_of(step) or next(iter(linked.steps))
    when = _as_judged(found["when"], linked, step)
    text = f"{indent}- {{when: {_quoted(when)}, because: {TO_BE_WORDED}, go: {go}}}\n"
    return Cure(f"Add a branch for {when}", [Edit((end, 0), (end, 0), text)], go)


def _as_judged(when: str, linked: Linked, step: str) -> str:
    """The condition by `is below` or `is above` where it says just that, and the step's other branches say it so: then
    it stays right when what is wanted is moved."""
    beyond = _BEYOND.fullmatch(when)
    wanted = linked.wanted.get(beyond["name"]) if beyond else None
    if beyond is None or wanted is None:
        return when
    name, above = beyond["name"], beyond["sign"] == ">"
    end, open_ = (wanted.high, wanted.high_open) if above else (wanted.low, wanted.low_open)
    reading = linked.reading(name)
    try:
        value = parse_quantity(beyond["end"], (reading.unit if reading else None) or "").value
    except Misread:
        return when
    so_said = any(re.search(rf"\b{name} is (?:within|below|above)\b", line.when) for line in linked.steps[step].lines)
    return f"{name} is {'above' if above else 'below'}" if so_said and value == end and not open_ else when


def _never_taken(finding: Finding, lines: list[str], linked: Linked | None) -> Cure | None:
    """A branch that is never taken, on lines of its own."""
    if finding.rule != "idle-branch":
        return None
    line = finding.pos.line - 1
    while line >= 0 and not _ITEM.match(lines[line]):
        line -= 1
    if line < 0:
        return None
    return Cure("Take this branch out", [Edit((line, 0), (_end_of(lines, line), 0), "")])


def _step_of(linked: Linked, line: int) -> str | None:
    """The step that a line (from 1) belongs to."""
    starts = [(linked.place("steps", at).line, name) for name, at in linked.at.items()]
    return max((start for start in starts if start[0] <= line), default=(0, None))[1]


def _last_branch(linked: Linked, step: str, lines: list[str]) -> tuple[re.Match[str], int] | None:
    """The last branch of a step as it begins its line, and the line after it; None where it stands otherwise."""
    known = linked.steps[step]
    key = "branches" if known.branches else "first_of"
    line = linked.place("steps", linked.at[step], key, len(known.lines) - 1).line - 1
    item = _ITEM.match(lines[line])
    return (item, _end_of(lines, line)) if item is not None else None


def _end_of(lines: list[str], line: int) -> int:
    """The line after an entry of a list that begins there: all that stands further in belongs to it."""
    item = _ITEM.match(lines[line])
    indent = len(item["indent"]) if item else 0
    end = line + 1
    while end < len(lines) and lines[end].strip() and len(lines[end]) - len(lines[end].lstrip()) > indent:
        end += 1
    return end


def _quoted(text: str) -> str:
    """A condition as it stands in a flow mapping: in quotes where a comma or bracket would end it."""
    return f'"{text}"' if re.search(r"[,{}\[\]#]|: ", text) else text


def pasted(lines: list[str], examples: str) -> Edit:
    """The edit that puts examples (entries of a list, two spaces in) at the end of the file's list of them."""
    start = next((n for n, text in enumerate(lines) if text.startswith("examples:")), None)
    if start is None:
        end = len(lines) - (not lines[-1].strip())
        return Edit((end, 0), (end, 0), f"examples:\n{examples}")
    end = start + 1
    while end < len(lines) and (not lines[end].strip() or lines[end][0] in " -#"):
        end += 1
    while end > start + 1 and not lines[end - 1].strip():
        end -= 1
    if end == len(lines):  # the last line has no break of its own
        return Edit((end - 1, len(lines[-1])), (end - 1, len(lines[-1])), f"\n{examples.rstrip()}")
    return Edit((end, 0), (end, 0), examples)
