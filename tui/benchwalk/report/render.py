"""A report put into a format. Whatever anybody typed is made harmless here, once, for the format it goes into.

Every value that a template prints passes through `finalize`: control characters and marks that hide or turn text are
written out, and what could act in the format is escaped. Only the filters of this module make text that passes as it
is (`Ready` in Markdown and text, `Markup` in HTML).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache, partial
from importlib.resources import files
from typing import Any

from jinja2 import Environment, FunctionLoader, StrictUndefined
from markupsafe import Markup, escape

from ..procedure.showing import safe_text
from .aligned import Widths, aligned, figure_lines, table_lines, widths, wrapped
from .parts import Document, Figure, Figures, Line, Number, Piece, Ref, Table, Taken, Tinted

TEMPLATES = {"html": "report.html", "md": "report.md", "text": "report.txt"}
"""The formats there are, and the template of each."""


class Ready(str):
    """Text that is already fit for its format."""


def render(document: Document, form: str) -> str:
    """The report in one of the formats of TEMPLATES."""
    return tidied(environment(form).get_template(TEMPLATES[form]).render(doc=document), form)


def tidied(text: str, form: str) -> str:
    """A rendered text without more than one blank line in a row; HTML stays as it is."""
    return text if form == "html" else re.sub(r"\n{3,}", "\n\n", text).strip("\n") + "\n"


def flat(text: str) -> str:
    """A text on one line with nothing in it that could act on a terminal or hide; its line breaks become ` / `."""
    return safe_text(re.sub(r"[ \t]*(?:\r\n|\n)\s*", " / ", text.strip("\r\n")))


# --- Markdown --------------------------------------------------------------------------------------------------------

_ACTS = re.compile(r"[\\`*_{}\[\]<>#|~!&$^]")
_FIRST = re.compile(r"^(\s*)(?:([-+=])|(\d{1,9})(?=[.)](?:\s|$)))")
_LINKED = re.compile(r"(?<=\w):(?=//)|(?<=\w)[.@](?=[a-z])|:(?=[a-z+_-][a-z0-9+_-]*:)", re.IGNORECASE)
_FIGURE_SPACE = "\u2007"


def md_text(text: str) -> str:
    """The text as Markdown that shows it as typed: nothing in it makes a heading, a list, a link or a tag."""
    text = _ACTS.sub(lambda found: "\\" + found[0], flat(text))
    text = _LINKED.sub(lambda found: "\\" + found[0], text)
    return _FIRST.sub(lambda found: f"{found[1]}\\{found[2]}" if found[2] else f"{found[1]}{found[3]}\\", text)


def _md_piece(piece: Piece) -> str:
    if isinstance(piece, Ref):
        return f"\\[{piece.n}\\]"
    if isinstance(piece, Tinted):
        said = md_text(piece.text)
        bold = piece.tone in ("strong", "outside") and said.strip() == said != ""
        return f"**{said}**" if bold else said
    return md_text(piece)


def _md_figure(taken: Taken | None, room: Widths) -> str:
    number = taken.number if taken is not None else None
    return Ready(aligned(Number(*map(md_text, number)) if number else None, room, _FIGURE_SPACE))


# --- HTML and text ---------------------------------------------------------------------------------------------------


def _html_piece(piece: Piece) -> str:
    if isinstance(piece, Ref):
        return Markup('<a class="ref" href="#e{0}">[{0}]</a>').format(piece.n)
    if isinstance(piece, Tinted):
        tag = "strong" if piece.tone in ("strong", "outside") else "span"
        return Markup('<{0} class="{1}">{2}</{0}>').format(tag, piece.tone, flat(piece.text))
    return escape(flat(piece))


def _text_piece(piece: Piece) -> str:
    if isinstance(piece, Ref):
        return f"[{piece.n}]"
    return flat(piece.text if isinstance(piece, Tinted) else piece)


def _text_line(line: Line | str) -> str:
    return "".join(map(_text_piece, (line,) if isinstance(line, str) else line))


def _wrapped(line: Line | str, first: str = "", rest: str = "") -> Ready:
    return Ready("\n".join(wrapped(_text_line(line), first, rest)))


def _text_table(table: Table) -> Ready:
    return Ready("\n".join(table_lines(table.head, [[_text_line(cell) for cell in row] for row in table.rows])))


def _text_figures(block: Figures) -> Ready:
    return Ready("\n".join(figure_lines([_flat_figure(row) for row in block.rows], block.both, block.refs)))


def _flat_figure(row: Figure) -> Figure:
    first = _flat_taken(row.first) if row.first is not None else None
    return Figure(flat(row.label), first, _flat_taken(row.last), (_text_line(row.under),) if row.under else ())


def _flat_taken(taken: Taken) -> Taken:
    number = Number(*map(flat, taken.number)) if taken.number is not None else None
    return taken._replace(number=number, judgement=flat(taken.judgement))


# --- the environments ------------------------------------------------------------------------------------------------


def _liner(piece: Callable[[Piece], str], ready: Callable[[str], str]) -> Callable[[Line | str], str]:
    return lambda line: ready("".join(map(piece, (line,) if isinstance(line, str) else line)))


_PLAIN: dict[str, Callable[[str], str]] = {"html": flat, "md": md_text, "text": flat}
_LINES = {"html": _liner(_html_piece, Markup), "md": _liner(_md_piece, Ready), "text": _liner(_text_piece, Ready)}


def _template(name: str, package: str) -> str | None:
    """A template of a package, else of the reports; None where neither has it."""
    for home in dict.fromkeys((package, "benchwalk.report")):
        found = files(home) / "templates" / name
        if found.is_file():
            return found.read_text(encoding="utf-8")
    return None


@cache
def environment(form: str, package: str = "benchwalk.report") -> Environment:
    """What puts texts into a format; with `package` the templates of that package come before those of the reports."""
    plain = _PLAIN[form]

    def finalize(value: Any) -> Any:
        return plain(value) if isinstance(value, str) and not isinstance(value, Ready | Markup) else value

    made = Environment(
        loader=FunctionLoader(partial(_template, package=package)),
        autoescape=form == "html",
        undefined=StrictUndefined,
        finalize=finalize,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    made.globals["ref"] = Ref
    made.filters["line"] = _LINES[form]
    made.filters["widths"] = lambda rows, which: widths(getattr(row, which) for row in rows)
    made.filters["md_figure"] = _md_figure
    made.filters["wrapped"] = _wrapped
    made.filters["tabled"] = _text_table
    made.filters["figured"] = _text_figures
    return made
