"""A sheet put into a format. Making texts harmless, the style sheet and the filters are those of the reports."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache

from jinja2 import Environment

from ..report.render import environment, tidied
from .parts import Option, Sheet
from .wording import a_role, capital, ended, sentences, times

TEMPLATES = {"html": "sheet.html", "md": "sheet.md", "text": "sheet.txt"}
"""The formats there are, and the template of each."""


def render(sheet: Sheet, form: str) -> str:
    """The sheet in one of the formats of TEMPLATES; text is at most 80 cells wide."""
    return tidied(_environment(form).get_template(TEMPLATES[form]).render(sheet=sheet), form)


STANDS = {
    "done": "done",
    "here": "the work stands here",
    "under": "the work stands in this part",
    "again": "done, and may be come to again",
}
"""How a stop stands, in words; of one that was not come to nothing is said."""


@cache
def _environment(form: str) -> Environment:
    made = environment(form, "benchwalk.sheet")
    made.filters.update(
        times=times,
        ended=ended,
        a_role=a_role,
        capital=capital,
        sentences=sentences,
        numbered=numbered,
        plainly=plainly,
    )
    made.globals["words"] = STANDS
    return made


def numbered(options: Iterable[Option]) -> str:
    """The answers of a choice that is asked at many places, each by its number."""
    return "; ".join(f"{i} {option.said}{' (wanted)' if option.wanted else ''}" for i, option in enumerate(options, 1))


def plainly(text: str) -> str:
    """An id and a number as they may stand in a style sheet's string: nothing else is left of them."""
    return re.sub(r"[^A-Za-z0-9 ,.-]", "", text)
