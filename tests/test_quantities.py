"""What a typed value is taken for, and what is refused because it could be taken for something else."""

from __future__ import annotations

import time
from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchwalk.errors import Misread
from benchwalk.quantities import (
    Quantity,
    Range,
    canonical_unit,
    convert,
    decimal_text,
    dimension,
    likelier,
    parse_note,
    parse_quantity,
    parse_range,
    rounded,
    shown,
    with_unit,
)

# What each unit is in the first of its row, written down again from the definitions: the inch is 25.4 mm (international
# yard and pound agreement of 1959, from memory), a mil 1/1000 of it, a foot twelve; 360 degrees to the turn.
SCALES = (
    {"mm": F(1), "cm": F(10), "m": F(1000), "um": F(1, 1000)}
    | {"in": F(254, 10), "mil": F(254, 10000), "ft": F(3048, 10)},
    {"turns": F(1), "deg": F(1, 360)},
    {"Hz": F(1), "kHz": F(1000)},
    {"s": F(1), "min": F(60), "h": F(3600)},
    {"g": F(1), "kg": F(1000)},
    {"cents": F(1)},
    {"percent": F(1)},
    {"N": F(1)},
    {"dBA": F(1)},
    {"N m": F(1)},
    {"": F(1)},
)
UNITS = [unit for scale in SCALES for unit in scale] + ["deg C", "deg F", "strands"]
PAIRS = [(a, b, scale[a] / scale[b]) for scale in SCALES for a in scale for b in scale]
FORBIDDEN = [
    (a, b)
    for one in SCALES
    for other in SCALES
    if one is not other
    for a in one
    for b in other
    if a  # bare takes any
]

values = st.decimals(-9999, 9999, places=3).map(F)
texts = st.one_of(
    st.text(max_size=80),
    st.text(alphabet="0123456789.,/-+ eE½¼°\"′'mincturnsHzACb#..to", max_size=24),
)


def read(text: str, unit: str) -> F:
    """The value alone."""
    return parse_quantity(text, unit).value


@pytest.mark.parametrize(
    ("typed", "unit", "value"),
    [
        ("6,35 mm", "mm", F(635, 100)),
        ("6.35mm", "mm", F(635, 100)),
        ("  6.35  mm ", "mm", F(635, 100)),
        ("6.35\u00a0mm", "mm", F(635, 100)),
        ("6.35", "mm", F(635, 100)),
        ("1/4 in", "mm", F(635, 100)),
        ('3/8"', "mm", F(9525, 1000)),
        ("3/8″", "mm", F(9525, 1000)),
        ("1 1/2 inches", "mm", F(381, 10)),
        ("1 in.", "mm", F(254, 10)),
        ("14 IN", "mm", F(3556, 10)),
        ("2 mil", "mm", F(508, 10000)),
        ("5'", "ft", F(5)),
        ("1 1/2 turns", "turns", F(3, 2)),
        ("1½ turns", "turns", F(3, 2)),
        ("1 ½", "turns", F(3, 2)),
        ("½ turn", "turns", F(1, 2)),
        ("⅛", "turns", F(1, 8)),
        ("1\u20442", "turns", F(1, 2)),
        ("-1 1/2", "turns", F(-3, 2)),
        ("90°", "turns", F(1, 4)),
        ("45 deg", "turns", F(1, 8)),
        ("1/4 turn", "deg", F(90)),
        ("220 Hz", "Hz", F(220)),
        ("0.22 kHz", "Hz", F(220)),
        ("0.5", "", F(1, 2)),
        (".5", "", F(1, 2)),
        (",5", "", F(1, 2)),
        ("-2", "mm", F(-2)),
        ("−2", "mm", F(-2)),
        ("–2", "mm", F(-2)),
        ("+2", "mm", F(2)),
        ("0,125", "mm", F(1, 8)),
        ("-0,125", "mm", F(-1, 8)),
        ("1,25", "mm", F(5, 4)),
        ("1,2345", "mm", F(12345, 10000)),
        ("1234,567", "mm", F(1234567, 1000)),
        ("1.234", "mm", F(1234, 1000)),
        ("010", "mm", F(10)),
        ("76 um", "mm", F(76, 1000)),
        ("76 µm", "mm", F(76, 1000)),
        ("76 \u03bcm", "mm", F(76, 1000)),
        ("50 microns", "mil", F(50, 1000) / F(254, 10000)),
        ("-12c", "cents", F(-12)),
        ("5 cents", "cents", F(5)),
        ("45 %", "percent", F(45)),
        ("45 per cent", "percent", F(45)),
        ("20 °C", "deg C", F(20)),
        ("20 C", "deg C", F(20)),
        ("20 deg C", "deg C", F(20)),
        ("20°", "deg C", F(20)),
        ("68 °F", "deg C", F(20)),
        ("-40 F", "deg C", F(-40)),
        ("100 C", "deg F", F(212)),
        ("30 min", "h", F(1, 2)),
        ("2 hours", "min", F(120)),
        ("80 g", "g", F(80)),
        ("450 N", "N", F(450)),
        ("3 strands", "strands", F(3)),
        ("1 strand", "strands", F(1)),
        ("3", "strands", F(3)),
    ],
)
def test_a_clear_value_is_understood_exactly(typed: str, unit: str, value: F) -> None:
    """Usual ways of writing a value are read, exactly, and what was typed is kept."""
    quantity = parse_quantity(typed, unit)
    assert (quantity.value, quantity.unit, quantity.typed) == (value, unit, typed.strip())


