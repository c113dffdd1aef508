"""Values and texts in the technician's words: what stands in the braces of a text, and how a judgement is said."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from ..procedure.evaluate import evaluate
from ..procedure.model import Reading
from ..procedure.showing import words_of
from ..procedure.text import Field, parse_text
from ..procedure.texts import named
from ..quantities import Range, decimal_text, plain_digits, with_unit
from ..signatures import SIGNATURES, Output
from .by_ear import is_by_ear
from .state import Entry
from .view import View, fraction, heard_of, range_from

NOT_NOTED = "not noted"


def render(text: str, view: View, path: tuple[str | int, ...] = ()) -> str:
    """The text with its values in place; `path` is where the text stands (for `rods where ...`)."""
    if "{{" not in text:
        return text
    return "".join(part if isinstance(part, str) else _field(part, view, path) for part in parse_text(text))


def _field(field: Field, view: View, path: tuple[str | int, ...]) -> str:
    if field.where is not None:
        bound = view.linked.conditions.get((*path, field.where))
        places = _places(view, field.name == "rods", [a.variable.name for a in bound.atoms] if bound else [])
        fit = [p for p in places if bound is not None and evaluate(bound, view, p)]
        return listed(fit) if fit else "none"
    if field.filter == "turns":
        value = view.value(field.name)
        if isinstance(value, dict):
            return turns_text(value)
        return hand_words(value) if isinstance(value, Fraction) else NOT_NOTED
    return said(field.name, view)


def _places(view: View, rods: bool, names: Iterable[str]) -> list[str]:
    if rods and view.rods:
        return [str(n) for n in range(1, view.rods + 1)]
    for name in names:
        variable = view.linked.variables.get(name)
        if variable is not None and isinstance(variable.places, tuple):
            return list(variable.places)
    return []


def listed(words: Iterable[str]) -> str:
    """`1`, `1 and 2`, `1, 2 and 3`."""
    items = list(words)
    return items[0] if len(items) == 1 else ", ".join(items[:-1]) + " and " + items[-1] if items else ""


def asked_at(ask: str, place: str = "") -> str:
    """A question with its place in it and without an end, but for a question mark: `How does it lie, at rod 3?`"""
    text = ask.rstrip(" .,:;")
    if not place:
        return text
    return f"{text.removesuffix('?')}, at {place}{'?' if text.endswith('?') else ''}"


def before_answer(asked: str) -> str:
    """A question that was given its place, as it stands before an answer: with a colon, or its question mark."""
    return asked if asked.endswith("?") else f"{asked}:"


def said(name: str, view: View) -> str:
    """A name's value as the technician wrote or chose it, or as a sum gives it; `not noted` where there is none."""
    linked = view.linked
    if name in view.given:
        return _said_given(name, view)
    if name in linked.limits:
        return as_typed(linked.limits[name].typed, linked.limits[name].unit)
    head, _, part = name.partition(".")
    if head in linked.procedure.sums:
        return _said_sum(head, part, view)
    if head == "drum":
        known = view.state.facts.get(part)
        data = view.state.drum.get(part)
        if known is not None:
            return as_typed(known.typed, known.unit)
        return as_typed(str(data["typed"]), str(data.get("unit", ""))) if data else NOT_NOTED
    if part == "outcome":
        value = view.value(name)
        return str(value) if value else NOT_NOTED
    entries = view.entries(name)
    if not entries:
        return NOT_NOTED
    reading = linked.reading(name)
    if None in entries:
        return said_entry(entries[None], reading)
    return ", ".join(f"{place}: {said_entry(e, reading)}" for place, e in entries.items())


def said_entry(entry: Entry, reading: Reading | None) -> str:
    """One entry in words."""
    if entry.value is None:
        return NOT_NOTED
    if reading is not None and reading.choices:
        return reading.choices.get(entry.value, entry.value)
    if reading is not None and reading.sort == "note":
        heard = heard_of(entry)
        if heard is not None and heard.more:
            return heard.understood()
    return as_noted(entry.typed, entry.value, entry.unit)


def moment(text: str) -> str:
    """A time of an event as people read it: date and minutes."""
    return text[:16].replace("T", " ")


