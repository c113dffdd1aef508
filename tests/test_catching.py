"""Cutting single taps out of sound as it comes in, without a microphone."""

from __future__ import annotations

import numpy as np
import pytest

from benchwalk.taps.catching import FULL_SCALE, Catcher, one_channel, peak_db
from benchwalk.taps.facts import SILENT_DB
from sound_server import RATE, Samples, in_a_room, tap_sound


def whole(sound: Samples) -> np.ndarray:
    """As a microphone gives it: 24 bits in 32."""
    return one_channel(np.round(np.clip(sound, -1, 1) * (FULL_SCALE - 256)).astype(np.int32).tobytes(), 1)


def cuts_of(sound: Samples, block: int = 882, rate: int = RATE) -> list[np.ndarray]:
    """What is cut out of a sound that comes in by blocks of this size."""
    catcher, samples = Catcher(rate), whole(sound)
    return [cut for n in range(0, len(samples), block) for cut in catcher.take(samples[n : n + block])]


def stroke_in(cut: np.ndarray) -> float:
    """Seconds from the begin of a cut to where it is first a third as loud as at its loudest."""
    return int(np.argmax(np.abs(cut) > np.abs(cut).max() / 3)) / RATE


@pytest.mark.parametrize("noise", [1e-5, 1e-4, 3e-3, 1e-2])
def test_each_tap_is_cut_out_once_from_before_its_stroke(noise: float) -> None:
    """Three taps in a room, however noisy, give three cuts that begin 0.2 s before the stroke and hold its ring."""
    cuts = cuts_of(in_a_room(tap_sound(180), tap_sound(230), tap_sound(310), noise=noise))
    assert len(cuts) == 3
    assert [stroke_in(cut) for cut in cuts] == pytest.approx([0.2] * 3, abs=0.012)
    assert all(0.4 <= len(cut) / RATE <= 0.81 for cut in cuts)


def test_cuts_hold_the_very_samples_that_came_in() -> None:
    """A cut is a piece of the sound, bit for bit and without a gap, in whatever blocks that came."""
    sound = in_a_room(tap_sound(200), tap_sound(250, decay=12))
    cuts = cuts_of(sound)
    data = whole(sound).tobytes()
    assert len(cuts) == 2 and all(cut.tobytes() in data for cut in cuts)
    for block in (17, 221, 4096, len(sound)):
        assert [cut.tobytes() for cut in cuts_of(sound, block)] == [cut.tobytes() for cut in cuts]


def test_short_ring_is_cut_when_it_ends() -> None:
    """A tap that has died away is handed on before the longest time is over."""
    [cut] = cuts_of(in_a_room(tap_sound(300, decay=40)))
    assert len(cut) / RATE < 0.6


def test_stroke_into_a_ring_begins_a_new_cut() -> None:
    """A second tap while the first still rings ends the first cut before it, and neither overlaps the other."""
    first, second = tap_sound(200, seconds=0.35, decay=8), tap_sound(260)
    sound = in_a_room(np.concatenate([first, second]))
    cuts = cuts_of(sound)
    assert len(cuts) == 2
    ends = whole(sound).tobytes().index(cuts[0].tobytes()) // 4 + len(cuts[0])
    assert 0.735 < ends / RATE <= 0.75, "none of the second stroke, and no more of the ring than that"
    assert (cuts[0].tobytes() + cuts[1].tobytes()) in whole(sound).tobytes()
    assert stroke_in(cuts[1]) < 0.02


def test_quick_double_stroke_stays_in_one_cut() -> None:
    """Two strokes within a fifth of a second come as one cut: what becomes of it is for the analysis to say."""
    double = np.concatenate([tap_sound(200, seconds=0.08, decay=40), tap_sound(200)])
    assert len(cuts_of(in_a_room(double))) == 1


@pytest.mark.parametrize("rate", [8000, 48000, 96000])
def test_any_rate_will_do(rate: int) -> None:
    """A tap is cut out at any rate a microphone may have."""
    at = np.arange(rate) / rate
    ring = 0.2 * np.exp(-8 * at) * np.sin(2 * np.pi * 210 * at)
    noise = 1e-4 * np.random.default_rng(3).standard_normal(2 * rate)
    noise[rate:] += ring
    [cut] = cuts_of(noise, block=rate // 50, rate=rate)
    assert 0.5 < len(cut) / rate <= 0.81


def test_offset_of_a_sound_card_is_no_sound() -> None:
    """A tap is cut out where the sound card adds something to every sample, as many do."""
    assert len(cuts_of(0.4 + in_a_room(tap_sound(220)))) == 1


def test_no_stroke_no_cut() -> None:
    """Steady noise, hum, an offset, a swell, silence, its last bits and the click of opening are no strokes."""
    at = np.arange(RATE * 3) / RATE
    hiss = np.random.default_rng(8).standard_normal(len(at))
    hum = 0.2 * np.sin(2 * np.pi * 50 * at)
    assert cuts_of(0.05 * hiss) == []
    assert cuts_of(hum + 0.001 * hiss) == []
    assert cuts_of(0.4 + 0.0005 * hiss) == []
    assert cuts_of(0.1 * hiss * np.minimum(1, at / 2) ** 2) == []
    assert cuts_of(0 * at) == []
    assert cuts_of(in_a_room(tap_sound(220, loud=1e-5), noise=0)) == []
    assert cuts_of(0.001 * hiss + 0.3 * (np.abs(at - 0.05) < 0.001)) == []


def test_lost_samples_are_never_cut_over() -> None:
    """Where samples were lost a ringing tap is given up and that is said; the next tap is cut as ever."""
    samples = whole(in_a_room(tap_sound(200), tap_sound(240)))
    catcher = Catcher(RATE)
    lost, again = round(RATE * 0.55), round(RATE * 1.83)  # the first tap rings from 0.4 s, the second from 1.9 s
    assert catcher.take(samples[:lost]) == [] and catcher.forget()
    [cut] = catcher.take(samples[again:])
    assert cut.tobytes() in samples[again:].tobytes()
    assert not catcher.forget(), "no tap was ringing any more"


def test_level_is_that_of_the_loudest_sample() -> None:
    """Full scale is 0 dB, a tenth of it -20 dB, and zeros alone are told apart from the quietest sound."""
    assert peak_db(np.array([0, -(2**31), 5], np.int32)) == pytest.approx(0)
    assert peak_db(np.array([3, 2**31 // 10], np.int32)) == pytest.approx(-20, abs=0.01)
    assert peak_db(np.zeros(9, np.int32)) == SILENT_DB
    assert peak_db(np.array([256], np.int32)) == pytest.approx(-138.5, abs=0.1)


def test_two_channels_become_their_mean() -> None:
    """Of a sound card with two channels the mean is taken, with 24 bits as they are kept."""
    both = np.array([[256 * 100, 256 * 300], [-256 * 7, -256 * 7]], np.int32)
    assert one_channel(both.tobytes(), 2).tolist() == [256 * 200, -256 * 7]
    assert one_channel(np.array([1000], np.int32).tobytes(), 1).tolist() == [768]