@pytest.mark.parametrize(
    ("typed", "unit", "says"),
    [
        ("1,000", "mm", "two ways; type 1000 or 1.000"),
        ("1,234", "mm", "two ways; type 1234 or 1.234"),
        ("-12,345 mm", "mm", "two ways; type -12345 or -12.345"),
        ("−1,234", "mm", "type -1234 or -1.234"),
        ("1.234,5", "mm", "more than one point or comma"),
        ("1,234.5", "mm", "more than one point or comma"),
        ("1,234,567", "mm", "more than one point or comma"),
        ("1 000", "mm", "space inside the number"),
        ("1'000", "mm", "goes on"),
        ("1_000", "mm", "goes on"),
        ("1e400", "mm", "power of ten"),
        ("1e3", "mm", "power of ten"),
        ("6.", "mm", "goes on"),
        ("1..2", "mm", "goes on"),
        ("2-5 mm", "mm", "goes on"),
        ("1-1/2 in", "mm", "dash before its fraction"),
        ("1 3/2", "turns", "fraction of one or more"),
        ("1/0", "mm", "divides by zero"),
        ("1.5/2", "mm", "goes on"),
        ("1/2/3", "mm", "goes on"),
        ("½½", "mm", "goes on"),
        ("nan", "mm", "is not a length"),
        ("inf", "mm", "is not a length"),
        ("-inf", "mm", "is not a length"),
        ("0x10", "mm", "no unit that fits here"),
        ("", "mm", "nothing was typed"),
        ("   ", "mm", "nothing was typed"),
        ("mm", "mm", "is not a length"),
        ("--2", "mm", "is not a length"),
        ("±2", "mm", "is not a length"),
        ("١٢ mm", "mm", "is not a length"),
        ("5 Hz", "mm", "is a frequency; a length is asked for"),
        ("abc", "turns", '"abc" is not a number of turns; type it such as 1 1/2 turns or 90 deg'),
        ("5 mm", "turns", "is a length; a number of turns is asked for"),
        ("abc", "deg", "is not an angle"),
        ("5 mm", "", "is a length; a number is asked for"),
        ("3 mm", "strands", "is a length; a number of strands is asked for"),
        ("3 strands", "mm", "no unit that fits here"),
        ("6 mm 3", "mm", "no unit that fits here"),
        ("5' 3\"", "mm", "no unit that fits here"),
        ("12c", "mm", "no unit that fits here"),
        ("5\tmm", "mm", "control characters"),
        ("5\x1b[2J", "mm", '"5\\x1b[2J" holds control characters'),
        ("5\u202emm", "mm", "\\u202e"),
        ("9" * 100_000, "mm", "100000 characters long"),
        ("A3", "Hz", "is not a frequency"),
    ],
)
def test_an_unclear_value_is_refused_with_the_way_to_type_it(typed: str, unit: str, says: str) -> None:
    """What reads in two ways or not at all is refused in one short sentence that says so."""
    with pytest.raises(Misread) as refused:
        parse_quantity(typed, unit)
    assert says in refused.value.message
    assert len(refused.value.message) < 180
    assert refused.value.message.isprintable()