def as_typed(typed: str, unit: str) -> str:
    """What was typed, with its unit where only figures were typed; decimals with a point and a digit before it."""
    typed = typed.strip()
    digits = plain_digits(typed, unit) if unit else None
    if digits is not None:
        return with_unit(f"+{digits}" if typed.startswith("+") else digits, unit)
    bare = typed.lstrip("+-−").replace("/", "").replace(" ", "")
    return with_unit(typed, unit) if unit and bare.isdigit() else typed


def as_noted(typed: str, value: str | None, unit: str) -> str:
    """The same; what was told by ear with the note that it told."""
    if unit == "Hz" and value and is_by_ear(typed):
        return f"{with_unit(decimal_text(fraction(value)), unit)} (by ear: {typed.strip()})"
    return as_typed(typed, unit)


def _said_given(name: str, view: View) -> str:
    data = view.given[name]
    take = view.linked.procedure.takes.get(name)
    if data.get("choice") is not None:
        return (take.choices or {}).get(data["choice"], data["choice"]) if take else str(data["choice"])
    if data.get("range") is not None:
        unit = take.range or "" if take else ""
        return range_from(data["range"]).text(unit, fraction(data["resolution"]) if data.get("resolution") else None)
    return as_typed(str(data["typed"]), str(data.get("unit", ""))) if data.get("value") is not None else NOT_NOTED


def _said_sum(head: str, part: str, view: View) -> str:
    worked = view.worked(head)
    if worked is None or (worked.no_result is None and not part):
        return NOT_NOTED
    if worked.no_result is not None:
        return "no result"
    output = worked.outputs.get(part)
    if output is None:
        return NOT_NOTED
    variable = view.linked.variables.get(f"{head}.{part}")
    unit = variable.unit if variable else ""
    if isinstance(output, dict):
        if "low" in output:
            return range_from(output).text(unit, variable.resolution if variable else None)
        if unit == "turns":
            return turns_text({k: fraction(v) if v is not None else None for k, v in output.items()})
        return ", ".join(f"{k}: {as_typed(v, unit) if v is not None else NOT_NOTED}" for k, v in output.items())
    return with_unit(_short(fraction(output)), unit) if variable and variable.is_number else words_of(str(output))


def _short(value: Fraction) -> str:
    """A worked-out number as people say it: one whose decimals do not end is said to three places, as `about`."""
    text = decimal_text(value)
    return text if Fraction(text) == value else f"about {decimal_text(value, Fraction(1, 1000))}"


def output_of(use: str, name: str) -> Output | None:
    """The declaration of a sum's output."""
    signature = SIGNATURES.get(use)
    return next((o for o in signature.outputs if o.name == name), None) if signature else None


def spoken(use: str, name: str) -> str:
    """What a sum's output is called where its value is said."""
    output = output_of(use, name)
    return output.spoken.replace("_", " ") if output is not None else name.replace("_", " ")


def worked_words(use: str, name: str, outputs: Iterable[str], view: View) -> str:
    """What a sum gives, as far as it is worth a line of the walk. Arithmetic of any unit has no words of its own: its
    name says what it is, and the two values it was worked out of."""
    given = list(outputs)
    if use == "difference" and "signed" in given:
        given = ["signed"]  # by how much they differ is the same without its sign
    plain = SIGNATURES[use].inputs[0].unit is None and len(given) == 1
    of = " of the whole" if use == "share" else ""
    told = _worth_telling(use, name, given, view)
    words = ", ".join(f"{'' if plain else spoken(use, part) + ' '}{said(f'{name}.{part}', view)}{of}" for part in told)
    return words + (_of_two(use, name, view) if use in _OF_TWO else "")


_OF_TWO = {"difference": ("a", "less", "b"), "share": ("part", "of", "whole")}


def _of_two(use: str, name: str, view: View) -> str:
    """The two values that a difference or a share is of: ` (6 turns less 4 turns)`; nothing where one is nothing."""
    one, word, other = _OF_TWO[use]
    names = view.linked.procedure.sums[name].with_
    if not view.value(names[other]):
        return ""
    return f" ({said(names[one], view)} {word} {said(names[other], view)})"


