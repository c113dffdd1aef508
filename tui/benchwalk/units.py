"""Units as words, their dimensions, the ways people write them, and exact conversion between those of one dimension.

1 in = 25.4 mm (international yard and pound agreement of 1959, from memory), 1 mil = 1/1000 in, 1 um (micrometre) =
1/1000 mm, 90 deg = 1/4 turn, deg F = 9/5 deg C + 32. Any word that is not in the table is a unit of its own that
converts to nothing else.
"""

from __future__ import annotations

from fractions import Fraction

from .errors import Misread
from .plaindata import Frozen

LENGTH, ANGLE, FREQUENCY, INTERVAL, SHARE = "a length", "an angle", "a frequency", "a pitch interval", "a percentage"
TEMPERATURE, TIME, MASS, FORCE = "a temperature", "a time", "a mass", "a force"
TORQUE, NUMBER = "a torque", "a number"
LOUDNESS = "a sound level"


class _Unit(Frozen):
    """One unit: `factor` and `zero` lead to its dimension's first unit (value * factor + zero)."""

    dimension: str
    factor: Fraction
    spellings: tuple[str, ...]
    zero: Fraction = Fraction(0)


def _unit(dimension: str, factor: str | Fraction, spellings: str, zero: Fraction = Fraction(0)) -> _Unit:
    return _Unit(dimension, Fraction(factor), tuple(spellings.split("|")), zero)


_UNITS: dict[str, _Unit] = {
    "": _unit(NUMBER, "1", ""),
    "mm": _unit(LENGTH, "1", "mm|millimetre|millimetres|millimeter|millimeters"),
    "cm": _unit(LENGTH, "10", "cm|centimetre|centimetres|centimeter|centimeters"),
    "m": _unit(LENGTH, "1000", "m|metre|metres|meter|meters"),
    "in": _unit(LENGTH, "25.4", "in|inch|inches|\"|″|”|''|′′"),
    "mil": _unit(LENGTH, "0.0254", "mil|mils|thou"),
    "um": _unit(LENGTH, "1/1000", "um|µm|μm|micrometre|micrometres|micrometer|micrometers|micron|microns"),
    "ft": _unit(LENGTH, "304.8", "ft|foot|feet|'|′|’"),
    "turns": _unit(ANGLE, "1", "turns|turn"),
    "deg": _unit(ANGLE, "1/360", "deg|degree|degrees|degs|°"),
    "Hz": _unit(FREQUENCY, "1", "hz|hertz"),
    "kHz": _unit(FREQUENCY, "1000", "khz|kilohertz"),
    "cents": _unit(INTERVAL, "1", "cents|cent|c|ct"),
    "percent": _unit(SHARE, "1", "percent|per cent|%|pct"),
    "deg C": _unit(TEMPERATURE, "1", "deg c|degc|°c|° c|℃|c|celsius|degree c|degrees c|degrees celsius"),
    "deg F": _unit(
        TEMPERATURE, "5/9", "deg f|degf|°f|° f|℉|f|fahrenheit|degree f|degrees f|degrees fahrenheit", Fraction(-160, 9)
    ),
    "s": _unit(TIME, "1", "s|sec|secs|second|seconds"),
    "min": _unit(TIME, "60", "min|mins|minute|minutes"),
    "h": _unit(TIME, "3600", "h|hr|hrs|hour|hours"),
    "g": _unit(MASS, "1", "g|gram|grams"),
    "kg": _unit(MASS, "1000", "kg|kilogram|kilograms"),
    "N": _unit(FORCE, "1", "n|newton|newtons"),
    "N m": _unit(TORQUE, "1", "n m|nm|n·m|newton metre|newton metres|newton meter|newton meters"),
    "dBA": _unit(LOUDNESS, "1", "dba|db a|db(a)"),
}
_BY_SPELLING = {(unit.dimension, word): name for name, unit in _UNITS.items() for word in unit.spellings}
_ANY_DIMENSION: dict[str, set[str]] = {}
for (_dimension, _word), _name in _BY_SPELLING.items():
    _ANY_DIMENSION.setdefault(_word, set()).add(_name)
