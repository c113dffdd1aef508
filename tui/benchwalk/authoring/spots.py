"""Where the steps of a text stand, also while it is being written and not all of it can be read."""

from __future__ import annotations

from ..procedure.tree import Document, Map, Seq


def step_lines(document: Document) -> list[tuple[str, int, int]]:
    """(step, first line, line after its last), lines from 0, of every step that has a name."""
    root = document.partial
    steps = root.get("steps") if isinstance(root, Map) else None
    if not isinstance(root, Map) or not isinstance(steps, Seq):
        return []
    starts = [document.locate(("steps", index)).line - 1 for index in range(len(steps))]
    after = [root.key_at(key).line - 1 for key in root]
    last = min((line for line in after if starts and line > starts[-1]), default=len(document.lines))
    found = []
    for index, (start, end) in enumerate(zip(starts, [*starts[1:], last], strict=True)):
        step = steps[index]
        name = step.get("step") if isinstance(step, Map) else None
        if isinstance(name, str):
            found.append((name, start, end))
    return found


def step_at(document: Document, line: int) -> str | None:
    """The step that a line (from 0) belongs to; None where it belongs to none."""
    return next((name for name, first, end in step_lines(document) if first <= line < end), None)
