"""Toned text: what is shown, apart from how a screen colours it. The text says everything; a tone only stresses."""

from __future__ import annotations

from typing import Literal, NamedTuple

Tone = Literal[
    "plain",
    "quiet",
    "loud",
    "brass",
    "within",
    "outside",
    "close",
    "danger",
    "warning",
    "caution",
    "notice",
]
"""quiet: beside the point; loud: the action; brass: what is in hand; within, outside, close: a judgement; danger,
warning, caution, notice: the signal words."""


class Span(NamedTuple):
    """A piece of a line and its tone."""

    text: str
    tone: Tone = "plain"


Line = tuple[Span, ...]
"""One line. It holds no line feed; a long one is wrapped by whatever shows it."""


def line(*parts: str | Span) -> Line:
    """A line of plain strings and spans."""
    return tuple(part if isinstance(part, Span) else Span(part) for part in parts)


def text_of(some: Line) -> str:
    """A line without its tones."""
    return "".join(span.text for span in some)
