"""Figures of taps as answers of a walk: what is noted of them, and hearing them line by line."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from pathlib import Path

import pytest

from benchwalk.heard import answers, band_of, note_of
from benchwalk.job.shop import Shop
from benchwalk.session import Session
from benchwalk.taps import Tap
from benchwalk.walk import acts
from shop_helpers import Typed, begin, drive, events, fresh_shop, walked
from sound_server import SoundServer, in_a_room, recording, sound_server, tap_sound
from walk_helpers import linked, procedure, shipped

__all__ = ["sound_server"]

FIGURES = procedure(
    """
readings:
  note: {ask: The open note, kind: note, possible: 40 .. 1200}
  split: {ask: How far the pair is apart, unit: Hz, hears: split, tapped: rod}
  rings: {ask: How long it rings, unit: s, hears: ring}
  bands: {ask: How long it rings in the band, unit: s, hears: ring, per: [160 Hz, 200 Hz, 1 kHz]}
  loud: {ask: How far under the loudest, kind: whole, hears: level, per: [200 Hz, 250 Hz], optional: {because: soft}}
steps:
  - step: listen
    record: [note, split, rings, bands, loud]
    end: done
""",
    id="figures",
)
GIVEN = {"head": "batter", "want": "220", "slack": "1.5"}


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop of one's own."""
    return fresh_shop(tmp_path)


def tap(hz: float, *, split: float | None = None, second: float | None = None, decay: float = 6.9078) -> Tap:
    """A tap with figures of its third octaves."""
    rings = {158.49: 0.9, 199.53: 0.5, 251.19: 0.4, 1000.0: None}
    levels = {158.49: -6.2, 199.53: 0.0, 251.19: -12.4}
    return Tap(0.1, hz, 0.6, "(1,1)", split, second, decay, 40.0, rings, levels)


def at(shop: Shop, name: str) -> Session:
    """A job at one of the figures."""
    session = begin(shop, linked(FIGURES), drum={})
    while (here := drive(session, "reading")).name != name:
        session.do(acts.Record("200" if here.name == "note" else "1"))
    return session


@pytest.mark.parametrize(
    ("name", "taps", "found"),
    [
        ("note", [tap(220.0, second=301.2)], {None: "220.00 Hz ±0.6c second 301.20 Hz"}),
        ("split", [tap(220, split=3.0), tap(220, split=3.5)], {None: "3.25"}),
        ("split", [tap(220)], {None: "0.00"}),
        ("rings", [tap(220), tap(220, decay=2 * 6.9078)], {None: "0.75"}),
        ("bands", [tap(220)], {"160 Hz": "0.90", "200 Hz": "0.50"}),
        ("loud", [tap(220)], {"200 Hz": "0", "250 Hz": "12"}),
        ("rings", [], {}),
        ("note", [], {}),
    ],
)
def test_taps_answer_what_is_asked(shop: Shop, name: str, taps: list[Tap], found: dict[str | None, str]) -> None:
    """A note, the split of its pair, how long it rings (60 dB is ln 1000 of amplitude), and third octaves by their
    nominal names, as the mean of all taps; what no tap tells has no answer."""
    session = at(shop, name)
    assert answers(session.now(), taps) == found
    assert math.isclose(math.log(1000), 6.9078, abs_tol=1e-4)


def test_several_taps_make_one_note_with_the_second_of_the_last(shop: Shop) -> None:
    """The note is that of all taps together, the second note the one that was heard last."""
    text = note_of([tap(220.0, second=300.0), tap(220.4, second=301.0), tap(220.2)])
    assert text.startswith("220.20 Hz ±")
    assert text.endswith(" second 301.00 Hz")


def test_the_band_comes_of_the_notes_of_this_round(shop: Shop) -> None:
    """Beside a rod the notes of the round so far say where the next one lies; for the first, and for an open note, that
    is not known."""
    session = begin(shop, shipped("even-rods"), drum={"rods": "6"}, given=GIVEN)
    while (here := drive(session, "reading")).name != "rod_note":
        session.do(acts.Record("damped"))
    assert band_of(session, here) is None
    session.do(acts.Record("200"))
    session.do(acts.Record("220"))
    assert band_of(session, session.now()) == pytest.approx((168.0, 256.2))
    assert band_of(at(shop, "note"), at(shop, "note").now()) is None


# --- line by line ----------------------------------------------------------------------------------------------------


def typed_at(session: Session, *lines: str) -> Typed:
    """Type these lines at a job's prompts, then let the input end; the conversation."""
    rest: Iterable[str | None] = iter((*lines, None))
    return walked(session, answer=lambda prompt: next(iter(rest)))[1]


