"""Recordings as files: every format that is promised, every way a file is none, and the command that hears them."""

from __future__ import annotations

import struct
import tracemalloc
from pathlib import Path

import numpy as np
import pytest
import soundfile

from benchwalk.errors import Failure, Misread
from benchwalk.taps import hear, read_sound
from drum_taps import Head, Samples, in_noise, ringing
from shop_helpers import benchwalk, command, document

HEAD = Head(230.0, {1: 0.01, 2: 0.01}, {1: 0.3, 2: 0.2}, stretch=1.05, decay=7.0)
NUMBERS = ["at_s", "pitch_hz", "uncertainty_cents", "cents", "decay_per_s", "snr_db"]
KEYS = [*NUMBERS[:3], "note", "cents", "mode", "split_hz", "second_hz", "decay_per_s", "snr_db"]


def tap(rate: int = 44100, seconds: float = 0.9) -> Samples:
    """A good recording of one tap, peak 0.5."""
    sound = ringing(HEAD.parts((0.85, 0.7), (0.85, 0.7)), rate, seconds, glide_cents=2)
    sound = in_noise(np.random.default_rng(1), sound, rate, 40)
    return sound / np.abs(sound).max() * 0.5


def written(path: Path, samples: Samples, rate: int = 44100, **more: str) -> Path:
    """A file of it."""
    soundfile.write(path, samples, rate, **more)
    return path


# --- formats ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("suffix", "subtype"),
    [
        *(("wav", "PCM_U8"), ("wav", "PCM_16"), ("wav", "PCM_24"), ("wav", "PCM_32"), ("wav", "FLOAT")),
        *(("wav", "DOUBLE"), ("flac", "PCM_S8"), ("flac", "PCM_16"), ("flac", "PCM_24"), ("aiff", "PCM_16")),
        *(("aiff", "PCM_24"), ("aiff", "FLOAT"), ("ogg", "VORBIS"), ("ogg", "OPUS")),
    ],
)
def test_every_format_and_depth_gives_the_note(tmp_path: Path, suffix: str, subtype: str) -> None:
    """WAV, FLAC, AIFF and OGG of 8 to 64 bits give the same note of the same tap, within a cent."""
    rate = 48000
    heard = hear(read_sound(written(tmp_path / f"tap.{suffix}", tap(rate), rate, subtype=subtype)))
    assert heard.refused is None and len(heard.taps) == 1
    assert 1200 * abs(np.log2(heard.taps[0].pitch_hz / 230.0)) < 12


@pytest.mark.parametrize("rate", [8000, 11025, 16000, 22050, 32000, 44100, 48000, 88200, 96000, 192000])
def test_every_rate_gives_the_same_note(tmp_path: Path, rate: int) -> None:
    """From 8 to 192 thousand samples a second the note is the same, within two cents."""
    sound = read_sound(written(tmp_path / "tap.wav", tap(rate), rate))
    assert sound.rate == rate
    plain = hear(read_sound(written(tmp_path / "plain.wav", tap(44100)))).taps[0].pitch_hz
    (found,) = hear(sound).taps
    assert 1200 * abs(np.log2(found.pitch_hz / plain)) < 2


@pytest.mark.parametrize("channels", [1, 2, 5])
def test_the_loudest_channel_is_heard(tmp_path: Path, channels: int) -> None:
    """However many channels, also two that cancel each other: the loudest is heard."""
    one = tap()
    columns = np.stack([one * (0.3 if k % 2 else -0.5 if k else 0.4) for k in range(channels)], axis=1)
    sound = read_sound(written(tmp_path / "tap.wav", columns))
    assert sound.samples.ndim == 1 and sound.samples.dtype == np.float64
    assert len(hear(sound).taps) == 1
    opposed = read_sound(written(tmp_path / "two.wav", np.stack([one, -one], axis=1)))
    assert len(hear(opposed).taps) == 1


# --- files that are none ---------------------------------------------------------------------------------------------


