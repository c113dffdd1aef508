"""One tap: from its window to its note, or the reason why it has none."""

from __future__ import annotations

import math

from .aside import rang_beside
from .bands import Band, Real
from .beyond import rings_beyond
from .clipping import clipped
from .falling import settled_lines
from .falls import Fall, hard_fall, unrolled
from .fitting import fitted
from .hidden import hidden_first
from .kinds import Sound, Tap
from .late import late_note
from .lines import CENT, Lines, no_fall
from .modes import SECOND, Chosen, choose, harmonic
from .note import OTHER, PAIR_APART, Note, pair_note, rough_pitch
from .refusals import Why
from .spectrum import Peak, Spectrum
from .window import BEGIN_S, LEAST_RING_S, Window, dies, since_the_tap, swells

_UNLIKE = 0.1
"""The part of a band's power beyond the noise that decaying lines may leave unexplained."""
_LEAST_FALL, _MOST_FALL = (cents * math.log(2) / 1200 for cents in (-40, 400))
_USELESS_CENTS, _USELESS_HARD_CENTS = 40.0, 25.0
_NO_NOTE_CENTS = 100.0
"""A note this vague could not be typed either."""
_PLAIN = 0.01
_HARD_UNSURE = 0.01
"""The part of a hard stroke's fall by which the note at rest may be missed: falls are not exponential to the last."""
_LEAST_SNR_DB = 0.0
_FIRM_CENTS = 5.0
_FASTER = 1.1
"""What lies between a pair and dies faster than both by this is a misfit of the pair's own fall, not another head."""
_WIDE = 1.055
"""Members of one pair farther apart than this (93 cents) are looked at twice: another head may ring."""
_SHOULDER_DB = 4.0
"""How far a line stands above the spectrum that is looked for a second time, beside louder ones."""
_MUFFLED = 30.0
"""What dies faster than this (1/s) is not heard as a note, unless something is left after 150 ms."""


def heard_in(window: Window, sound: Sound, band: tuple[float, float] | None, place: str) -> Tap | str:
    """The note of one tap of a recording, or why it has none."""
    rate = window.rate
    if window.hasty or window.ring_s < LEAST_RING_S:
        return Why.TOO_CLOSE if window.hasty or window.followed else Why.TOO_SHORT
    begin = round((window.onset.at_s + BEGIN_S) * sound.rate)
    if clipped(sound.samples[begin : begin + round(window.ring_s * sound.rate)], *sound.ends):
        return Why.CLIPPED
    spectrum = Spectrum(window.sound, rate)
    if band is None and (beyond := rings_beyond(window, sound, spectrum)) is not None:
        return Why.beyond(beyond)
    if swells(window):
        return Why.NO_NOTE
    fall = hard_fall(window.sound, rate, spectrum)
    if fall is not None:
        steady = unrolled(window.sound, rate, fall)
        answer = _heard(window, steady, Spectrum(steady, rate), band, place, fall)
        if not isinstance(answer, str):
            return answer
        if fall.clear and answer != Why.NO_NOTE:
            return Why.HARD
    return _heard(window, window.sound, spectrum, band, place, None, sinks=fall is not None)


def _heard(
    window: Window,
    steady: Real,
    spectrum: Spectrum,
    band: tuple[float, float] | None,
    place: str,
    fall: Fall | None,
    *,
    sinks: bool = True,
) -> Tap | str:
    """The note of a window once a fall is taken out (`steady`), or why there is none; `sinks`: whether there was one,
    so that what it leaves beside the note is nobody else's."""
    rate = window.rate
    peaks = since_the_tap(spectrum, window)
    chosen = choose(peaks, band, place)
    if chosen is None:
        return _nothing_rings(window, band, peaks)
    if place == "rod" and harmonic(peaks, chosen.line):
        return Why.MUSIC
    if chosen.doubtful:  # the first pair may be a shoulder of what stands beside it
        chosen = choose(since_the_tap(spectrum, window, _SHOULDER_DB), band, place)
        if chosen is None or chosen.doubtful:
            first = None if chosen is None else hidden_first(steady, rate, chosen.line)
            if chosen is None or first is None:
                return Why.FAINT
            chosen = Chosen(first, "(1,1)", chosen.line)
    return _note_of(window, chosen, place, fall, peaks, sinks=sinks)


def _nothing_rings(window: Window, band: tuple[float, float] | None, peaks: list[Peak]) -> str:
    if dies(window):
        return Why.MUFFLED
    if band is not None and peaks:
        return Why.not_in_band(*band)
    return Why.NO_NOTE


