"""Cells: the values of one variable cut up so that no condition of a step can tell two values of a cell apart.

A number is cut at every constant it is compared with and at the ends of a fixed `wanted`, into points and open
intervals, within what is possible. Whole numbers keep only cells that hold a whole number, and what a sum gives at a
resolution only those that hold a multiple of it. The resolution of a reading removes nothing, since finer values can be
typed. Every word of a choice is a cell. Where a sum works out what is wanted, below, within and above are told apart
for every number. "Not recorded" is a cell of its own, added by whoever knows that it can happen.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from ..procedure.binding import VERDICTS
from ..procedure.bound import InRange, InVerdict, Test
from ..procedure.variables import FROM_A_SUM, Variable
from ..quantities import Range, decimal_text

RECORDED = "recorded"
"""The value of a picture, a text, a sound, a range or a sum that is there."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell; `value` stands for all its values (None: missing).

    Numbers lie between `low` and `high`, which belong to the cell where `closed` says so; None is "no end here". An end
    that is only the end of what is possible has its `low_edge` or `high_edge` set. `verdict` is where the cell lies
    against what is wanted, if that can be told. `cut` marks a point that some condition names.
    """

    value: Fraction | str | None
    low: Fraction | None = None
    high: Fraction | None = None
    closed: tuple[bool, bool] = (False, False)
    edge: tuple[bool, bool] = (False, False)
    verdict: str | None = None
    cut: bool = False

    @property
    def missing(self) -> bool:
        return self.value is None

    @property
    def rank(self) -> int:
        """How gladly the cell is shown as an example: a named point first, "missing" last."""
        return 3 if self.missing else 0 if self.cut or isinstance(self.value, str) else 1


MISSING = Cell(None)


def cells(variable: Variable, tests: Iterable[Test]) -> tuple[Cell, ...]:
    """The cells of `variable` under `tests`, numbers in ascending order, without "missing"."""
    if variable.is_choice:
        wanted = variable.wanted if isinstance(variable.wanted, tuple) else ()
        verdicts = {word: "within" if word in wanted else "outside" for word in variable.words} if wanted else {}
        return tuple(Cell(word, verdict=verdicts.get(word)) for word in variable.words)
    if not variable.is_number:
        return (Cell(RECORDED),)
    known = list(tests)
    fixed = variable.wanted if isinstance(variable.wanted, Range) else None
    ranges = [test.range for test in known if isinstance(test, InRange)]
    cuts = {end for cut in ranges for end in (cut.low, cut.high) if end is not None}
    if fixed is not None:
        cuts |= {end for end in (fixed.low, fixed.high) if end is not None}
    found = _numbers(variable, cuts)
    if fixed is not None:
        return tuple(_with_verdict(cell, fixed.verdict(_number(cell))) for cell in found)
    if variable.wanted == FROM_A_SUM and any(isinstance(test, InVerdict) for test in known):
        return tuple(_with_verdict(cell, verdict) for cell in found for verdict in VERDICTS)
    return tuple(found)


def _numbers(variable: Variable, cuts: set[Fraction]) -> list[Cell]:
    possible = variable.possible or Range(None, None)
    low, high = possible.low, possible.high
    points = sorted(cut for cut in cuts if possible.contains(cut))
    inner: list[Fraction | None] = [low, *points, high]
    found: list[Cell] = []
    step = _step(variable)
    for index, (start, stop) in enumerate(pairwise(inner)):
        first, last = index == 0, index == len(points)
        closed = (
            first and low is not None and not possible.low_open and low not in cuts,
            last and high is not None and not possible.high_open and high not in cuts,
        )
        cell = _interval(variable, start, stop, closed, (first, last))
        if cell is not None:
            found.append(cell)
        if not last and stop is not None and (step is None or stop % step == 0):
            found.append(Cell(stop, stop, stop, (True, True), cut=True))
    return found


def _interval(
    variable: Variable,
    low: Fraction | None,
    high: Fraction | None,
    closed: tuple[bool, bool],
    edge: tuple[bool, bool],
) -> Cell | None:
    """The cell between two ends, or None when nothing lies there."""
    if low is not None and high is not None and (low > high or (low == high and closed != (True, True))):
        return None
    step = _step(variable)
    if step is None:
        return Cell(simple_inside(low, high, variable.resolution), low, high, closed, edge)
    steps = _whole_inside(None if low is None else low / step, None if high is None else high / step, closed)
    return None if steps is None else Cell(steps * step, low, high, closed, edge)


def _step(variable: Variable) -> Fraction | None:
    """The number that every value is a multiple of; None where any number can occur."""
    if variable.kind == "whole":
        return Fraction(1)
    return variable.resolution if variable.sum is not None else None


def _whole_inside(low: Fraction | None, high: Fraction | None, closed: tuple[bool, bool]) -> Fraction | None:
    """A whole number between the two ends, which belong to it where `closed` says so; None where none lies there."""
    first = None if low is None else math.ceil(low) if closed[0] else math.floor(low) + 1
    last = None if high is None else math.floor(high) if closed[1] else math.ceil(high) - 1
    if first is not None and last is not None:
        return None if first > last else Fraction(0 if first <= 0 <= last else (first + last) // 2)
    if first is not None:
        return Fraction(max(first, 0))
    return Fraction(0 if last is None else min(last, 0))


def simple_inside(low: Fraction | None, high: Fraction | None, resolution: Fraction | None = None) -> Fraction:
    """A short number strictly between the two ends, a multiple of `resolution` where one lies there."""
    if low is not None and low == high:
        return low
    if (low is None or low < 0) and (high is None or high > 0):
        return Fraction(0)
    if low is None or high is None:
        step = resolution if resolution and Fraction(1) % resolution else Fraction(1)
        if low is not None:
            return (low // step + 1) * step
        assert high is not None
        return (-(-high // step) - 1) * step
    middle = (low + high) / 2
    value = _whole_near(low, high) or _near(middle, low, high)
    if resolution and value % resolution:
        nearest = round(middle / resolution) * resolution
        if low < nearest < high:
            return nearest
    return value


def _near(middle: Fraction, low: Fraction, high: Fraction) -> Fraction:
    step = Fraction(10) ** (len(str(int(abs(high) + abs(low)))) + 1)
    while not low < (value := round(middle / step) * step) < high:
        step /= 10
    return value


def _whole_near(low: Fraction, high: Fraction) -> Fraction | None:
    """The same for two whole ends, where a whole number lies between them: most ends are whole, and this is quicker."""
    if low.denominator != 1 or high.denominator != 1:
        return None
    first, last = low.numerator, high.numerator
    step = 10 ** (len(str(abs(last) + abs(first))) + 1)
    while step:
        whole, rest = divmod(first + last, 2 * step)
        whole += rest > step or (rest == step and whole % 2 == 1)  # half goes to the even one, as `round` has it
        if first < whole * step < last:
            return Fraction(whole * step)
        step //= 10
    return None


def number_text(value: Fraction, unit: str) -> str:
    """An exact number with its unit, such that typing it gives the same number again."""
    odd = value.denominator
    for prime in (2, 5):
        while odd % prime == 0:
            odd //= prime
    text = decimal_text(value) if odd == 1 else f"{value.numerator}/{value.denominator}"
    return f"{text} {unit}".rstrip()


def cell_text(variable: Variable, cell: Cell, told: bool = False) -> str:
    """The cell's example value as it would be typed; with `told` also where it lies against what a sum wants."""
    if cell.missing:
        return "missing"
    text = cell.value if isinstance(cell.value, str) else number_text(_number(cell), variable.unit)
    if not told or cell.verdict is None:
        return text
    where = f"{cell.verdict} what is wanted"
    return f"{text}, {where}" if cell.cut or cell.edge != (True, True) else where


