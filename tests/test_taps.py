"""Taps heard: notes of drums whose truth is known, held to bounds and tables, and every bad recording refused."""

from __future__ import annotations

import math
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import jn_zeros

from bad_taps import BAD, RATE
from benchwalk.errors import UsageError
from benchwalk.notes import note_text
from benchwalk.practice.drum import Drum
from benchwalk.taps import Sound, Tap, hear, read_sound, together
from benchwalk.taps.bands import Band, slim
from benchwalk.taps.falls import Fall, hard_fall, unrolled
from benchwalk.taps.fitting import fitted
from benchwalk.taps.lines import no_fall
from benchwalk.taps.modes import SECOND
from benchwalk.taps.note import COVERS, pair_note
from benchwalk.taps.rings import CENTRES
from benchwalk.taps.spectrum import Spectrum
from benchwalk.taps.words import tap_words, together_words
from drum_taps import ZERO, Head, Part, Samples, in_noise, noise, random_head, ringing, rod_note

SAMPLES = Path("/usr/share/sonic-pi/samples")
BESIDE = (0.85, 0.7)
HEAD = Head(230.0, {1: 0.014, 2: 0.01, 3: 0.01}, {1: 0.3, 2: 0.2, 3: 0.1}, stretch=1.05, decay=7.0)


def cents(hz: float, truth: float) -> float:
    """How far a note lies above another."""
    return 1200 * math.log2(hz / truth)


def recording(head: Head, rate: int, snr_db: float, seed: int, glide: float = 2.0) -> tuple[Samples, float]:
    """One tap beside a rod, and the note that it has."""
    parts = head.parts(BESIDE, BESIDE)
    sound = ringing(parts, rate, 1.0, glide_cents=glide)
    return in_noise(np.random.default_rng(seed), sound, rate, snr_db), rod_note(parts)


def heard_one(sound: Samples, rate: int, **more: object) -> Tap:
    """The one tap of a recording."""
    heard = hear(Sound(sound, rate), **more)  # type: ignore[arg-type]
    assert heard.refused is None and len(heard.taps) == 1 and not heard.left_out, heard
    return heard.taps[0]


# --- notes -----------------------------------------------------------------------------------------------------------


@settings(max_examples=20)
@given(
    f11=st.floats(95, 430),
    split=st.floats(0, 0.02),
    axis=st.floats(0, 3.1),
    decay=st.floats(3, 20),
    rate=st.sampled_from([8000, 22050, 44100, 48000, 96000]),
    seed=st.integers(0, 1000),
)
def test_note_of_any_head_is_right_to_a_few_cents(
    f11: float, split: float, axis: float, decay: float, rate: int, seed: int
) -> None:
    """Whatever head, pair, decay and rate: without a band the first pair is found, and its note lies within 6 cents."""
    head = Head(f11, {1: split, 2: 0.01, 3: 0.008}, {1: axis, 2: 0.4, 3: 1.0}, stretch=1.06, decay=decay)
    sound, truth = recording(head, rate, 45, seed)
    tap = heard_one(sound, rate)
    assert tap.mode == "(1,1)" and abs(cents(tap.pitch_hz, truth)) < 6
    assert abs(tap.at_s - 0.2) < 0.006


def test_error_lies_within_the_uncertainty_that_is_said() -> None:
    """Over many heads and noises at least nine in ten notes lie within what is said of them, and none of it is idle."""
    inside, said = [], []
    for seed in range(30):
        rng = np.random.default_rng(seed)
        parts = random_head(rng).parts(BESIDE, BESIDE)
        tap = heard_one(in_noise(rng, ringing(parts, 44100, 0.8, glide_cents=2), 44100, 30), 44100)
        inside.append(abs(cents(tap.pitch_hz, rod_note(parts))) <= tap.uncertainty_cents)
        said.append(tap.uncertainty_cents)
    assert np.mean(inside) >= 0.88 and np.median(said) < 3


