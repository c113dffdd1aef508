"""What is said of taps at the bench: notes in words, and a spectrum as lines of text."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from ..notes import note_text
from .kinds import Tap, Together
from .repeated import too_far_apart

_CALLED = {"rod": "rod note", "centre": "open note", "shell": "shell's note"}


def tap_words(tap: Tap, place: str) -> str:
    """One tap in a sentence: its note, how sure, the second note, the beat, how long it rings."""
    parts = [f"{_called([tap], place)} {note_words(tap)}", *beside_words(tap)]
    parts.append(f"rings {6.908 / max(tap.decay_per_s, 0.1):.1f} s")
    if tap.mode is None:
        parts.append("no second note is heard, so it may not be the rod note: touch the centre, or give --band")
    return f"at {tap.at_s:.2f} s: " + "; ".join(parts)


def together_words(joint: Together, place: str, taps: Sequence[Tap]) -> str:
    """Several taps at one place as one note, which is called no surer than the taps themselves were; how far they lie
    apart, where that is too far to be one note."""
    apart = too_far_apart(taps)
    if apart is not None:
        return f"{apart_words(apart)}, which is no one note: make a file for each rod"
    return f"{joint.count} taps together: {_called(taps, place)} {note_words(joint)}"


def apart_words(apart: float) -> str:
    """That taps are not of one place."""
    return f"the taps lie up to {apart:.0f} cents apart"


def note_words(heard: Tap | Together) -> str:
    """A note and how sure it is: `219.8 Hz (A3 -2c), give or take 0.4 cents`."""
    sure = heard.uncertainty_cents
    name = note_text(Fraction(round(heard.pitch_hz * 1000), 1000))
    return f"{heard.pitch_hz:.1f} Hz ({name}), give or take {f'{sure:.1f}' if sure < 10 else f'{sure:.0f}'} cents"


def beside_words(tap: Tap) -> list[str]:
    """What is heard beside the note: the second note, and how fast its pair beats."""
    parts = []
    if tap.second_hz is not None:
        parts.append(f"second note {tap.second_hz:.0f} Hz")
    if tap.split_hz is not None:
        parts.append(f"the pair is {tap.split_hz:.1f} Hz apart, {_beats(tap.split_hz)}")
    return parts


def _beats(split_hz: float) -> str:
    """How fast two lines so far apart beat, as an ear would count it."""
    if split_hz < 0.75:
        return f"a beat in {1 / max(split_hz, 0.01):.0f} s"
    return "1 beat a second" if split_hz < 1.5 else f"{split_hz:.0f} beats a second"


def _called(taps: Sequence[Tap], place: str) -> str:
    return _CALLED[place] if any(tap.mode is not None for tap in taps) else "a note"


def spectrum_lines(peaks: Sequence[tuple[float, float]], *, most: int = 12, width: int = 34) -> list[str]:
    """The loudest lines of a tap, (Hz, dB below the loudest), from low to high: a line of text for each.

    A bar for the eye, and the same in figures for whoever is read to.
    """
    loudest = sorted(peaks, key=lambda peak: -peak[1])[:most]
    out = []
    for hz, db in sorted(loudest):
        bar = "#" * max(1, round(width * (1 + db / 36)))
        said = "loudest" if db > -0.05 else f"{-db:.0f} dB below"
        out.append(f"{hz:7.1f} Hz  {said:12}  {bar}")
    return out
