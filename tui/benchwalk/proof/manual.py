"""The manual of the rules: docs/rules.md, made from the rules' docstrings and the tables of what reading finds.

Made anew by `python -m benchwalk.proof.manual > docs/rules.md`.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from textwrap import dedent

from ..procedure.yaml_table import OTHERS, TRAPS
from .hazard_table import ROWS
from .rules import ASKED, RULES


@dataclass(frozen=True)
class Page:
    """One rule's page: what it is about, a sample that fails with what is said of it, and one that passes."""

    id: str
    title: str
    text: str
    wrong: str
    says: tuple[str, ...]
    right: str


def pages() -> list[Page]:
    """The pages of all rules, in the order in which they are run."""
    modules = [sys.modules[rule.__module__] for rule in RULES.values()]
    return [page_of(module.ID, module.__doc__ or "") for module in (*modules, *ASKED)]


def described() -> dict[str, str]:
    """The id of everything that `check` can tell of, with what it is about, in one sentence without its stop."""
    rules = {**{rule: sys.modules[run.__module__] for rule, run in RULES.items()}, **{rule.ID: rule for rule in ASKED}}
    titles = {rule: (module.__doc__ or rule).partition("\n")[0].rstrip(".") for rule, module in rules.items()}
    traps = {rule: f"{trap.says.format(found='…')}; {trap.cure}" for rule, trap in TRAPS.items()}
    return {**titles, **WHILE_READING, **traps, **OTHERS}


def page_of(rule: str, docstring: str) -> Page:
    """The page in a rule's docstring; ValueError where a part of it is not there."""
    found = _PAGE.match(docstring)
    if found is None:
        raise ValueError(f"the page of the rule '{rule}' has not the parts text, Wrong, Says and Right")
    title, text, wrong, says, right = (dedent(part).strip("\n") for part in found.groups())
    lines = re.sub(r"\n\s+", " ", says).split("\n")
    return Page(rule, title, text.strip(), wrong + "\n", tuple(lines), right + "\n")


_PAGE = re.compile(r"(.+?)\n\n(.*?)\n\nWrong:\n\n(.*?)\n\nSays:\n\n(.*?)\n\nRight:\n\n(.*)\Z", re.DOTALL)

WHILE_READING: dict[str, str] = {
    "broken-run": "a procedure that is run has errors of its own",
    "condition": "a condition cannot be understood, or asks what its value cannot answer",
    "duplicate-id": "an id or a name is used twice",
    "missing-key": "a key that must be there is not",
    "no-end": "the last step does not say how the procedure ends",
    "otherwise": "`otherwise` does not stand last",
    "quantity": "a value or a range cannot be understood, or has another unit",
    "recursion": "a procedure would come to run itself",
    "run-with": "what a run takes is not given, given wrongly, or not taken",
    "shape": "something stands where something else is expected",
    "sum-circle": "a sum rests on itself",
    "sum-with": "what a sum takes is not given, given wrongly, or not taken",
    "text": "the braces of a text cannot be understood",
    "units": "a value has another kind of unit than is wanted",
    "unknown-fact": "a fact of the drum is not known, or is not asked for",
    "unknown-key": "a key cannot stand here",
    "unknown-name": "a reading, sum, limit, finding or choice is not there",
    "unknown-procedure": "a procedure that is run is not in the library",
    "unknown-step": "a step is not there",
    "unknown-sum": "a sum is not registered",
}
"""What reading a file and settling its names finds, by rule id."""

_HEAD = """\
# The rules of `benchwalk check`

Made from the rules themselves; do not edit it here. A finding reads `file:line:column: sentence [rule]`. Errors make
the command end with 1; advice does not, and can be silenced where it is given, with a reason (`allow`, below). The
samples leave out what every procedure begins with (title, needs, hazards ...), and each is run by the tests: the first
gives just what is said below it, the second nothing.

What is proved is proved of every walk in which nobody overrules a branch or goes back by hand. What a branch says about
a value is followed along the ways until the value is noted anew. Where something is not decided, the finding says so.
"""


_CALLS = """\
The table of the rule `hazard`. Words in brackets call for it only where things are laid out. It follows the idea of its
sources and claims no conformity with them; the safety sheet of the product and local rules come first.

| words | wanted | grade | source |
|---|---|---|---|"""


def _rows() -> Iterator[str]:
    """The table of what calls for a hazard, a line a row."""
    for row in ROWS:
        words = ", ".join((*row.words, *(f"({word})" for word in row.laid_out)))
        beside = f"; beside {', '.join(row.beside)}" if row.beside else ""
        grade = row.grade if row.severity == "advice" else f"{row.grade}, else an error"
        yield f"| {words}{beside} | {row.wants} | {grade} | {row.source} |\n"


def manual() -> str:
    """The whole manual, as Markdown."""
    parts = [_HEAD]
    for page in pages():
        parts.append(f"## {page.id}\n\n{page.title}\n\n{page.text}\n")
        said = "\n".join(page.says)
        parts.append(f"```yaml\n{page.wrong}```\n\n```text\n{said}\n```\n\nRight:\n\n```yaml\n{page.right}```\n")
    parts.append(f"## What calls for a hazard\n\n{_CALLS}\n" + "".join(_rows()))
    parts.append("## Found while reading\n\nThese are told by their own sentences, each with what to write instead.\n")
    parts.append("".join(f"- `{rule}`: {about}\n" for rule, about in sorted(WHILE_READING.items())))
    parts.append("## Traps of YAML\n\nPlaces where YAML reads something else than was meant.\n")
    parts.append("".join(f"- `{trap.rule}`: {trap.says.format(found='...')}; {trap.cure}\n" for trap in TRAPS.values()))
    parts.append("And about the file as a whole:\n")
    parts.append("".join(f"- `{rule}`: {about}\n" for rule, about in OTHERS.items()))
    return "\n".join(parts)


if __name__ == "__main__":
    sys.stdout.write(manual())