def bad_files(folder: Path) -> dict[str, Path]:
    """A file of each kind that is no recording."""
    good = written(folder / "good.wav", tap()).read_bytes()
    found = {name: folder / name for name in ("empty.wav", "text.wav", "cut.wav", "cut.flac", "cut.ogg", "page.html")}
    found["empty.wav"].write_bytes(b"")
    found["text.wav"].write_text("Dear owner, the drum is ready.\n" * 40, encoding="utf-8")
    found["cut.wav"].write_bytes(good[: len(good) // 2])
    flac = written(folder / "good.flac", tap()).read_bytes()
    found["cut.flac"].write_bytes(flac[: len(flac) // 2])
    ogg = written(folder / "good.ogg", tap()).read_bytes()
    found["cut.ogg"].write_bytes(ogg[: len(ogg) // 2])
    found["page.html"].write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 8)
    found["nothing.wav"] = written(folder / "nothing.wav", np.zeros(0))
    values = tap()
    values[500] = np.nan
    found["nan.wav"] = written(folder / "nan.wav", values, subtype="FLOAT")
    values[500] = np.inf
    found["inf.wav"] = written(folder / "inf.wav", values, subtype="FLOAT")
    found["loud.wav"] = written(folder / "loud.wav", tap() * 1e200, subtype="DOUBLE")
    found["slow.wav"] = written(folder / "slow.wav", np.zeros(4000), 4000)
    head = b"RIFF" + struct.pack("<I", 36 + 44100 * 2 * 4000) + good[8:40] + struct.pack("<I", 44100 * 2 * 4000)
    found["lies.wav"] = folder / "lies.wav"
    found["lies.wav"].write_bytes(head + good[44:])
    found["folder.wav"] = folder / "folder.wav"
    found["folder.wav"].mkdir()
    return found


def test_a_file_that_is_no_recording_is_said_in_one_sentence(tmp_path: Path) -> None:
    """Empty, text, cut off, no sound in it, values that are no numbers, a folder: each is Misread, with its file."""
    for name, path in bad_files(tmp_path).items():
        with pytest.raises(Misread) as caught:
            read_sound(path)
        message = caught.value.message
        assert caught.value.where == str(path), name
        assert 20 < len(message) < 160 and "\n" not in message and "Error" not in message, (name, message)


def test_a_recording_of_hours_is_refused_before_it_is_read(tmp_path: Path) -> None:
    """Eleven minutes are refused by their head alone."""
    path = written(tmp_path / "long.flac", np.zeros(8000 * 661), 8000)
    with pytest.raises(Misread, match="longer than 10 minutes; cut out the taps"):
        read_sound(path)


@pytest.mark.parametrize(("rate", "channels", "longest"), [(192000, 1, "5 minutes"), (192000, 8, "97 seconds")])
def test_a_recording_that_would_fill_the_memory_is_refused(
    tmp_path: Path, rate: int, channels: int, longest: str
) -> None:
    """At high rates and with many channels less than ten minutes are taken, and it is said how much."""
    path = tmp_path / "long.wav"
    size = 2 * channels * rate * 320
    form = struct.pack("<HHIIHH", 1, channels, rate, 2 * channels * rate, 2 * channels, 16)
    with path.open("wb") as file:
        file.write(b"RIFF" + struct.pack("<I", 36 + size) + b"WAVEfmt " + struct.pack("<I", 16) + form)
        file.write(b"data" + struct.pack("<I", size))
        file.truncate(44 + size)
    with pytest.raises(Misread, match=f"longer than {longest}; cut out the taps"):
        read_sound(path)


def test_many_channels_take_no_more_room_than_one(tmp_path: Path) -> None:
    """Of a recording of 16 channels only the loudest is kept in memory, to the last sample, whatever block it is in."""
    one = tap()
    columns = np.zeros((600_000, 16), dtype=np.float32)
    columns[-len(one) :, 9] = one
    path = written(tmp_path / "many.wav", columns, subtype="FLOAT")
    del columns
    tracemalloc.start()
    sound = read_sound(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert len(sound.samples) == 600_000 and np.allclose(sound.samples[-len(one) :], one, atol=1e-6)
    assert peak < 16 * 600_000 * 8  # bytes that all channels would take
    assert len(hear(sound).taps) == 1


def test_a_file_that_is_not_there_is_a_failure(tmp_path: Path) -> None:
    """No file, and a name no file can have, are said; nothing else happens."""
    for name in ("none.wav", "a\0b.wav", "x" * 300 + ".wav"):
        with pytest.raises(Failure):
            read_sound(tmp_path / name)


def test_silence_is_refused(tmp_path: Path) -> None:
    """A recording without any sound is refused with what to do."""
    ran = command("tap", written(tmp_path / "still.wav", np.zeros(44100)))
    assert ran.returncode == 1 and "No tap is heard" in ran.stdout and ran.stderr == ""


# --- the command -----------------------------------------------------------------------------------------------------


def test_tap_json_is_as_the_contract_has_it(tmp_path: Path) -> None:
    """The keys of `tap --json`, numbers as numbers; a refused file stands beside the others, and the code is 1."""
    good = written(tmp_path / "good.wav", tap())
    still = written(tmp_path / "still.wav", np.zeros(44100))
    text = tmp_path / "letter.wav"
    text.write_text("Dear owner", encoding="utf-8")
    ran = benchwalk("tap", good, "--json")
    assert ran.returncode == 0 and ran.stderr == ""
    data = document(ran.stdout)
    assert list(data) == ["files"] and list(data["files"][0]) == ["file", "rate_hz", "taps", "refused"]
    (one,) = data["files"][0]["taps"]
    assert list(one) == KEYS
    assert all(isinstance(one[key], int | float) for key in NUMBERS)
    assert one["note"] == "A#3" and -30 < one["cents"] < 0 and one["mode"] == "(1,1)"
    assert data["files"][0]["rate_hz"] == 44100 and data["files"][0]["refused"] is None
    ran = benchwalk("tap", good, still, text, "--json")
    data = document(ran.stdout)
    assert ran.returncode == 1 and ran.stderr == ""
    assert [bool(row["taps"]) for row in data["files"]] == [True, False, False]
    assert [row["rate_hz"] for row in data["files"]] == [44100, 44100, None]
    assert data["files"][1]["refused"].startswith("no tap") and "cannot be read" in data["files"][2]["refused"]


def test_tap_says_the_note_in_bench_words(tmp_path: Path) -> None:
    """The text names the rod note, how sure it is, the second note and the ring, and no word of the books."""
    ran = command("tap", written(tmp_path / "good.wav", tap()), "--spectrum")
    assert ran.returncode == 0 and ran.stderr == ""
    assert "rod note 229." in ran.stdout or "rod note 230." in ran.stdout
    for words in ("(A#3 ", "give or take ", " cents", "second note ", "; rings ", "Hz  loudest", "dB below"):
        assert words in ran.stdout
    assert not any(word in ran.stdout for word in ("(1,1)", "SNR", "centroid", "mode", "None", "nan"))


def test_exit_codes_of_tap(tmp_path: Path) -> None:
    """0 a note, 1 a refused recording, 2 a wrong call, 3 a file that is not there; a complaint is one line."""
    good = written(tmp_path / "good.wav", tap())
    (empty := tmp_path / "empty.wav").touch()
    cases = [
        (0, ("tap", good)),
        (0, ("tap", good, "--band", "200", "260")),
        (1, ("tap", good, "--band", "40", "60")),
        (1, ("tap", tmp_path)),
        (2, ("tap",)),
        (2, ("tap", good, "--band", "260", "200")),
        (2, ("tap", empty, "--band", "260", "200")),
        (2, ("tap", tmp_path / "none.wav", "--band", "260", "200")),
        (2, ("tap", good, "--band", "x", "y")),
        (2, ("tap", good, "--band", "nan", "inf")),
        (2, ("tap", good, "--place", "rim")),
        (3, ("tap", tmp_path / "none.wav")),
    ]
    for code, words in cases:
        ran = command(*words)
        assert ran.returncode == code, (words, ran)
        assert "Traceback" not in ran.stdout + ran.stderr
        if code > 1:
            assert ran.stdout == "" and len(ran.stderr.splitlines()) == 1
        ran = command(*words, "--json")
        assert ran.returncode == code and isinstance(document(ran.stdout), dict) and ran.stderr == ""


@pytest.mark.parametrize("name", ["good.raw", "good.RAW"])
def test_file_that_is_called_raw_is_refused(tmp_path: Path, name: str) -> None:
    """A name that promises sound without a header gives no note, whatever is inside, and stops no other file."""
    path = written(tmp_path / "good.wav", tap())
    raw = path.rename(tmp_path / name)
    good = written(tmp_path / "good.wav", tap())
    ran = command("tap", raw, good)
    assert ran.returncode == 1 and "cannot be read as a recording" in ran.stdout and "rod note" in ran.stdout


def test_tap_hears_the_files_that_are_there(tmp_path: Path) -> None:
    """A file that is not there stops nothing: the others are heard, it is told, and the code is 3."""
    good, none = written(tmp_path / "good.wav", tap()), tmp_path / "none.wav"
    ran = command("tap", good, none, good)
    assert ran.returncode == 3 and ran.stdout.count("rod note") == 2
    assert "none.wav" in ran.stderr and len(ran.stderr.splitlines()) == 1
    ran = command("tap", none, good, "--json")
    first, second = document(ran.stdout)["files"]
    assert ran.returncode == 3 and ran.stderr == ""
    assert first["taps"] == [] and "there is no" in first["refused"] and len(second["taps"]) == 1


def test_spectrum_stands_in_json_where_it_is_asked_for(tmp_path: Path) -> None:
    """With --spectrum each tap has its lines, in Hz and in dB below the loudest; the note's own line is among them."""
    good = written(tmp_path / "good.wav", tap())
    (heard,) = document(command("tap", good, "--json", "--spectrum").stdout)["files"][0]["taps"]
    lines = heard["spectrum"]
    assert max(db for _hz, db in lines) == 0 and any(abs(hz - heard["pitch_hz"]) < 4 for hz, _db in lines)
    assert [hz for hz, _db in lines] == sorted(hz for hz, _db in lines)


@pytest.mark.parametrize("name", ["--help.wav", "a b\n.wav", "\x1b[31mred.wav", "[bold]x[].wav", "ø‮x.wav"])
def test_hostile_names_are_shown_harmless(tmp_path: Path, name: str) -> None:
    """A file's name reaches the terminal without acting on it, and JSON keeps it as it is."""
    path = written(tmp_path / name, tap())
    ran = command("tap", path)
    assert ran.returncode == 0 and "\x1b" not in ran.stdout and "‮" not in ran.stdout
    assert document(command("tap", path, "--json").stdout)["files"][0]["file"] == str(path)