def test_hard_strokes_have_their_note_at_rest() -> None:
    """After strokes that begin 100 to 200 cents sharp, 85 notes in a hundred or more lie within what is said of them.

    Most are told, half of them within 2 cents, and whoever is refused is told to tap softer.
    """
    inside, errors = [], []
    for seed in range(30):
        rng = np.random.default_rng(seed + 900)
        parts = random_head(rng).parts(BESIDE, BESIDE)
        sound = ringing(parts, 44100, 1.2, glide_cents=float(rng.uniform(100, 200)))
        heard = hear(Sound(in_noise(rng, sound, 44100, 30), 44100))
        if heard.refused:
            assert heard.refused.endswith("tap softer, and let it ring for a second")
            continue
        errors.append(abs(cents(heard.taps[0].pitch_hz, rod_note(parts))))
        inside.append(errors[-1] <= heard.taps[0].uncertainty_cents)
    assert len(errors) >= 24 and np.mean(inside) >= 0.85 and np.median(errors) < 2


def test_a_fall_that_is_known_is_found_and_taken_out() -> None:
    """A window whose one line falls by a known law stands still once the fall is taken out; a still one has no fall."""
    rate, fall = 6000.0, Fall(120 * math.log(2) / 1200, 16.0)
    time = np.arange(2520) / rate
    line = np.exp(-8 * time) * np.cos(2 * math.pi * 300 * (time + fall.lead(time)))
    still = np.exp(-8 * time) * np.cos(2 * math.pi * 300 * time)
    found = unrolled(line, rate, fall)[:2515]
    assert float(np.abs(found - still[:2515]).max()) < 1e-3
    guessed = hard_fall(line, rate, Spectrum(line, rate))
    assert guessed is not None and guessed.clear and guessed.depth == pytest.approx(fall.depth, rel=0.1)
    assert hard_fall(still, rate, Spectrum(still, rate)) is None


def test_a_first_pair_far_below_the_others_is_found_by_their_pattern() -> None:
    """28 dB below the second pair the first is the note where the third bears it out; where it is missing, none is."""
    ring = [(250.0, 0.04), (340.0, 1.0), (423.0, 0.9), (505.0, 0.6)]
    parts = [Part(hz, loud, 8.0, -1.5, (1, 1)) for hz, loud in ring]
    rng = np.random.default_rng(11)
    tap = heard_one(in_noise(rng, ringing(parts, 44100, 0.9), 44100, 50), 44100)
    assert abs(cents(tap.pitch_hz, 250)) < 3
    heard = hear(Sound(in_noise(rng, ringing(parts[1:], 44100, 0.9), 44100, 50), 44100))
    assert heard.taps == [] and heard.refused is not None and heard.refused.startswith("the rod note is too faint")


def test_a_first_pair_that_is_a_mere_shoulder_is_found_by_fitting() -> None:
    """On a low head that dies fast the first pair shows as no line beside the louder second: it is told all the same,
    and where it is missing, none is."""
    low, high = ((101.0, 0.022), (138.0, 0.025), (140.5, 0.065)), ((177.0, 0.058), (197.7, 0.084), (254.0, 0.075))
    parts = [Part(hz, loud, 28.0, -1.5, (1, 1)) for hz, loud in (*low, *high, (291.0, 0.07))]
    rng = np.random.default_rng(5)
    tap = heard_one(in_noise(rng, ringing(parts, 48000, 0.9), 48000, 35), 48000)
    assert tap.mode == "(1,1)" and abs(cents(tap.pitch_hz, 101)) < 5
    assert tap.second_hz is not None and abs(cents(tap.second_hz, 140.5)) < 15
    heard = hear(Sound(in_noise(rng, ringing(parts[1:], 48000, 0.9), 48000, 35), 48000))
    assert heard.taps == [] and heard.refused is not None and heard.refused.startswith("the rod note is too faint")