_COMMON = ("in", "mm", "mil", "um", "cm", "turns", "deg", "deg C", "deg F", "min", "h", "s", "g", "kg")
_ONE = {"turns": "turn", "cents": "cent"}
_LIKE = {
    LENGTH: "6.35 mm or 1/4 in", ANGLE: "1 1/2 turns or 90 deg", FREQUENCY: "220 Hz", INTERVAL: "-12 cents",
    SHARE: "45 %", TEMPERATURE: "20.5 deg C", TIME: "30 min", MASS: "80 g", FORCE: "450 N",
    TORQUE: "0.5 N m", NUMBER: "12 or 0.5",
    LOUDNESS: "94 dBA",
}  # fmt: skip


def canonical_unit(word: str) -> str:
    """The table's name for a unit however it is written (`inches`, `%`, `°C`); any other word comes back as it is.

    `c` alone means cents in one place and Celsius in another and so stays a word of its own here.
    """
    if word in _UNITS:
        return word
    names = _ANY_DIMENSION.get(word.strip().lower(), set())
    return next(iter(names)) if len(names) == 1 else word


def nearly(word: str) -> str | None:
    """A unit's spelling that a word of its own is nearly: `millimeter` for `milimeter`; None for a word like none."""
    if word.lower() in _ANY_DIMENSION:
        return None
    import difflib  # only now: walking needs none of it

    near = difflib.get_close_matches(word.lower(), [known for known in _ANY_DIMENSION if len(known) > 4], 1, 0.85)
    return near[0] if near else None


def dimension(unit: str) -> str:
    """What `unit` measures, in words (`a length`); a word outside the table is its own dimension."""
    known = _UNITS.get(canonical_unit(unit))
    return known.dimension if known else unit


def spelled(word: str, asked: str) -> str | None:
    """The unit that `word` means where a value in `asked` (canonical) is wanted; None where it means none, or two.

    The answer may be of another dimension: that is for the caller to refuse. A sole degree sign after a temperature is
    the temperature asked for.
    """
    word = word.lower()
    if word.endswith(".") and word[:-1].isalpha():
        word = word[:-1]
    if asked not in _UNITS:
        if word.removesuffix("s") == asked.lower().removesuffix("s"):
            return asked
    elif dimension(asked) == TEMPERATURE and word in ("°", "deg", "degrees"):
        return asked
    elif (dimension(asked), word) in _BY_SPELLING:
        return _BY_SPELLING[dimension(asked), word]
    names = _ANY_DIMENSION.get(word, set())
    return next(iter(names)) if len(names) == 1 else None


def convert(value: Fraction, from_unit: str, to_unit: str, *, change: bool = False) -> Fraction:
    """`value` in `to_unit`, exactly. Temperatures convert as points on the scale; with `change`, as differences.

    Raises Misread where the two units measure different things.
    """
    source, target = canonical_unit(from_unit), canonical_unit(to_unit)
    if source == target:
        return value
    if source not in _UNITS or target not in _UNITS or dimension(source) != dimension(target):
        raise Misread(f"{from_unit or 'a bare number'} cannot be turned into {to_unit or 'a bare number'}")
    first, then = _UNITS[source], _UNITS[target]
    if change:
        return value * first.factor / then.factor
    return (value * first.factor + first.zero - then.zero) / then.factor


def others(unit: str) -> list[str]:
    """The other units a number without one may have been meant in, the likeliest first: for mm in, mil, um and cm."""
    unit = canonical_unit(unit)
    return [name for name in _COMMON if name != unit and unit in _UNITS and dimension(name) == dimension(unit)]


def example(unit: str) -> str:
    """How a value in `unit` may be typed, for messages."""
    known = _UNITS.get(unit)
    return _LIKE[known.dimension] if known else f"3 {unit}"


def with_unit(number: str, unit: str) -> str:
    """A number's text, or a range's, with its unit after it: `6.35 mm`, `1 turn`, `at most 1 turn`, `0 to 1 turns`."""
    if number.rpartition(" ")[2] in ("1", "-1") and " to " not in number:
        unit = _ONE.get(unit, unit)
    return f"{number} {unit}" if unit else number