def _worth_telling(use: str, name: str, given: list[str], view: View) -> list[str]:
    """The numbers and ranges that the procedure names anywhere. A choice and what is so at each rod are said by the
    reason and the action that follow; they stand here only where no number would. What has no value here (opposite
    rods where their count is odd) is not told where anything else is."""
    asked = named(view.linked)
    worked = view.worked(name)
    have = [part for part in given if worked is None or worked.outputs.get(part) is not None]
    used = [part for part in have if f"{name}.{part}" in asked]
    figures = [part for part in used if (out := output_of(use, part)) is None or out.kind in ("number", "range")]
    return figures or used or have or given


# --- what a hand should do -------------------------------------------------------------------------------------

_HAND = {
    Fraction(1, 16): "a sixteenth",
    Fraction(1, 8): "an eighth",
    Fraction(3, 16): "three sixteenths",
    Fraction(1, 4): "a quarter",
    Fraction(5, 16): "five sixteenths",
    Fraction(3, 8): "three eighths",
    Fraction(7, 16): "seven sixteenths",
    Fraction(1, 2): "half a turn",
    Fraction(5, 8): "five eighths",
    Fraction(3, 4): "three quarters",
    Fraction(7, 8): "seven eighths",
}


def turns_text(moves: Mapping[str, object]) -> str:
    """`rods 2 and 6: tighten an eighth each; rod 4: loosen a sixteenth`; opposite rods stand together."""
    groups: dict[Fraction, list[str]] = {}
    for rod in _in_pairs(list(moves)):
        turn = moves[rod]
        if isinstance(turn, Fraction) and turn:
            groups.setdefault(turn, []).append(rod)
    if not groups:
        return "leave every rod"
    parts = []
    for turn, rods in groups.items():
        each = " each" if len(rods) > 1 else ""
        parts.append(f"{'rods' if len(rods) > 1 else 'rod'} {listed(rods)}: {hand_words(turn)}{each}")
    return "; ".join(parts)


def hand_words(turn: Fraction) -> str:
    """What a hand does at one rod: `tighten an eighth`, `loosen a quarter`."""
    return f"{'tighten' if turn > 0 else 'loosen'} {_amount(abs(turn))}" if turn else "leave it"


def turns_figure(turn: Fraction) -> str:
    """A turn in figures: part of one as a fraction where it is whole sixteenths (`-1/16 turn`), else as a decimal."""
    if abs(turn) == 1 or (abs(turn) < 1 and turn and (16 * turn).denominator == 1):
        return f"{turn} turn"
    return f"{decimal_text(turn)} turns"


def _amount(turn: Fraction) -> str:
    """So much of a turn as a hand does it: quarters, eighths, sixteenths; decimals only where none of them fits."""
    whole, rest = divmod(turn, 1)
    if not whole:
        return _HAND.get(turn, f"{decimal_text(turn)} turns")
    more = f" and {_HAND[rest]}".replace("half a turn", "a half") if rest in _HAND else ""
    one = "one turn" if whole == 1 else f"{whole} turns"
    return one + more if more or not rest else f"{decimal_text(turn)} turns"


def _in_pairs(rods: list[str]) -> list[str]:
    count = len(rods)
    if count % 2:
        return rods
    half = count // 2
    return [rod for first in range(half) for rod in (rods[first], rods[first + half])]


# --- judgement -------------------------------------------------------------------------------------------------


def judge(value: Fraction, wanted: Range) -> tuple[str, str | None]:
    """(below, within or above; by how much as decimal text, None where it is within)."""
    verdict = wanted.verdict(value)
    if verdict == "below" and wanted.low is not None:
        return verdict, decimal_text(wanted.low - value)
    if verdict == "above" and wanted.high is not None:
        return verdict, decimal_text(value - wanted.high)
    return verdict, None


def judged(entry: Entry) -> str:
    """The judgement of an entry in words: `within`, `below by 1.5 mm`; empty where nothing was wanted."""
    if entry.verdict is None:
        return ""
    if entry.by is None or entry.by == "0":
        return entry.verdict
    return f"{entry.verdict} by {with_unit(entry.by, entry.unit)}"