def test_pair_and_second_note_and_decay_are_told() -> None:
    """The pair's distance, the second pair's note and the decay come out as they were put in."""
    sound, _truth = recording(HEAD, 48000, 40, 1)
    tap = heard_one(sound, 48000)
    assert tap.split_hz == pytest.approx(230 * 0.014, abs=0.15)
    second = rod_note(HEAD.parts(BESIDE, BESIDE), (2, 1))
    assert tap.second_hz == pytest.approx(second, abs=0.6)
    assert tap.decay_per_s == pytest.approx(7.0, abs=0.6)
    assert tap.snr_db > 20


def test_note_does_not_depend_on_level_or_sign() -> None:
    """A recording turned down, or turned over, gives the same note."""
    sound, _truth = recording(HEAD, 48000, 40, 2)
    notes = [heard_one(sound * by, 48000).pitch_hz for by in (1.0, 0.01, -1.0)]
    assert max(notes) - min(notes) < 1e-3


def test_a_band_chooses_another_line() -> None:
    """With a band the note is the line in it, and a band with nothing in it is said with what to do."""
    sound, _truth = recording(HEAD, 48000, 40, 3)
    parts = HEAD.parts(BESIDE, BESIDE)
    tap = heard_one(sound, 48000, band=(290, 340))
    assert abs(cents(tap.pitch_hz, rod_note(parts, (2, 1)))) < 6
    heard = hear(Sound(sound, 48000), band=(60, 110))
    assert heard.taps == [] and heard.refused is not None
    assert heard.refused.startswith("nothing rings between 60 and 110 Hz")


def test_open_note_is_the_lowest_and_the_shells_the_loudest() -> None:
    """At the centre the lowest loud line is the note; of a knock on the shell it is the loudest."""
    parts = [Part(180.0, 1.0, 9.0, -1.5, (0, 1)), Part(415.0, 0.9, 9.0, -1.5, (0, 2))]
    rng = np.random.default_rng(4)
    sound = in_noise(rng, ringing(parts, 44100, 0.9), 44100, 40)
    tap = heard_one(sound, 44100, place="centre")
    assert tap.mode == "(0,1)" and abs(cents(tap.pitch_hz, 180)) < 3 and tap.split_hz is None
    parts[0].amplitude = 0.3
    sound = in_noise(rng, ringing(parts, 44100, 0.9), 44100, 40)
    tap = heard_one(sound, 44100, place="shell")
    assert tap.mode == "shell" and abs(cents(tap.pitch_hz, 415)) < 3


@pytest.mark.parametrize("hz", [40.5, 43, 800, 880, 890, 900, 910, 920, 930, 960, 1300, 1800, 1980])
def test_a_soft_note_anywhere_in_reach_is_told_as_it_is(hz: float) -> None:
    """From just above 40 to just below 2000 Hz no soft tap is taken for a hard one, nor for another note."""
    for seed in range(4):
        sound = ringing([Part(hz, 1.0, 8.0, -math.pi / 2, (1, 1))], 48000, 0.9, click=0.2)
        tap = heard_one(in_noise(np.random.default_rng(seed), sound, 48000, 40), 48000)
        assert abs(cents(tap.pitch_hz, hz)) < 15


@pytest.mark.parametrize("rate", [8000, 44100, 96000])
@pytest.mark.parametrize("hz", [25, 30, 36, 39, 2050, 2300, 2500, 3000, 3500, 8000])
def test_what_rings_out_of_reach_is_refused_as_that(hz: float, rate: int) -> None:
    """A note below 40 or above 2000 Hz is never told as another that lies within, and the reason names it."""
    if hz > 0.45 * rate:
        return
    for seed in range(4):
        sound = ringing([Part(hz, 1.0, (3.0, 8.0, 20.0)[seed % 3], -math.pi / 2, (1, 1))], rate, 0.9, click=0.2)
        heard = hear(Sound(in_noise(np.random.default_rng(seed), sound, rate, (30, 50)[seed % 2]), rate))
        assert heard.taps == [] and heard.refused is not None
        assert "the notes that are told, 40 to 2000 Hz" in heard.refused
        said = float(heard.refused.removeprefix("it rings at ").partition(" ")[0])
        assert said == pytest.approx(hz, abs=1.5)