@pytest.mark.parametrize("typed", ["2.5", "1/2", "90°"])
def test_whole_numbers_only_where_asked(typed: str) -> None:
    """A count is a whole number; a part of one is refused."""
    unit = "turns" if "°" in typed else ""
    with pytest.raises(Misread, match="whole number"):
        parse_quantity(typed, unit, whole=True)


@pytest.mark.parametrize(("typed", "value"), [("12", 12), ("-3", -3), ("4/2", 2), ("12.0", 12)])
def test_whole_numbers_are_taken_as_whole(typed: str, value: int) -> None:
    """A whole number is taken however it is written."""
    assert parse_quantity(typed, "", whole=True).value == value


@pytest.mark.parametrize(
    ("typed", "unit", "said"),
    [
        ("6.35 mm", "mm", "6.35 mm"),
        ("6,350", "mm", None),
        ("6,35", "mm", "6.35 mm"),
        ("1.10", "mm", "1.10 mm"),
        ("−2", "mm", "-2 mm"),
        (",5", "mm", "0.5 mm"),
        ("1/4 in", "mm", "6.35 mm (typed 1/4 in)"),
        ("1½ turns", "turns", "1.5 turns (typed 1½ turns)"),
        ("1", "turns", "1 turn"),
        ("0.500", "", "0.500"),
        ("100 deg", "turns", "0.277778 turns (typed 100 deg)"),
        ("20 °C", "deg C", "20 deg C"),
    ],
)
def test_what_was_understood_is_shown_back(typed: str, unit: str, said: str | None) -> None:
    """The text shown back keeps the typed digits, and names what was typed where reading it took a conversion."""
    if said is None:
        with pytest.raises(Misread, match="two ways"):
            parse_quantity(typed, unit)
    else:
        assert parse_quantity(typed, unit).understood() == said


def test_a_stored_quantity_shows_even_where_its_typed_text_reads_no_more() -> None:
    """A quantity taken from an old log is shown by its value when its typed text is not a value of its unit."""
    assert Quantity("by ear", F(5, 2), "mm").understood() == "2.5 mm (typed by ear)"


def test_decimals_are_exact_as_typed() -> None:
    """0.1 and 0.2 make 0.3: no float stands between the typed text and the value."""
    assert read("0.1", "") + read("0.2", "") == read("0.3", "")
    assert read("0.1", "") == F(1, 10)


@given(st.integers(0, 9999), st.text("0123456789", min_size=1, max_size=6), st.sampled_from(["", "-", "−", "+"]))
def test_comma_and_point_say_the_same(ones: int, after: str, sign: str) -> None:
    """A decimal comma means what a decimal point means, or is refused as ambiguous in the one known case."""
    point, comma = f"{sign}{ones}.{after}", f"{sign}{ones},{after}"
    expected = F(int(f"{ones}{after}"), 10 ** len(after)) * (-1 if sign in ("-", "−") and sign else 1)
    assert read(point, "mm") == expected
    if len(after) == 3 and 1 <= ones <= 999:
        with pytest.raises(Misread):
            parse_quantity(comma, "mm")
    else:
        assert read(comma, "mm") == expected


@given(st.integers(0, 99), st.integers(0, 63), st.integers(1, 64), st.sampled_from(["in", "mm", "turns"]))
def test_fractions_and_mixed_numbers_are_exact(ones: int, top: int, under: int, unit: str) -> None:
    """`3/8` and `1 3/8` mean exactly that."""
    assert read(f"{top}/{under} {unit}", unit) == F(top, under)
    if top < under:
        assert read(f"{ones} {top}/{under} {unit}", unit) == ones + F(top, under)


@given(values, st.sampled_from(PAIRS))
def test_conversion_is_exact_by_the_definitions(value: F, pair: tuple[str, str, F]) -> None:
    """A value in another unit of the same dimension is converted exactly, and back to where it came from."""
    source, target, factor = pair
    assert convert(value, source, target) == value * factor
    assert convert(convert(value, source, target), target, source) == value
    assert read(f"{decimal_text(value)} {source}", target) == value * factor