def region_text(name: str, variable: Variable, chosen: Sequence[Cell], every: Sequence[Cell]) -> str | None:
    """The cells `chosen` out of `every` as a condition on `name`; "" when it says nothing, None when it cannot be said.

    The text is in the language of conditions and holds for exactly the values of the chosen cells.
    """
    here = [cell for cell in every if not cell.missing]
    kept = [cell for cell in chosen if not cell.missing]
    gone = len(kept) < len(chosen)
    all_missing = any(cell.missing for cell in every)
    if len(kept) == len(here):
        if gone or not all_missing:
            return ""
        return f"{name} has a result" if variable.kind == "sum" else f"{name} is not missing"
    if not kept:
        return f"{name} has no result" if variable.kind == "sum" else f"{name} is missing"
    parts = [f"{name} is {cell.value}" for cell in kept] if variable.is_choice else _runs(name, variable, kept, here)
    if parts is None:
        return None
    if gone:
        parts.append(f"{name} is missing")
    return " or ".join(parts)


def _runs(name: str, variable: Variable, kept: list[Cell], here: list[Cell]) -> list[str] | None:
    if variable.wanted == FROM_A_SUM and any(cell.verdict for cell in here):
        if here[0].edge != (True, True):
            return None
        return [f"{name} is {cell.verdict}" for cell in kept]
    places = [here.index(cell) for cell in kept]
    runs: list[list[Cell]] = []
    for before, place, cell in zip([-2, *places], places, kept, strict=False):
        if place == before + 1:
            runs[-1].append(cell)
        else:
            runs.append([cell])
    return [_run(name, variable, run[0], run[-1]) for run in runs]


def _run(name: str, variable: Variable, first: Cell, last: Cell) -> str:
    if first.low is not None and first.low == last.high:
        return f"{name} = {number_text(first.low, variable.unit)}"
    low = "" if first.edge[0] or first.low is None else number_text(first.low, variable.unit)
    high = "" if last.edge[1] or last.high is None else number_text(last.high, variable.unit)
    at_low, at_high = "<=" if first.closed[0] else "<", "<=" if last.closed[1] else "<"
    if not low:
        return f"{name} {at_high} {high}"
    if not high:
        return f"{name} {at_low.replace('<', '>')} {low}"
    return f"{low} {at_low} {name} {at_high} {high}"


def _number(cell: Cell) -> Fraction:
    assert isinstance(cell.value, Fraction)
    return cell.value


def _with_verdict(cell: Cell, verdict: str) -> Cell:
    return Cell(cell.value, cell.low, cell.high, cell.closed, cell.edge, verdict, cell.cut)