def test_a_room_that_rumbles_or_a_louder_line_out_of_reach_does_not_hide_a_note() -> None:
    """A steady rumble louder than the tap, and a ping above 2000 Hz that is as loud as the note, leave it told; any
    louder one does so where the band is known, and is refused where it is not."""
    sound, truth = recording(HEAD, 44100, 50, 8)
    time = np.arange(len(sound)) / 44100
    top = np.abs(sound).max()
    rumble = 8 * top * np.sin(2 * math.pi * 27 * time)
    (tap,) = hear(Sound(sound + rumble, 44100)).taps
    assert abs(cents(tap.pitch_hz, truth)) < 10
    ping = ringing([Part(2300.0, 1.0, 6.0, -math.pi / 2, (4, 1))], 44100, 1.0)
    assert abs(cents(heard_one(sound + 0.5 * top * ping, 44100).pitch_hz, truth)) < 10
    loud = heard_one(sound + 12 * top * ping, 44100, band=(0.8 * truth, 1.22 * truth))
    assert abs(cents(loud.pitch_hz, truth)) < 10
    assert hear(Sound(sound + 12 * top * ping, 44100)).taps == []


def test_a_line_without_company_is_not_called_the_rod_note() -> None:
    """Where nothing bears out which line it is, the mode is left open and the words say so."""
    sound = in_noise(np.random.default_rng(5), ringing([Part(200, 1.0, 6.0, 0.0, (1, 1))], 44100, 0.9), 44100, 45)
    tap = heard_one(sound, 44100)
    assert tap.mode is None and "may not be the rod note" in tap_words(tap, "rod")


def test_several_taps_are_heard_each_and_together() -> None:
    """Every tap of a recording is told with its time, and all together are surer than the worst of them."""
    rng = np.random.default_rng(6)
    parts = HEAD.parts(BESIDE, BESIDE)
    one = ringing(parts, 44100, 0.9, glide_cents=2)
    sound = in_noise(rng, np.concatenate([one, 0.7 * one, 0.9 * one]), 44100, 35)
    heard = hear(Sound(sound, 44100))
    assert [round(tap.at_s, 2) for tap in heard.taps] == [0.2, 1.1, 2.0]
    joint = together(heard.taps)
    assert joint is not None and joint.count == 3
    assert abs(cents(joint.pitch_hz, rod_note(parts))) <= joint.uncertainty_cents
    assert together([]) is None and together(heard.taps[:1]).count == 1  # type: ignore[union-attr]


def test_a_bad_tap_among_good_ones_is_left_out_with_its_reason() -> None:
    """Good taps are kept where another of the recording gives none; that one is told with its reason."""
    parts = HEAD.parts(BESIDE, BESIDE)
    one = ringing(parts, 44100, 0.9, click=0.3)
    sound = in_noise(np.random.default_rng(7), np.concatenate([one, one, one])[: round(2.1 * 44100)], 44100, 40)
    heard = hear(Sound(sound, 44100))
    assert heard.refused is None and len(heard.taps) == 2
    assert [left.why.split(":")[0] for left in heard.left_out] == ["the recording ends too soon after the tap"]


def test_a_hum_beside_the_note_does_not_move_it() -> None:
    """A motor that runs all through a good recording is heard for what it is."""
    sound, truth = recording(HEAD, 44100, 50, 8)
    time = np.arange(len(sound)) / 44100
    loud = 0.4 * np.abs(sound).max() * np.sin(2 * math.pi * 100 * time)
    assert abs(cents(heard_one(sound + loud, 44100).pitch_hz, truth)) < 3


def test_rings_by_third_octave_when_asked() -> None:
    """Asked for, each third octave has its time for 60 dB (6.908 / d) and its level; else they cost nothing."""
    parts = [Part(630.0, 1.0, 8.0, 0.0, (0, 1)), Part(200.0, 0.5, 5.0, 0.0, (1, 1))]
    sound = ringing(parts, 48000, 2.0) + 1e-6 * noise(np.random.default_rng(9), 96000, 48000)
    tap = heard_one(sound, 48000, place="centre", full=True)
    assert tap.rings is not None and tap.levels is not None
    assert tap.rings[630.96] == pytest.approx(6.908 / 8, rel=0.05)
    assert tap.rings[199.53] == pytest.approx(6.908 / 5, rel=0.05)
    assert max(tap.levels.values()) == 0.0 and tap.levels[630.96] == 0.0
    assert heard_one(sound, 48000, place="centre").rings is None