@given(values)
def test_temperatures_convert_as_points(value: F) -> None:
    """Celsius and Fahrenheit meet at -40, and 100 C is 212 F (the steam point, from memory)."""
    assert convert(value, "deg C", "deg F") == value * F(9, 5) + 32
    assert convert(convert(value, "deg C", "deg F"), "deg F", "deg C") == value


@given(values, st.sampled_from(FORBIDDEN))
def test_no_value_changes_its_dimension(value: F, pair: tuple[str, str]) -> None:
    """A length is never read as turns, nor any dimension as another."""
    source, target = pair
    assert dimension(source) != dimension(target)
    with pytest.raises(Misread):
        convert(value, source, target)
    with pytest.raises(Misread):
        parse_quantity(f"{decimal_text(value)} {source}", target)


@given(values, st.sampled_from(UNITS))
def test_what_is_shown_back_reads_the_same_again(value: F, unit: str) -> None:
    """Printing a value with its unit and typing that in again gives the same value."""
    text = with_unit(decimal_text(value), unit)
    again = parse_quantity(text, unit)
    assert (again.value, again.typed) == (value, text)
    assert again.understood() == text


@given(texts, st.sampled_from(UNITS))
def test_any_text_is_understood_or_refused(text: str, unit: str) -> None:
    """Whatever is typed, it is understood and kept, or refused in one short printable sentence; nothing else breaks."""
    for parse in (lambda: parse_quantity(text, unit), lambda: parse_note(text), lambda: parse_range(text, unit)):
        try:
            found = parse()
        except Misread as refused:
            assert refused.message.isprintable()
            assert len(refused.message) < 400
        else:
            assert not isinstance(found, Quantity) or found.typed == text.strip()
            assert not isinstance(found, Range) or not found.empty


@given(st.text())
def test_quoted_text_is_short_and_inert(text: str) -> None:
    """A message repeats at most twenty characters of somebody's text, and nothing in them can move or hide anything."""
    quoted = shown(text)
    assert quoted.isprintable()
    assert len(quoted) <= 20 * 10 + 5
    if text.isascii() and text.isprintable():
        assert quoted == (f'"{text}"' if len(text) <= 20 else f'"{text[:20]}..."')


def test_quoted_text_spells_out_what_moves_hides_or_stacks() -> None:
    """Escape, bidirectional and combining characters are shown by their codes; letters of other scripts are shown."""
    assert shown("\x1b[2J") == '"\\x1b[2J"'
    assert shown("a\u202eb\u0301") == '"a\\u202eb\\u0301"'
    assert shown("żółw ½") == '"żółw ½"'


@pytest.mark.parametrize(
    ("typed", "unit", "possible", "meant"),
    [
        ("14", "mm", "100 .. 1200", "14 in"),
        ("5 1/2", "mm", "20 .. 1200", "5 1/2 in"),
        ("3", "mm", "0.02 .. 0.4", "3 mil"),
        ("76", "mm", "0.02 .. 0.4", "76 um"),
        ("90", "turns", "0 .. 40", "90 deg"),
        ("70", "deg C", "-5 .. 45", "70 deg F"),
        ("2", "min", "30 .. 300", "2 h"),
        ("340", "mm", "100 .. 1200", None),
        ("14 mm", "mm", "100 .. 1200", None),
        ("14 cm", "mm", "200 .. 1200", None),
        ("99999", "mm", "100 .. 1200", None),
        ("2", "strands", "10 .. 20", None),
        ("2", "", "10 .. 20", None),
    ],
)
def test_a_bare_number_that_cannot_be_may_be_another_unit(
    typed: str, unit: str, possible: str, meant: str | None
) -> None:
    """The likeliest unit in which the same number would be possible is offered, where no unit was typed."""
    offered = likelier(parse_quantity(typed, unit), parse_range(possible, unit))
    assert offered == meant
    assert offered is None or parse_range(possible, unit).contains(parse_quantity(offered, unit).value)


