"""Names of notes, typed and printed. Equal temperament, A4 = 440 Hz (ISO 16, from memory)."""

from __future__ import annotations

import re
from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchwalk.errors import Misread
from benchwalk.quantities import cents_between, note_text, parse_heard, parse_note


def pitch(text: str) -> F:
    """The frequency alone."""
    return parse_note(text).value


@pytest.mark.parametrize(
    ("typed", "hertz"),
    [
        ("A4", "440"),
        ("A3", "220"),
        ("a3", "220"),
        ("C4", "261.626"),  # 261.6256 Hz, from memory
        ("E2", "82.407"),  # from memory
        ("A#3", "233.082"),  # from memory
        ("Bb3", "233.082"),
        ("B♭3", "233.082"),
        ("bb3", "233.082"),
        ("b3", "246.942"),  # from memory
        ("B#3", "261.626"),
        ("Cb4", "246.942"),
        ("C0", "16.352"),  # from memory
        ("A3 +100c", "233.082"),
        ("A#3 -100 cents", "220"),
        ("A3 +1200c", "440"),
        ("A3−100c", "207.652"),
        ("A3 - 100 c", "207.652"),
        ("220", "220"),
        ("220 Hz", "220"),
        ("220,5hz", "220.5"),
        ("0.22 kHz", "220"),
    ],
)
def test_a_note_is_read_as_its_frequency(typed: str, hertz: str) -> None:
    """A note's name, with or without cents, and a plain frequency are read in Hz, to 0.001 Hz for names."""
    found = parse_note(typed)
    assert (found.value, found.unit, found.typed) == (F(hertz), "Hz", typed)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("A", "which octave"),
        ("Bb", "which octave"),
        ("H3", "type B for it"),
        ("A3 12c", "above or below"),
        ("A3 -12", "cents written such as"),
        ("A3 --12c", "cents written such as"),
        ("A3 -12 Hz", "cents written such as"),
        ("A3 -1,234c", "two ways"),
        ("A3 +1201c", "more than an octave"),
        ("A10", "is not a note"),
        ("a'", "is not a note"),
        ("A3 -", "is not a note"),
        ("X3", "is not a note"),
        ("la", "is not a note"),
        ("nan", "is not a note"),
        ("0", "above 0 Hz"),
        ("-220", "above 0 Hz"),
        ("5 mm", "is a length"),
        ("", "nothing was typed"),
    ],
)
def test_no_note_is_guessed(typed: str, says: str) -> None:
    """What is no pitch, or not clearly one, is refused and the message says how to type it."""
    with pytest.raises(Misread, match=says):
        parse_note(typed)


def test_a_note_is_shown_back_with_its_frequency() -> None:
    """A named note is shown as the Hz it was taken for; a plain frequency as it was typed."""
    assert parse_note("A3 -12c").understood() == "218.48 Hz (typed A3 -12c)"
    assert parse_note("220.50 Hz").understood() == "220.50 Hz"


NAMES = {"C": 0, "C#": 1, "Db": 1, "D": 2, "Eb": 3, "E": 4, "F": 5, "F#": 6, "G": 7, "Ab": 8, "A": 9, "Bb": 10, "B": 11}


@given(st.sampled_from(sorted(NAMES)), st.integers(0, 9), st.integers(-1200, 1200))
def test_tempered_pitch_agrees_with_whole_numbers(name: str, octave: int, cents: int) -> None:
    """The Hz of a name is the nearest 0.001 Hz: shown in integers, since (f/440)^1200 is a power of two."""
    found = pitch(f"{name}{octave} {cents:+d}c")
    power = 100 * (12 * (octave + 1) + NAMES[name] - 69) + cents
    target = F(440) ** 1200 * F(2) ** power
    assert (found - F(5, 10000)) ** 1200 <= target <= (found + F(5, 10000)) ** 1200


@given(
    st.sampled_from(["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"]),
    st.integers(2, 8),
    st.integers(-49, 49),
)
def test_a_printed_note_reads_back(name: str, octave: int, cents: int) -> None:
    """A note typed, heard and printed again is the same note with the same cents."""
    text = f"{name}{octave}" + (f" {cents:+d}c" if cents else "")
    assert note_text(pitch(text)) == text