def test_a_third_octave_of_noise_alone_has_no_ring() -> None:
    """Where 25 dB do not stand clear of the noise no time is told, whatever the noise happens to add up to."""
    parts = [Part(200.0, 0.5, 8.0, 0.0, (1, 1))]
    for seed in range(6):
        sound = in_noise(np.random.default_rng(seed), ringing(parts, 48000, 1.2), 48000, 30)
        rings = heard_one(sound, 48000, place="centre", full=True).rings
        assert rings is not None and rings[199.53] == pytest.approx(6.908 / 8, rel=0.1)
        assert [rings[name] for name in (1584.89, 1995.26, 2511.89, 3162.28)] == [None] * 4


# --- outside checks --------------------------------------------------------------------------------------------------


def test_zeros_and_ratios_are_those_of_the_tables() -> None:
    """Zeros of Bessel functions and the ratio of the second pair to the first: Abramowitz and Stegun, table 9.5."""
    table = {(0, 1): 2.404826, (1, 1): 3.831706, (2, 1): 5.135622, (0, 2): 5.520078, (3, 1): 6.380162}
    for (m, n), zero in table.items():
        assert ZERO[m, n] == pytest.approx(zero, abs=1e-6) == float(jn_zeros(m, n)[-1])
    assert SECOND[0] < ZERO[2, 1] / ZERO[1, 1] < SECOND[1]
    assert ZERO[1, 1] / ZERO[0, 1] == pytest.approx(1.5933, abs=1e-4)
    assert not SECOND[0] <= ZERO[1, 1] / ZERO[0, 1] <= SECOND[1], "the open note is not taken for the rod note"


def test_third_octaves_are_those_of_the_standard() -> None:
    """Exact centres in base ten (IEC 61260-1): 125.89, 630.96, 794.33, 1258.93 Hz."""
    assert {125.89, 630.96, 794.33, 1258.93} <= {round(centre, 2) for centre in CENTRES}


def test_notes_are_equally_tempered() -> None:
    """A3 is 220 Hz and C4 261.6256 Hz (A4 = 440 Hz, ISO 16), also where a tap says so."""
    for hz, name in ((220.0, "A3"), (261.6256, "C4")):
        parts = [Part(hz, 1.0, 6.0, 0.0, (0, 1))]
        sound = in_noise(np.random.default_rng(10), ringing(parts, 48000, 0.9), 48000, 60)
        tap = heard_one(sound, 48000, place="centre")
        from fractions import Fraction

        assert note_text(Fraction(round(tap.pitch_hz * 1000), 1000)) == name


def cramer_rao(hz: float, decay: float, sigma: float, rate: int, begin: float, end: float) -> float:
    """The least standard deviation (Hz) of a decaying sine's frequency: the inverse of the Fisher matrix, in numbers.

    Parameters: frequency, decay, amplitude 1, phase 0, at 0; white noise of `sigma` a sample; seen from begin to end.
    """
    time = np.arange(begin, end, 1 / rate)
    ring = np.exp(-decay * time)
    wave, turned = ring * np.cos(2 * math.pi * hz * time), ring * np.sin(2 * math.pi * hz * time)
    slopes = np.stack([-2 * math.pi * time * turned, -time * wave, wave, -turned])
    return float(math.sqrt(np.linalg.inv(slopes @ slopes.T / sigma**2)[0, 0]))