def test_hostile_text_is_refused_at_once() -> None:
    """Long or repetitive pastes are refused without searching through them: hundreds of them in a moment."""
    pastes = ["9" * 100_000, " " * 100_000 + "x", "1/" * 50_000, "1 " * 32, "1," * 32, "." * 64, "-" * 64, "a " * 32]
    started = time.perf_counter()
    for text in pastes * 25:
        for parse in (parse_quantity, parse_range):
            with pytest.raises(Misread):
                parse(text, "mm")
    assert time.perf_counter() - started < 2


@pytest.mark.parametrize(
    ("written", "unit"),
    [("inches", "in"), ("Inch", "in"), ("%", "percent"), ("°C", "deg C"), ("degrees", "deg"), ("µm", "um"),
     ("turn", "turns"), ("hz", "Hz"), ("mm", "mm"), ("", ""), ("strands", "strands"), ("c", "c")],
)  # fmt: skip
def test_an_author_may_spell_a_unit_his_way(written: str, unit: str) -> None:
    """A unit in a procedure is known however it is spelled; an unknown or doubtful word stays a unit of its own."""
    assert canonical_unit(written) == unit
    assert parse_quantity("3", written).unit == unit


@pytest.mark.parametrize(
    ("value", "resolution", "text"),
    [
        (F(1, 3), None, "0.333333"),
        (F(2, 3), None, "0.666667"),
        (F(-1, 3000), None, "-0.000333333"),
        (F(100000, 3), None, "33333.333333"),
        (F(1, 64), None, "0.015625"),
        (F(127, 20), None, "6.35"),
        (F(10**22), None, "10000000000000000000000"),
        (F(0), None, "0"),
        (F(3), F(1, 2), "3.0"),
        (F(16, 5), F(1, 2), "3.2"),
        (F(5, 2), F(1), "3"),
        (F(7, 2), F(1), "4"),
        (F(1, 20), F(1, 10), "0.1"),
        (F(-1, 20), F(1, 10), "-0.1"),
        (F(-1, 21), F(1, 10), "0.0"),
        (F(149, 20), F(1, 10), "7.5"),
        (F(3, 20), F(1, 10), "0.2"),
        (F(-3, 20), F(1, 10), "-0.2"),
        (F(1, 8), F(1, 16), "0.1250"),
        (F(12), F(5), "12"),
        (F(1), F(1, 3), "1.000000"),
    ],
)
def test_decimal_text(value: F, resolution: F | None, text: str) -> None:
    """A value prints as plain decimals: exact where they end, half away from zero, no exponent, no negative zero."""
    assert decimal_text(value, resolution) == text


@given(st.fractions(), st.sampled_from([F(1), F(1, 10), F(1, 100), F(1, 2), F(1, 16), F(5)]))
def test_rounding_stays_within_half_a_step(value: F, step: F) -> None:
    """A rounded value is a multiple of its resolution, at most half of it away, and prints and reads back the same."""
    near = rounded(value, step)
    assert (near / step).denominator == 1
    assert abs(near - value) <= step / 2
    assert F(decimal_text(near, step)) == near
    assert rounded(value, None) == value


# --- ranges ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2 .. 5", Range(F(2), F(5))),
        ("2..5", Range(F(2), F(5))),
        ("-15 .. 30", Range(F(-15), F(30))),
        ("0 .. .5", Range(F(0), F(1, 2))),
        ("1,5 .. 2,5", Range(F(3, 2), F(5, 2))),
        ("2 mm .. 1/4 in", Range(F(2), F(635, 100))),
        ("2 in .. 3 in", Range(F(508, 10), F(762, 10))),
        ("2 .. 5 mm", Range(F(2), F(5))),
        ("2 to 5 mm", Range(F(2), F(5))),
        ("at least 2", Range(F(2), None)),
        ("At most 0.1", Range(None, F(1, 10))),
        ("below 1", Range(None, F(1), high_open=True)),
        ("above 2 mm", Range(F(2), None, low_open=True)),
        ("exactly 3", Range(F(3), F(3))),
        ("above 1 and at most 3", Range(F(1), F(3), low_open=True)),
    ],
)
def test_a_range_is_read(text: str, expected: Range) -> None:
    """Ranges are read as authors write them, bare numbers in the unit of the reading."""
    assert parse_range(text, "mm") == expected


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("2 .. 5 in", "unit to one end only"),
        ("2 in .. 5", "unit to one end only"),
        ("5 .. 2", "holds no value"),
        ("above 2 and below 2", "holds no value"),
        ("2...5", "is not a range"),
        ("0...5", "is not a range"),
        ("2 .. ", "is not a range"),
        (".. 5", "is not a range"),
        ("2 .. 3 .. 4", "goes on"),
        ("2-5", "is not a range"),
        ("> 2", "is not a range"),
        ("5", "is not a range"),
        ("at least 2 and at least 3", "is not a range"),
        ("at least 1 and at most 5 and below 3", "is not a range"),
        ("1,234 .. 2", "two ways"),
        ("2 Hz .. 5 Hz", "is a frequency"),
        ("at least", "is not a range"),
        ("", "nothing was typed"),
    ],
)
def test_no_range_is_guessed(text: str, says: str) -> None:
    """What is no range, holds nothing, or leaves a unit in doubt is refused."""
    with pytest.raises(Misread, match=says):
        parse_range(text, "mm")


