"""Which names fit where the cursor stands: steps after `go`, readings in `record`, sums, findings, drawings, keys."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from typing import NamedTuple

from ..procedure.drawings import DRAWINGS
from ..procedure.linked import Linked
from ..procedure.model import (
    Branch,
    Choose,
    End,
    Entered,
    Hold,
    MaySkip,
    Procedure,
    Run,
    Stage,
    Step,
    Wait,
    Witness,
)
from ..procedure.parts import GRADES, HazardText, Reading
from ..signatures import SIGNATURES

_WORD = re.compile(r"[A-Za-z0-9_.-]*$")
_KEY = re.compile(r"(?:^|[{,\s-])([a-z_]+):\s*(?:\[?[^\[\]{}:]*)$")
_PARENT = re.compile(r"^(\s*)(?:-\s+)?([a-z_]+):\s*$")


class Offer(NamedTuple):
    """What fits: the column (from 0) at which the word begun there starts, and the words, in order."""

    start: int
    words: list[str]


def offered(lines: list[str], line: int, column: int, linked: Linked | None, procedures: Iterable[str] = ()) -> Offer:
    """The names that fit at a place (line and column from 0) and go on from the word that is begun there."""
    before = lines[line][:column]
    begun = _WORD.search(before)
    start = begun.start() if begun else column
    head = before[:start]
    found = _KEY.search(head) if head.strip() else None
    if found and "," in found[0].partition(":")[2] and "[" not in found[0]:
        found = None  # a comma in curly brackets ends the value; what follows is a key
    key = found[1] if found else _parent(lines, line, head)
    if re.search(r"\{\{\s*$", head):
        key = "when"
    words = _FITTING[key](linked) if key in _FITTING and linked is not None else []
    if key == "procedure":
        words = list(procedures)
    if not words and (not head.strip(" -{,") or head.rstrip().endswith(("{", ","))):
        words = _keys_inside(head) or _keys(lines, line)
    prefix = before[start:]
    return Offer(start, [word for word in words if word.startswith(prefix) and word != prefix])


def _parent(lines: list[str], line: int, head: str) -> str:
    """The key of the list that an entry on a line of its own stands in."""
    if head.strip() != "-":
        return ""
    indent = len(head) - len(head.lstrip())
    for above in range(line - 1, -1, -1):
        found = _PARENT.match(lines[above])
        if found and len(found[1]) <= indent:
            return found[2]
    return ""


def _keys(lines: list[str], line: int) -> list[str]:
    """The keys of what the line stands in: a step, a reading, or the whole."""
    top = next((lines[n].split(":")[0] for n in range(line, -1, -1) if re.match(r"[a-z]", lines[n])), "")
    if not lines[line].startswith((" ", "-")):
        return _fields(Procedure)
    return {"steps": _fields(Step), "readings": _fields(Reading)}.get(top, [])


def _keys_inside(head: str) -> list[str]:
    """The keys of the curly brackets that are open here, without those that stand there already."""
    start, depth = -1, 0
    for at in range(len(head) - 1, -1, -1):
        depth += (head[at] == "}") - (head[at] == "{")
        if depth < 0:
            start = at
            break
    if start < 0:
        return []
    key = re.search(r"([a-z_]+):\s*$", head[:start])
    part = _PARTS.get(key[1] if key else "") or (Branch if not key and head[:start].strip() == "-" else None)
    there = re.findall(r"([a-z_]+):", head[start:])
    return [name for name in _fields(part) if name not in there] if part is not None else []


def _fields(part: type) -> list[str]:
    found = []
    for name, field in part.__dataclass_fields__.items():  # type: ignore[attr-defined]
        found.append(str(field.metadata.get("alias", name)))
    return found


def _steps(linked: Linked) -> list[str]:
    return list(linked.steps)


def _readings(linked: Linked) -> list[str]:
    return list(linked.procedure.readings)


def _values(linked: Linked) -> list[str]:
    return [*linked.variables, *linked.limits]


_PARTS: dict[str, type] = {
    "hold": Hold,
    "wait": Wait,
    "run": Run,
    "entered": Entered,
    "may_skip": MaySkip,
    "witness": Witness,
    "end": End,
    "choose": Choose,
    "stage": Stage,
    **dict.fromkeys(GRADES, HazardText),
}
"""What may stand in curly brackets after a key of a step."""
_FITTING: dict[str, Callable[[Linked], list[str]]] = {
    **dict.fromkeys(("go", "then", "from", "during", "passes"), _steps),
    **dict.fromkeys(("record", "evidence", "covers", "gives"), _readings),
    "work_out": lambda linked: list(linked.procedure.sums),
    "when": _values,
    "find": lambda linked: list(linked.procedure.findings),
    "finds": lambda linked: list(linked.procedure.findings),
    "use": lambda linked: list(SIGNATURES),
    "show": lambda linked: list(DRAWINGS),
    "end": lambda linked: ["done", "stopped", "referred"],
    "ends": lambda linked: ["done", "stopped", "referred"],
}