def test_frequency_comes_near_the_least_possible_scatter() -> None:
    """One decaying sine in white noise: the scatter is at least 0.85 and at most 1.35 of the Cramer-Rao bound.

    The bound is computed in numbers, and agrees with 16 d^3 s^2 / (4 pi^2 A^2 fs) for a long record.
    """
    hz, decay, sigma, rate = 220.0, 12.0, 0.02, 8000
    long = math.sqrt(16 * decay**3 * sigma**2 / (4 * math.pi**2 * rate))
    assert cramer_rao(hz, decay, sigma, rate, 0.0, 3.0) == pytest.approx(long, rel=0.01)
    bound = cramer_rao(hz, decay, sigma, rate, 0.0, 0.42)
    time = np.arange(round(0.42 * rate)) / rate
    found, said = [], []
    for seed in range(200):
        noisy = np.exp(-decay * time) * np.cos(2 * math.pi * hz * time + seed)
        noisy += np.random.default_rng(seed).normal(0, sigma, len(time))
        band = Band(noisy, rate, 221.0, 4 / 221)
        lines = fitted(band, no_fall(band), most=1)
        assert lines is not None
        note = pair_note(band, lines, 221.0, 0.0)
        assert note is not None
        found.append(note.pitch_hz - hz)
        said.append(note.uncertainty_cents)
    assert 0.85 * bound <= float(np.std(found)) <= 1.35 * bound
    assert abs(float(np.mean(found))) < 0.2 * bound
    standard = float(np.median(said)) / COVERS * math.log(2) / 1200 * hz
    assert 0.7 * bound < standard < 1.6 * bound, "what is said of the scatter is of its size"


def test_slimming_keeps_notes_and_drops_what_would_fold() -> None:
    """At the slim rate a 300 Hz wave is as it was, and one at 5 kHz is gone by 60 dB."""
    for rate in (44100, 48000, 192000):
        time = np.arange(rate) / rate
        low, slim_rate = slim(np.sin(2 * math.pi * 300 * time), rate)
        middle = low[500:-500]
        exact = np.sin(2 * math.pi * 300 * (np.arange(len(low)) / slim_rate))[500:-500]
        assert float(np.abs(middle - exact).max()) < 0.01
        high, _rate = slim(np.sin(2 * math.pi * 5000 * time), rate)
        assert float(np.abs(high[500:-500]).max()) < 1e-3


# --- refusals --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [name for name in BAD if name != "the other head"])
def test_bad_recording_is_refused_with_reason_and_cure(name: str) -> None:
    """Each way a recording goes wrong gives no note, ever, and mostly its own reason; a cure follows each."""
    make, words = BAD[name]
    heard = [hear(Sound(make(np.random.default_rng(seed)), RATE)) for seed in range(8)]
    assert [one.taps for one in heard] == [[]] * 8
    said = [one.refused or "" for one in heard]
    assert sum(words in one for one in said) >= 6, said
    assert all(":" in one and "!" not in one and len(one) < 200 for one in said)


def test_two_taps_close_are_refused() -> None:
    """A second stroke with its click 100 ms after the first is not read as one tap."""
    one = ringing(HEAD.parts(BESIDE, BESIDE), 44100, 1.0, click=0.5)
    sound = in_noise(np.random.default_rng(1), one + np.roll(one, 4410), 44100, 40)
    heard = hear(Sound(sound, 44100))
    assert heard.taps == [] or heard.taps[0].at_s > 0.25
    assert heard.refused or heard.left_out


@pytest.mark.parametrize("base", [110.0, 196.0, 392.0])
def test_a_string_is_no_drum(base: float) -> None:
    """Partials in whole numbers are those of a string or a voice; they give no rod note, and the reason says so."""
    rng = np.random.default_rng(3)
    parts = [Part(base * n, 0.8**n, 2.0 + n, float(rng.uniform(0, 6)), (9, n)) for n in range(1, 8)]
    heard = hear(Sound(in_noise(rng, ringing(parts, RATE, 1.2), RATE, 35), RATE))
    assert not heard.taps
    assert "string or a voice" in (heard.refused or "")