def test_a_range_of_pitch_may_name_notes() -> None:
    """In Hz an end may be a note's name."""
    assert parse_range("A2 .. A3", "Hz") == Range(F(110), F(220))
    assert parse_range("at least A4", "Hz") == Range(F(440), None)


@pytest.mark.parametrize(
    ("range_", "unit", "resolution", "text"),
    [
        (Range(F(3), F(6)), "mm", F(1, 10), "3.0 to 6.0 mm"),
        (Range(F(2), None), "mm", None, "at least 2 mm"),
        (Range(None, F(1, 10)), "mm", None, "at most 0.1 mm"),
        (Range(None, F(1), high_open=True), "turns", None, "below 1 turn"),
        (Range(F(2), None, low_open=True), "", None, "above 2"),
        (Range(F(1), F(3), low_open=True), "turns", None, "above 1 and at most 3 turns"),
        (Range(F(1), F(3), high_open=True), "mm", None, "at least 1 and below 3 mm"),
        (Range(F(0), F(1)), "turns", None, "0 to 1 turns"),
        (Range(F(3), F(3)), "mm", None, "exactly 3 mm"),
        (Range(None, None), "mm", None, "any value"),
    ],
)
def test_a_range_in_words(range_: Range, unit: str, resolution: F | None, text: str) -> None:
    """A range prints in words that say which ends belong to it."""
    assert range_.text(unit, resolution) == text


small = st.integers(-4, 4).map(F)
ends = st.none() | small
ranges = st.builds(Range, ends, ends, st.booleans(), st.booleans())
steps = [F(n, 2) for n in range(-10, 11)]


@given(ranges, ranges)
def test_ranges_agree_with_looking_at_every_value(one: Range, other: Range) -> None:
    """Containing, verdict, emptiness and intersection say what trying half steps one by one says."""

    def holds(r: Range, v: F) -> bool:
        over = r.low is None or (v > r.low if r.low_open else v >= r.low)
        under = r.high is None or (v < r.high if r.high_open else v <= r.high)
        return over and under

    both = one.intersect(other)
    for value in steps:
        assert one.contains(value) == holds(one, value)
        assert (both is not None and both.contains(value)) == (holds(one, value) and holds(other, value))
        if not one.empty:
            assert (one.verdict(value) == "within") == holds(one, value)
    assert one.empty == (not any(holds(one, v) for v in steps))
    assert (both is None) == (not any(holds(one, v) and holds(other, v) for v in steps))
    assert both is None or not both.empty


@given(ranges, st.sampled_from(["mm", "turns", "deg C", "", "strands"]))
def test_a_range_in_words_reads_back(range_: Range, unit: str) -> None:
    """The words of a range, typed in again, hold the same values."""
    if range_.empty or (range_.low is None and range_.high is None):
        return
    again = parse_range(range_.text(unit), unit)
    assert all(again.contains(value) == range_.contains(value) for value in steps)


@pytest.mark.parametrize(
    ("value", "verdict"), [("9.92", "within"), ("10.00", "within"), ("10.05", "above"), ("-0.01", "below")]
)
def test_a_value_on_the_limit_is_within(value: str, verdict: str) -> None:
    """Simple acceptance: a reading exactly on a closed limit meets it."""
    assert Range(F(0), F(10)).verdict(read(value, "mm")) == verdict
