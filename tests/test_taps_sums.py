"""What the analysis of taps works out in closed form or all at once, held to the plain sums that it stands for."""

from __future__ import annotations

import math

import numpy as np
import pytest

from benchwalk.taps.bands import Band, _low_pass, pieces, slim
from benchwalk.taps.falls import Fall, _Judged, clock, hard_fall, unrolled
from benchwalk.taps.lines import Lines, no_fall, poles_of, subspace
from benchwalk.taps.note import _mean, _members, _slopes
from benchwalk.taps.onsets import _clicks, _high_pass
from benchwalk.taps.spectrum import Spectrum

RATE = 6000.0


def rung(seed: int = 1) -> Band:
    """The band of two lines 2 Hz apart in some noise."""
    rng = np.random.default_rng(seed)
    time = np.arange(2520) / RATE
    wave = sum(np.exp(-decay * time) * np.cos(2 * math.pi * hz * time) for hz, decay in ((211.0, 6.0), (213.0, 8.0)))
    return Band(wave + rng.normal(0, 0.01, len(time)), RATE, 212.0, 4 / 212)


def test_pieces_are_the_slices_one_by_one() -> None:
    """Each row holds the values from its place on; where there are too few values there is no row."""
    values = np.arange(23.0)
    assert (pieces(values[1:], 5, 3) == [values[1 + k : 6 + k] for k in range(0, 18, 3)]).all()
    assert (pieces(values[::2], 4) == [values[::2][k : k + 4] for k in range(9)]).all()
    assert pieces(values[:4], 5).shape == (0, 5)


@pytest.mark.parametrize(("rate", "count"), [(48000, 1), (48000, 13), (48000, 40001), (44100, 30000), (96000, 17)])
def test_slimming_is_the_plain_filter(rate: int, count: int) -> None:
    """Each new sample is the low-pass laid on the old ones without their mean, across blocks and at both ends."""
    sound = np.random.default_rng(3).normal(1.0, 1.0, count)
    factor = rate // 6000
    plain = np.convolve(sound - sound.mean(), _low_pass(factor).ravel()[: 16 * factor + 1])[8 * factor :]
    assert slim(sound, rate)[0] == pytest.approx(plain[:count:factor], abs=1e-12)


@pytest.mark.parametrize("count", [64, 65, 1000, 1023])
def test_clicks_are_the_plain_filter(count: int) -> None:
    """Many places filtered at once are those filtered one by one, the sound turned over at both its ends."""
    sound, kernel = np.random.default_rng(4).normal(size=count), _high_pass(RATE)[:31, 0]
    around = np.pad(sound, 15, mode="reflect", reflect_type="odd")
    assert _clicks(sound, RATE) == pytest.approx(np.convolve(around, kernel, "valid"), abs=1e-12)


def test_gain_of_a_band_is_the_sum_over_its_window() -> None:
    """What the filter does to a decaying line is the sum of its window times the line, for any decay and any offset."""
    band = rung()
    length = round(band.width_s * RATE)
    at = (np.arange(length) - length // 2) / RATE
    hann = np.hanning(length + 2)[1:-1]
    rng = np.random.default_rng(2)
    poles = -rng.uniform(-10, 400, 50) + 2j * math.pi * rng.uniform(-150, 150, 50)
    poles[0] = 0
    assert band.gain(poles) == pytest.approx(np.exp(np.outer(poles, at)) @ hann / hann.sum(), rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("count", range(1, 7))
def test_poles_are_those_of_least_squares(count: int) -> None:
    """However many lines: the closed form turns the directions as a least-squares fit of them does."""
    band = rung()
    directions, _ = subspace(band.values, 6)
    part = directions[:, :count]
    plain = np.linalg.eigvals(np.linalg.lstsq(part[:-1], part[1:], rcond=None)[0])
    found = np.exp(poles_of(directions, count, band.rate) / band.rate)
    assert np.sort_complex(found) == pytest.approx(np.sort_complex(plain), rel=1e-8)


def test_slopes_of_the_mean_are_those_of_small_steps() -> None:
    """How a pair's mean moves with each number of its lines, two of which are one member, by differences."""
    hz, decays = np.array([211.0, 212.0, 216.0, 290.0]), np.array([5.0, 7.0, 6.0, 9.0])
    values = np.array([1 + 0.2j, 0.3 - 0.5j, -0.4 + 0.6j, 0.2j])
    falling = no_fall(rung())

    def mean(numbers: np.ndarray) -> float:
        parts = numbers.reshape(4, 4)
        return _mean(_members(lines(parts[0], parts[1], parts[2] + 1j * parts[3]), [0, 1, 2], 0.03))

    def lines(hz: np.ndarray, decays: np.ndarray, values: np.ndarray) -> Lines:
        return Lines(hz, decays, values, np.abs(values), np.zeros(0), 0.0, 1.0, 0.0, falling)

    now = lines(hz, decays, values)
    members = _members(now, [2, 0, 1], 0.03)
    assert [sorted(member.places) for member in members] == [[0, 1], [2]]
    numbers, step = np.concatenate([hz, decays, values.real, values.imag]), 1e-5
    plain = [(mean(numbers + step * each) - mean(numbers - step * each)) / (2 * step) for each in np.eye(16)]
    assert _slopes(now, members, _mean(members), 0.03) == pytest.approx(np.array(plain), abs=1e-6)


def test_a_clock_reads_cubics_through_four_samples() -> None:
    """A window that is itself a cubic is read between its samples as it is, but for the loudness that is held."""
    fall, time = Fall(0.02, 16.0), np.arange(600) / RATE
    cubic = 1 + 20 * time - 300 * time**2 + 1500 * time**3
    at, even = clock(len(time), RATE, fall)
    wanted = (1 + 20 * at - 300 * at**2 + 1500 * at**3) * np.exp(fall.decay / 2 * (at - even))
    assert unrolled(cubic, RATE, fall) == pytest.approx(wanted, rel=1e-9)


def test_falls_judged_all_at_once_are_judged_as_each() -> None:
    """Many falls tried at once on a window come out as one by one, and the window as it stands as by no fall."""
    rng = np.random.default_rng(5)
    window = np.exp(-8 * np.arange(2500) / RATE) * rng.normal(size=2500)
    judged, falls = _Judged(window, RATE), (Fall(0.02, 16.0), Fall(-0.1, 8.0), Fall(0.2, 70.0))
    assert judged.all_of(falls) == pytest.approx([judged(fall) for fall in falls], rel=1e-9)
    assert judged.standing(Spectrum(window, RATE)) == pytest.approx(judged(Fall(1e-12, 16.0)), rel=1e-2)


@pytest.mark.parametrize(("depth", "decay"), [(0.06, 16.0), (0.2, 34.0), (0.27, 39.0)])
def test_a_fall_is_found_to_the_deepest_that_counts(depth: float, decay: float) -> None:
    """Three lines that fall alike: the search ends near their fall, also where it must come back from the deepest."""
    fall, time = Fall(depth, decay), np.arange(2520) / RATE
    ahead = time + fall.lead(time)
    window = sum(np.exp(-7 * time) * np.cos(2 * math.pi * hz * ahead) for hz in (230.0, 310.0, 395.0))
    found = hard_fall(window, RATE, Spectrum(window, RATE))
    assert found is not None and found.clear
    assert found.depth / found.decay == pytest.approx(depth / decay, rel=0.1)