@pytest.mark.parametrize("head", ["batter", "snare-side"])
def test_a_pad_on_the_head_that_is_tapped_is_told(head: str) -> None:
    """What is struck dies at once and the other head rings on, whose note is none of this one: of taps on practice
    drums, which share nothing with the ear, few pass."""
    refused: list[str] = []
    for seed in range(6):
        drum = Drum(rods=6, seed=seed)
        for each in drum.heads:
            drum.bring_up(each, 1.5)
        drum.damp(head)
        heard = [hear(Sound(drum.tap(head, rod).sound(48000), 48000)) for rod in (1, 3, 5)]
        refused += [one.refused or "" for one in heard if not one.taps]
    assert len(refused) >= 15, refused
    assert sum("lay the pad on the other head" in why for why in refused) >= 9


def test_the_other_head_ringing_is_refused() -> None:
    """A second pair of lines near the first is the other head, and the cure is to damp it."""
    other = Head(205.0, {1: 0.012}, {1: 1.0}, stretch=1.05, decay=7.0)
    parts = HEAD.parts(BESIDE, BESIDE) + other.parts(BESIDE, BESIDE)
    heard = hear(Sound(in_noise(np.random.default_rng(2), ringing(parts, 44100, 1.0), 44100, 40), 44100))
    assert heard.taps == []
    assert heard.refused == "the other head rings: damp it with a pad or a folded cloth, and tap again"


def test_good_recordings_are_not_refused() -> None:
    """No tap of thirty random heads in a quiet room is refused, nor is its note another mode's."""
    for seed in range(30):
        rng = np.random.default_rng(seed + 500)
        parts = random_head(rng).parts(BESIDE, BESIDE)
        tap = heard_one(in_noise(rng, ringing(parts, 44100, 0.8, glide_cents=3), 44100, 30), 44100)
        assert abs(cents(tap.pitch_hz, rod_note(parts))) < 60


@pytest.mark.parametrize("band", [(0, 100), (300, 200), (100, 100), (math.nan, 200), (100, math.inf), (100, 9000)])
def test_a_band_that_is_none_is_usage(band: tuple[float, float]) -> None:
    """A band whose ends are turned round, equal, no numbers or out of reach is said to be none."""
    with pytest.raises(UsageError, match="a band is two frequencies, the lower first"):
        hear(Sound(np.zeros(1000), 44100), band=band)


def test_an_unknown_place_is_usage() -> None:
    """A place that is none of the three is said with the three."""
    with pytest.raises(UsageError, match="rod, centre, shell"):
        hear(Sound(np.zeros(1000), 44100), place="rim")


@pytest.mark.parametrize("count", [0, 1, 2, 50, 2000])
def test_scraps_of_sound_are_refused_without_a_fault(count: int) -> None:
    """However little there is of a recording, silent or not, the answer is a sentence."""
    for samples in (np.zeros(count), np.ones(count), np.random.default_rng(0).normal(size=count)):
        heard = hear(Sound(samples, 44100))
        assert heard.taps == [] and heard.refused


# --- real drums ------------------------------------------------------------------------------------------------------

real = pytest.mark.skipif(not SAMPLES.is_dir(), reason="the package sonic-pi-samples is not installed")


@pytest.mark.parametrize("hz", [41, 45, 50, 55, 60])
@pytest.mark.parametrize("seconds", [0.155, 0.17, 0.2])
def test_a_low_note_that_is_cut_off_soon_is_no_fault(hz: float, seconds: float) -> None:
    """Where a few turns of a low note are all there is, the answer is a note or a sentence, whatever is asked for."""
    parts = [Part(hz * by, loud, 6.0, -1.5, (1, 1)) for by, loud in ((1, 1.0), (1.01, 0.4), (1.4, 0.6), (1.75, 0.3))]
    sound = in_noise(np.random.default_rng(1), ringing(parts, 48000, 0.9), 48000, 40)[: round((0.2 + seconds) * 48000)]
    for place in ("rod", "centre"):
        for band in (None, (40.0, 200.0)):
            heard = hear(Sound(sound, 48000), band=band, place=place)
            assert heard.taps or heard.refused