def _note_of(
    window: Window, chosen: Chosen, place: str, fall: Fall | None, peaks: list[Peak], *, sinks: bool
) -> Tap | str:
    hz = chosen.line.hz
    band, lines, fall = settled_lines(window, hz, fall)
    note = None if lines is None else pair_note(band, lines, hz, BEGIN_S, pair=place == "rod")
    if lines is None or note is None:
        why: str | None = Why.MUFFLED if dies(window) else Why.NO_NOTE
    else:
        why = _unlike_a_drum(window, band, lines, note, fall)
        if why is None and place == "rod" and _of_two_heads(note, peaks):
            why = Why.OTHER_HEAD
        elif why is None and place == "rod" and not sinks and rang_beside(window, note, peaks):
            why = Why.BESIDE
    unsure = why is not None or note is None or fall is not None or note.uncertainty_cents > _FIRM_CENTS
    settled = late_note(window.sound, window.rate, hz) if unsure and (place != "rod" or why == Why.NO_NOTE) else None
    if settled is not None and place != "rod":
        note, why, fall = settled, None, None
    if why is not None or note is None:
        return Why.WHOLE_DRUM if settled is not None and why == Why.NO_NOTE else why or Why.NO_NOTE
    unsure_by = _HARD_UNSURE * fall.depth / CENT if fall is not None else 0.0
    return Tap(
        at_s=float(window.onset.at_s),
        pitch_hz=note.pitch_hz,
        uncertainty_cents=math.hypot(note.uncertainty_cents, unsure_by),
        mode=chosen.mode,
        split_hz=note.split_hz,
        second_hz=_second(window, chosen, note, fall),
        decay_per_s=note.decay,
        snr_db=note.snr_db,
    )


def _unlike_a_drum(window: Window, band: Band, lines: Lines, note: Note, fall: Fall | None) -> str | None:
    """Why what was fitted is no note of a drum, or None."""
    unlike = lines.left > _UNLIKE * lines.power and _unexplained(window, band, lines)
    if unlike or note.snr_db < _LEAST_SNR_DB or not _LEAST_FALL < float(lines.falls[0]) < _MOST_FALL:
        return Why.NO_NOTE
    if note.decay > _MUFFLED and dies(window):
        return Why.MUFFLED
    if fall is not None and note.uncertainty_cents > _USELESS_HARD_CENTS:
        return Why.HARD
    vague = note.uncertainty_cents > _USELESS_CENTS and lines.left > _PLAIN * lines.power
    return Why.NO_NOTE if vague or note.uncertainty_cents >= _NO_NOTE_CENTS else None


def _unexplained(window: Window, band: Band, lines: Lines) -> bool:
    """Whether more of the band's power is left over than the noise that was there before the tap accounts for."""
    count, noise = len(band.values), 0.0
    if len(window.before) > 2.5 * band.width_s * window.rate:
        before = Band(window.before, window.rate, band.centre_hz, band.width_s)
        noise = before.power / len(before.values)
    return lines.left / count - 2 * noise > (_UNLIKE if noise else 2 * _UNLIKE) * lines.power / count


def _of_two_heads(note: Note, peaks: list[Peak]) -> bool:
    """Whether there are more lines than one head's pair has, or they lie too far apart for it.

    A very oval head has a wide first pair too, but its second pair is not as wide.
    """
    parts = zip(note.hz, note.die, note.loud, strict=True)
    loud = sorted((hz, dies) for hz, dies, size in parts if size >= OTHER * max(note.loud))
    apart = loud[-1][0] / loud[0][0]
    misfit = len(loud) == 3 and loud[1][1] > _FASTER * max(loud[0][1], loud[2][1])
    if (len(loud) > 2 and not misfit) or apart > PAIR_APART:
        return True
    seconds = [peak for peak in peaks if SECOND[0] <= peak.hz / note.pitch_hz <= SECOND[1]]
    top = max((peak.db for peak in seconds), default=0.0)
    beside = [peak.hz for peak in seconds if peak.db >= top - 10]
    return apart > _WIDE and len(beside) > 1 and 1 + 0.6 * (apart - 1) < beside[-1] / beside[0] < 1.4 * apart


def _second(window: Window, chosen: Chosen, note: Note, fall: Fall | None) -> float | None:
    """The note of the second pair, roughly fitted; None where none was heard."""
    if chosen.second is None:
        return None
    hz, rate = chosen.second.hz, window.rate
    steady = window.sound if fall is None else unrolled(window.sound, rate, fall)
    band = Band(steady, rate, hz, 6 / hz)
    lines = fitted(band, no_fall(band), most=2, rough=True)
    found = None if lines is None else rough_pitch(band, lines, hz, BEGIN_S)
    near = found is not None and SECOND[0] <= found / note.pitch_hz <= SECOND[1] + 0.05
    return found if near else None