@pytest.mark.parametrize(("hertz", "text"), [("5", "5.0 Hz"), ("40000", "40000.0 Hz"), ("0", "0.0 Hz"), ("27.5", "A0")])
def test_a_pitch_without_a_name_prints_in_hertz(hertz: str, text: str) -> None:
    """Outside the octaves that can be typed, the frequency itself is printed."""
    assert note_text(F(hertz)) == text


@pytest.mark.parametrize(
    ("high", "low", "cents"),
    [
        (F(880), F(440), 1200.0),
        (F(3), F(2), 701.9550008653874),  # a pure fifth, from memory 701.955
        (F(440), F(440), 0.0),
        (F(440), F(880), -1200.0),
        (F(300173, 1000), F(300), 0.998),  # 1 cent at 300 Hz is 0.173 Hz
        (F(10**30), F(10**30 - 1), 0.0),
    ],
)
def test_cents(high: F, low: F, cents: float) -> None:
    """Cents are 1200 log2 of the ratio (by definition)."""
    assert cents_between(high, low) == pytest.approx(cents, abs=1e-3 if cents == 0.998 else 1e-9)


@pytest.mark.parametrize(
    ("typed", "hertz", "sure", "second", "said"),
    [
        ("219.84 Hz", "219.84", None, None, "219.84 Hz"),
        ("219.84 Hz ±0.6c second 301.20 Hz", "219.84", "0.6", "301.2", None),
        ("220 +-1", "220", "1", None, "220 Hz, give or take 1 cent"),
        ("220 +/- 0,5 cents", "220", "0.5", None, "220 Hz, give or take 0.5 cents"),
        ("A3 -5c ± 1c", "219.366", "1", None, "219.366 Hz, give or take 1 cent"),
        ("A3 Second C4", "220", None, "261.626", "220 Hz, second note 261.626 Hz"),
    ],
)
def test_a_note_is_read_with_what_was_heard_beside_it(
    typed: str, hertz: str, sure: str | None, second: str | None, said: str | None
) -> None:
    """How sure a note is and a second note are read where they are said, and all of it is shown back."""
    found = parse_heard(typed)
    assert found.value == F(hertz)
    assert found.sure == (None if sure is None else F(sure))
    assert found.second == (None if second is None else F(second))
    assert found.understood() == (said or "219.84 Hz, give or take 0.6 cents, second note 301.2 Hz")
    assert found.more is (sure is not None or second is not None)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("220 ±", "is no unit that fits here"),
        ("±2c", '"±2c" says how sure a note is and no note; type it such as 220 Hz'),
        ("220 ±0.6c second", "ends where its second note should stand; type it such as"),
        ("220 Hz SECOND", "ends where its second note should stand"),
        ("220 ± 100c", "sure to within 100 cents"),
        ("220 ± 2 mm", "is a length; a pitch interval is asked for"),
        ("220 second 219", "not above the first"),
        ("220 second 220", "not above the first"),
        ("220 second 881", "within two octaves"),
        ("220 second maybe", "is not a note"),
        ("220 second 300 second 400", "is no unit that fits here"),
    ],
)
def test_what_is_said_beside_a_note_is_not_guessed(typed: str, says: str) -> None:
    """A doubt or a second note that cannot be is refused with a sentence."""
    with pytest.raises(Misread, match=re.escape(says)):
        parse_heard(typed)


@given(st.integers(1000, 100_000), st.none() | st.integers(0, 9_999), st.none() | st.integers(1, 3000))
def test_a_heard_note_reads_back_exactly(pitch: int, sure: int | None, above: int | None) -> None:
    """What a note is, how sure, and what sounds above it come back as they were written, in hundredths."""
    text = f"{pitch / 100:.2f} Hz"
    text += f" ±{sure / 100:.2f}c" if sure is not None else ""
    text += f" second {(pitch + above) / 100:.2f} Hz" if above is not None else ""
    found = parse_heard(text)
    assert found.value == F(pitch, 100)
    assert found.sure == (None if sure is None else F(sure, 100))
    assert found.second == (None if above is None else F(pitch + above, 100))