def test_a_note_is_taken_out_of_a_recording(shop: Shop, tmp_path: Path) -> None:
    """`/hear FILE` says the taps of the file and notes what they tell, with the recording kept; bands are noted one
    after the other; what cannot be heard is one sentence."""
    file = recording(in_a_room(tap_sound(220.0), tap_sound(220.2)), tmp_path / "my taps.wav")
    (tmp_path / "words.wav").write_text("no sound")
    session = at(shop, "split")
    talk = typed_at(
        session, "", f"/hear {tmp_path}/none.wav", f"/hear {tmp_path}/words.wav", f"/hear {file}", f"/hear {file}"
    )
    assert "Traceback" not in talk.said
    assert "No note out of none.wav: there is no such file." in talk.flat
    assert "No note out of words.wav: " in talk.flat
    assert "rod note 219.8 Hz (A3 -1c)" in talk.flat and "rod note 220.0 Hz (A3)" in talk.flat
    read = {e["name"]: e for e in events(shop, session.state.job) if e["what"] == "read"}
    assert 1.0 < float(read["split"]["value"]) < 2.5  # 0.4 % to both sides of 220 Hz
    assert read["split"]["recording"] == read["rings"]["recording"]
    assert (session.folder.files / read["rings"]["recording"]).read_bytes() == file.read_bytes()
    assert "recording" not in read["note"]


def test_a_recording_of_two_rods_gives_no_note(shop: Shop, tmp_path: Path) -> None:
    """Taps that lie too far apart for one rod are refused with how far, and nothing is noted of them."""
    file = recording(in_a_room(tap_sound(220.0), tap_sound(231.0)), tmp_path / "two rods.wav")
    session = at(shop, "note")
    talk = typed_at(session, "", f"/hear {file}")
    apart = r"No note out of two rods\.wav: the taps lie up to 8\d cents apart; record taps at one (rod|place) alone\."
    assert re.search(apart, talk.flat)
    assert not [e for e in events(shop, session.state.job) if e["what"] == "read"]


def test_a_recording_in_the_home_of_nobody_is_said_not_to_be_there(shop: Shop) -> None:
    """A path below the home of a user whom the system does not know is a name like any other."""
    talk = typed_at(at(shop, "split"), "", "/hear ~nobody-of-that-name/taps.wav")
    assert "No note out of taps.wav: there is no such file." in talk.flat


def test_the_practice_drum_line_by_line(shop: Shop) -> None:
    """`/drum` lists what can be done, does it, and gives the asked rod's note to the walk; it is kept with the job."""
    session = begin(shop, shipped("even-rods"), drum={"rods": "6"}, given=GIVEN)
    while drive(session, "reading").name != "rod_note":
        session.do(acts.Record("damped"))
    talk = typed_at(
        session, "", "/drum", "/drum take", "/drum tap 1", "/drum take", "/drum strike", "/drum tap 9", "/hear"
    )
    assert "/drum take: take the note of the rod that is asked for into the walk" in talk.flat
    assert "Rod 1 has no note since the last turn" in talk.flat
    assert "is nothing to do with a drum" in talk.flat and '"9" is no rod of this drum' in talk.flat
    (noted,) = [e for e in events(shop, session.state.job) if e["what"] == "read" and e["name"] == "rod_note"]
    assert noted["place"] == "1" and " Hz ±" in noted["typed"]
    assert (session.folder.path / "practice-drum.json").exists()


def test_listening_line_by_line(shop: Shop, sound_server: SoundServer) -> None:
    """`/hear` listens for one tap, says it and asks: again, drop, Enter; the note is in the log with its recording."""
    session = begin(shop, shipped("even-rods"), drum={"rods": "6"}, given=GIVEN)
    while drive(session, "reading").name != "rod_note":
        session.do(acts.Record("damped"))
    sound_server.play(in_a_room(*[tap_sound(220.0)] * 12))
    left = ["", "drop", "again"]

    def answer(prompt: str) -> str | None:
        """What fits the prompt: the microphone may open in the middle of a tap."""
        if "Enter to listen again" in prompt:
            return ""
        if "Enter takes" in prompt:
            return left.pop()
        return None if prompts.count(prompt) else prompts.append(prompt) or ("/hear" if "note" in prompt else "")

    prompts: list[str] = []
    _, talk = walked(session, answer=answer)
    assert "Listening with" in talk.flat and "Enter takes 2" in talk.flat, talk.said
    (noted,) = [e for e in events(shop, session.state.job) if e["what"] == "read" and e["name"] == "rod_note"]
    assert abs(float(noted["value"]) - 220) < 0.5
    assert (session.folder.files / noted["recording"]).exists()


def test_without_a_microphone_a_line_says_so(shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nothing can be listened with, one sentence says so and the note is typed."""
    monkeypatch.setenv("ALSA_CONFIG_PATH", str(tmp_path / "nothing"))
    monkeypatch.setenv("PULSE_SERVER", f"unix:{tmp_path}/nothing")
    session = at(shop, "note")
    talk = typed_at(session, "", "/hear", "220", "")
    assert "type the note, or say it by ear" in talk.flat
    assert [e["typed"] for e in events(shop, session.state.job) if e["what"] == "read"] == ["220"]
