"""What is taken over of a tap: the note as typed, and its recording as a file that a job keeps."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import soundfile

from benchwalk.errors import Failure, UsageError
from benchwalk.plaindata import changed
from benchwalk.quantities import parse_heard
from benchwalk.taps import Tap, Together, hear, read_sound
from benchwalk.taps.catching import Samples
from benchwalk.taps.ear_process import recorded
from benchwalk.taps.take import as_typed, take_file
from shop_helpers import begin, fresh_shop
from sound_server import RATE, in_a_room, tap_sound

TAP = Tap(0.2, 219.8449, 0.5501, "(1,1)", 1.2, 301.2, 6.0, 40.0)


@pytest.mark.parametrize(
    ("heard", "text"),
    [
        (TAP, "219.84 Hz ±0.6c second 301.20 Hz"),
        (changed(TAP, second_hz=None), "219.84 Hz ±0.6c"),
        (changed(TAP, uncertainty_cents=0.6), "219.84 Hz ±0.6c second 301.20 Hz"),
        (changed(TAP, uncertainty_cents=0.61), "219.84 Hz ±0.7c second 301.20 Hz"),
        (changed(TAP, uncertainty_cents=0.001), "219.84 Hz ±0.1c second 301.20 Hz"),
        (changed(TAP, uncertainty_cents=12.0), "219.84 Hz ±12.0c second 301.20 Hz"),
        (changed(TAP, uncertainty_cents=math.inf, second_hz=None), "219.84 Hz"),
        (changed(TAP, uncertainty_cents=math.nan, pitch_hz=80.0), "80.00 Hz second 301.20 Hz"),
        (Together(219.8449, 0.34, 3), "219.84 Hz ±0.4c"),
    ],
)
def test_note_is_written_as_somebody_would_type_it(heard: Tap | Together, text: str) -> None:
    """Hz to hundredths, the uncertainty never said smaller than it is, and only what is known; the walk reads it so."""
    assert as_typed(heard) == text
    read = parse_heard(text)
    assert float(read.value) == pytest.approx(heard.pitch_hz, abs=0.005)
    assert (read.sure is None) == ("±" not in text)
    assert read.sure is None or heard.uncertainty_cents - 1e-3 <= read.sure <= heard.uncertainty_cents + 0.1
    assert (read.second is None) == ("second" not in text)


def samples(hz: float) -> Samples:
    """A tap of an invented drum, 24 bits in 32."""
    return np.round(in_a_room(tap_sound(hz)) * 2**23).astype(np.int32) * np.int32(256)


def test_file_of_a_take_holds_its_recordings_bit_for_bit() -> None:
    """One recording or several, one after the other: the file has the very samples, in 24 bits, and is gone after."""
    first, second = samples(210), samples(260)
    one, other = recorded(first, RATE), recorded(second, RATE)
    assert one.seconds == pytest.approx(len(first) / RATE)
    for taken, wanted in (([one], first), ([one, other], np.concatenate([first, second]))):
        with take_file(taken) as path:
            assert soundfile.info(path).subtype == "PCM_24" and path.suffix == ".wav"
            assert (soundfile.read(path, dtype="int32")[0] == wanted).all()
            found = [tap.pitch_hz for tap in hear(read_sound(path)).taps]
        assert found == pytest.approx([210, 260][: len(taken)], rel=0.002)
        assert not path.exists() and not path.parent.exists()


def test_job_keeps_the_file_of_a_take(tmp_path: Path) -> None:
    """A job keeps the recording by its hash, as it keeps any sound, and has it when the file of the take is gone."""
    one = recorded(samples(210), RATE)
    with begin(fresh_shop(tmp_path)) as session:
        with take_file([one]) as path:
            name = session.keep(str(path), "sound")
        [kept] = list(session.folder.files.iterdir())
        assert name is not None and kept.suffix == ".wav" and kept.stem in name
        assert (soundfile.read(kept, dtype="int32")[0] == samples(210)).all()


def test_take_that_makes_no_file_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """No recording, or recordings of two rates, make no file; a disk that takes none is said in one sentence."""
    one = recorded(samples(210), RATE)
    for wrong in ([], [one, recorded(samples(210), 48000)]):
        with pytest.raises(UsageError, match="one rate"), take_file(wrong):
            pass
    monkeypatch.setattr("tempfile.tempdir", "/nowhere")
    with pytest.raises(Failure, match="note the value alone"), take_file([one]):
        pass