@real
def test_real_tabla_strokes_have_their_notes() -> None:
    """Recorded strokes of Debian's sonic-pi-samples: tun1 314.6 Hz and na_o 311.7 Hz, within 3 cents."""
    for name, hz in (("tabla_tun1", 314.6), ("tabla_na_o", 311.7)):
        heard = hear(read_sound(SAMPLES / f"{name}.flac"), place="centre")
        assert len(heard.taps) == 1 and abs(cents(heard.taps[0].pitch_hz, hz)) < 3
        assert heard.taps[0].uncertainty_cents < 2


@real
def test_real_toms_tapped_anywhere_give_no_rod_note() -> None:
    """Toms struck in the middle, no finger on them: where a rod note is wanted the reason is the drum's, not noise."""
    names = [f"drum_tom_{size}_{how}" for size in ("hi", "lo") for how in ("hard", "soft")]
    for name in names:
        heard = hear(read_sound(SAMPLES / f"{name}.flac"))
        assert heard.refused is not None and heard.refused.split(",")[0] in ("struck too hard", "the whole drum rings")


@real
def test_real_toms_stand_in_order_and_repeat() -> None:
    """Three recorded toms: high over middle over low, and a hard and a soft stroke within 15 cents of each other."""
    notes = {}
    for size in ("hi", "mid", "lo"):
        pair = [hear(read_sound(SAMPLES / f"drum_tom_{size}_{how}.flac"), place="centre") for how in ("hard", "soft")]
        assert all(heard.refused is None for heard in pair)
        hard, soft = (heard.taps[0].pitch_hz for heard in pair)
        assert abs(cents(hard, soft)) < 15
        notes[size] = hard
    assert notes["hi"] > notes["mid"] * 1.1 > notes["lo"] * 1.2


# --- imports ---------------------------------------------------------------------------------------------------------


def test_importing_taps_loads_no_numerics() -> None:
    """The package's door is light: numpy and soundfile are loaded when something is heard."""
    code = "import sys, benchwalk.taps, benchwalk.taps.words; print({'numpy', 'soundfile', 'scipy'} & set(sys.modules))"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "set()"


@pytest.mark.parametrize(
    ("split", "says"),
    [(0.1, "0.1 Hz apart, a beat in 10 s"), (1.0, "1.0 Hz apart, 1 beat a second"), (3.2, "3.2 Hz apart, 3 beats a")],
)
def test_beats_are_said_as_an_ear_would_count_them(split: float, says: str) -> None:
    """A pair that hardly differs beats once in some seconds, and not once a second."""
    assert f"the pair is {says}" in tap_words(Tap(0.5, 220.0, 3.0, "(1,1)", split, None, 8.0, 40.0), "rod")


@pytest.mark.parametrize(
    ("notes", "unsure", "apart"), [((220, 231, 221), 1.0, 84), ((220, 231), 40.0, 0), ((220, 223), 1.0, 0)]
)
def test_taps_that_are_of_two_places_make_no_one_note(notes: tuple[float, ...], unsure: float, apart: int) -> None:
    """Taps farther apart than a hand at one rod and their own doubt make them are told as that, without a mean that
    nobody tapped."""
    taps = [Tap(0.5, hz, unsure, "(1,1)", None, None, 8.0, 40.0) for hz in notes]
    joint = together(taps)
    assert joint is not None
    said = together_words(joint, "rod", taps)
    one = f"{len(notes)} taps together: rod note"
    assert said.startswith(f"the taps lie up to {apart} cents apart" if apart else one)
    assert ("Hz" in said) is not bool(apart)


@pytest.mark.parametrize(("modes", "called"), [([None, None], "a note"), ([None, "(1,1)"], "rod note")])
def test_taps_together_are_called_no_surer_than_each(modes: list[str | None], called: str) -> None:
    """Where no tap shows which note it is, all of them together are not called the rod note either."""
    taps = [Tap(0.5, 220.0, 3.0, mode, None, None, 8.0, 40.0) for mode in modes]
    joint = together(taps)
    assert joint is not None
    assert together_words(joint, "rod", taps).startswith(f"2 taps together: {called} 220.0 Hz")
