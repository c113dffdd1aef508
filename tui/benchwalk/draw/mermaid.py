"""The step graph as a Mermaid flowchart. Whatever an author wrote stands in it as a label and nothing else.

Ids are our own (`s3`, `e0`). In labels everything but letters, digits, spaces and a few harmless signs is written as a
character code (`#35;`), so no text can close its quotes, start a comment, a directive, a link or markup.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ..procedure.linked import Linked
from ..procedure.model import Step, Whenever
from .ways import Way, listed, said_run, times, way_of_event, ways_of
from .wrap import plain

LONGEST = 140
"""Most characters of the author's words in a label; longer ones are cut with three dots."""

_HARMLESS = frozenset(" .,'()-")
_LIST_LIKE = re.compile(r"(\d+)([.)])|([-+*])(?= )")


def draw_mermaid(linked: Linked) -> str:
    """The procedure as the text of a Mermaid flowchart, from top to bottom. Ends with a line feed.

    Boxes are steps, boxes with double sides run a procedure, six-sided ones wait for another person, rounded ones end;
    dotted arrows lead on from what was done often enough, and from what may happen.
    """
    lines = ["flowchart TD"]
    stage = None
    for step in linked.steps.values():
        ours = linked.stage.get(step.step)
        if ours != stage:
            if stage is not None:
                lines.append("  end")
            assert step.stage is not None
            lines.append(f'  subgraph g{linked.at[step.step]}["{label(step.stage.title)}"]')
            stage = ours
        lines.append(f"    {_box(linked, step)}")
    if stage is not None:
        lines.append("  end")
    for name, step in linked.steps.items():
        source = f"s{linked.at[name]}"
        for way in ways_of(linked, step):
            lines += _arrows(linked, source, way)
        if step.entered and step.entered.then in linked.at:
            words = f"entered {times(step.entered.at_most)}"
            lines.append(_arrow(linked, source, step.entered.then, words, dotted=True))
    for number, event in enumerate(linked.procedure.whenever):
        lines += _event(linked, number, event)
    return "\n".join(lines) + "\n"


def label(text: str) -> str:
    """A text as it may stand between the quotes of a label."""
    words = plain(text)
    if len(words) > LONGEST:
        words = words[: LONGEST - 3].rstrip() + "..."
    found = _LIST_LIKE.match(words)
    if found:  # else it would be drawn as an entry of a list
        mark = found[2] or found[3]
        words, start = words[found.end() :], f"{found[1] or ''}#{ord(mark)};"
    else:
        start = ""
    return start + "".join(char if char.isalnum() or char in _HARMLESS else f"#{ord(char)};" for char in words)


def _box(linked: Linked, step: Step) -> str:
    said = step.do or (f"runs {said_run(step.run)}" if step.run else step.why or "")
    hazards = [f"{grade}: {part.hazard}" for grade, part in step.graded()]
    words = "<br/>".join([label(step.step), *map(label, [*hazards, *([said] if said else [])])])
    if step.end:
        left, right = "([", "])"
        words += f"<br/>{label('ends ' + step.end.as_)}"
    elif step.run:
        left, right = "[[", "]]"
    elif step.hold:
        left, right = "{{", "}}"
    else:
        left, right = "[", "]"
    return f's{linked.at[step.step]}{left}"{words}"{right}'


def _arrows(linked: Linked, source: str, way: Way) -> Iterator[str]:
    if way.target is not None and way.target in linked.at:
        words = f"{way.why}; {way.bound}" if way.why and way.bound else way.why or way.bound
        yield _arrow(linked, source, way.target, words, dotted=way.key[1] == "event")
    if way.then is not None and way.then in linked.at:
        yield _arrow(linked, source, way.then, f"after {way.bound.removeprefix('at most ')}", dotted=True)


def _arrow(linked: Linked, source: str, target: str, words: str, *, dotted: bool) -> str:
    line = "-.->" if dotted else "-->"
    said = f'|"{label(words)}"|' if words else ""
    return f"  {source} {line}{said} s{linked.at[target]}"


def _event(linked: Linked, number: int, event: Whenever) -> Iterator[str]:
    way = way_of_event(event)
    after = f"<br/>{label(f'runs {said_run(event.run)}, then the step goes on')}" if event.run else ""
    yield f'  e{number}>"{label(event.say)}<br/>{label("during " + listed(event.during))}{after}"]'
    yield from _arrows(linked, f"e{number}", Way(way.key, way.target, "", way.bound, way.then))
