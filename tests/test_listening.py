"""Listening at the bench, through a real sound server; and what is said where there is nothing to listen with."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from benchwalk.taps import hear, read_sound
from benchwalk.taps.catching import Catcher
from benchwalk.taps.ear_process import caught
from benchwalk.taps.facts import (
    OR_TYPE,
    Fact,
    Listen,
    ListeningEnded,
    ListeningFailed,
    MicrophoneOpened,
    TapHeard,
    TapRefused,
)
from benchwalk.taps.listening import Ear, microphones
from benchwalk.taps.take import take_file
from house import PATIENCE
from sound_server import RATE, SoundServer, in_a_room, sound_server, tap_sound

__all__ = ["sound_server"]

LISTENED_S = 20.0


class Listener:
    """Listens in a thread of its own, as a screen does, and keeps what it is told."""

    def __init__(self, ear: Ear, seconds: float = LISTENED_S) -> None:
        self.facts: list[Fact] = []
        self.levels: list[float] = []
        self._changed = threading.Condition()
        self._thread = threading.Thread(target=ear.listen, args=(seconds, self.levels.append, self._told))
        self._thread.start()

    def _told(self, fact: Fact) -> None:
        with self._changed:
            self.facts.append(fact)
            self._changed.notify_all()

    def until(self, kind: type[Fact], count: int = 1) -> list[Fact]:
        """All facts of a kind, as soon as there are so many."""
        with self._changed:
            assert self._changed.wait_for(lambda: len(self._of(kind)) >= count, PATIENCE), self.facts
            return self._of(kind)

    def _of(self, kind: type[Fact]) -> list[Fact]:
        return [fact for fact in self.facts if isinstance(fact, kind)]

    def over(self) -> list[Fact]:
        """All facts, once `listen` has come back."""
        self._thread.join(PATIENCE)
        assert not self._thread.is_alive()
        return self.facts


def failure_of(facts: list[Fact]) -> str:
    """The one sentence that a listening ended with: it fits a line or two, and says that typing goes on."""
    failed = facts[-1]
    assert isinstance(failed, ListeningFailed), facts
    said = failed.sentence
    assert said.endswith(OR_TYPE) and "\n" not in said and "Traceback" not in said and len(said) < 220
    return said


def ears_of(server: SoundServer) -> list[int]:
    """The ear processes that are led to this server, alive or dead and not yet taken leave of."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            command, variables = (folder / "cmdline").read_bytes(), (folder / "environ").read_bytes()
        except OSError:
            continue
        if b"ear_process" in command and server.variables["PULSE_SERVER"].encode() in variables:
            found.append(int(folder.name))
    return found


def soon(what: Callable[[], bool]) -> bool:
    """Whether it becomes true before patience ends."""
    until = time.monotonic() + PATIENCE
    while not what() and time.monotonic() < until:
        time.sleep(0.02)
    return what()


# --- with a microphone -------------------------------------------------------------------------------------------


def test_taps_are_heard_and_their_recordings_give_the_same_notes_again(sound_server: SoundServer) -> None:
    """Each tap played in is told with its note; what is kept of it, read again, gives the very same reading."""
    with Ear() as ear:
        listener = Listener(ear)
        listener.until(MicrophoneOpened)
        sound_server.play(in_a_room(tap_sound(212), tap_sound(247)))
        heard = [fact for fact in listener.until(TapHeard, 2) if isinstance(fact, TapHeard)]
        ear.stop()
        facts = listener.over()
    assert isinstance(facts[0], MicrophoneOpened) and isinstance(facts[-1], ListeningEnded)
    assert [fact.tap.pitch_hz for fact in heard] == pytest.approx([212, 247], rel=0.002)
    assert max(listener.levels) > -20 > -60 > min(listener.levels)
    for fact in heard:
        assert fact.recording.rate_hz == RATE and fact.recording.seconds < 0.9
        with take_file([fact.recording]) as path:
            again = hear(read_sound(path)).taps
        assert not path.exists()
        assert [tap.pitch_hz for tap in again] == pytest.approx([fact.tap.pitch_hz], abs=1e-6)
        assert [tap.at_s for tap in again] == pytest.approx([fact.tap.at_s], abs=1e-6)


def test_what_is_no_tap_is_refused_with_its_cure(sound_server: SoundServer) -> None:
    """A hiss that sets in is told as a refusal in words, and the tap after it is heard all the same."""
    hiss = 0.2 * np.random.default_rng(4).standard_normal(RATE // 2)
    with Ear() as ear:
        listener = Listener(ear)
        listener.until(MicrophoneOpened)
        sound_server.play(in_a_room(hiss, tap_sound(230), quiet=0.7))
        [heard] = listener.until(TapHeard)
        [refused, *_more] = listener.until(TapRefused)
    assert isinstance(refused, TapRefused) and len(refused.why) > 20
    assert isinstance(heard, TapHeard) and heard.tap.pitch_hz == pytest.approx(230, rel=0.002)


@pytest.mark.parametrize("how", ["unplugged", "server gone"])
def test_unplugged_while_listening(sound_server: SoundServer, how: str) -> None:
    """A microphone that goes ends listening with one sentence; plugged in again, the same ear hears with it."""
    with Ear() as ear:
        listener = Listener(ear)
        listener.until(MicrophoneOpened)
        sound_server.unplug() if how == "unplugged" else sound_server.kill()
        assert "stopped sending" in failure_of(listener.over())
        failure_of(Listener(ear).over())  # still gone
        sound_server.plug("bench") if how == "unplugged" else sound_server.start()
        again = Listener(ear)
        again.until(MicrophoneOpened)
        ear.stop()
        assert isinstance(again.over()[-1], ListeningEnded)


def test_microphones_are_named_and_chosen_by_name(sound_server: SoundServer) -> None:
    """The usual microphone is named first; another is chosen by its name, and hears what is played to it alone."""
    named = microphones()
    assert isinstance(named, list) and named[0] == "default" and {"loft", "lobby"} < set(named)
    with Ear("lof") as ear:
        listener = Listener(ear)
        [opened] = listener.until(MicrophoneOpened)
        assert isinstance(opened, MicrophoneOpened) and opened.name == "loft"
        sound_server.play(in_a_room(tap_sound(190)), "bench")
        sound_server.play(in_a_room(tap_sound(260)), "loft")
        [heard, *_more] = listener.until(TapHeard)
    assert isinstance(heard, TapHeard) and heard.tap.pitch_hz == pytest.approx(260, rel=0.002)


@pytest.mark.parametrize(("wanted", "said"), [("cellar", "no microphone is called cellar"), ("lo", "more than one")])
def test_microphone_that_is_not_there_is_said_with_those_that_are(
    sound_server: SoundServer, wanted: str, said: str
) -> None:
    """A name that fits no microphone, or two, is refused with the names there are."""
    with Ear(wanted) as ear:
        found = failure_of(Listener(ear).over())
    assert said in found and "default, loft, lobby" in found


def test_microphone_that_is_off_is_told_from_a_quiet_room(sound_server: SoundServer) -> None:
    """Where only silence itself came in all the time, that is said; where a room was heard, it ended as it should."""
    with Ear() as ear:
        assert "nothing at all comes" in failure_of(Listener(ear, 0.9).over())
        listener = Listener(ear, 1.2)
        listener.until(MicrophoneOpened)
        sound_server.play(in_a_room(np.zeros(RATE * 2)))
        assert isinstance(listener.over()[-1], ListeningEnded)


def test_close_ends_it_at_once_and_leaves_no_process(sound_server: SoundServer) -> None:
    """After `close`, in the middle of listening, nothing more is told and no process is left, dead or alive."""
    ear = Ear()
    listener = Listener(ear)
    listener.until(MicrophoneOpened)
    assert len(ears_of(sound_server)) == 1
    told = list(listener.facts)
    ear.close()
    assert listener.over() == told
    assert ears_of(sound_server) == []
    ear.close()
    failure_of(Listener(ear).over())


def test_stopped_early_or_late_is_no_harm(sound_server: SoundServer) -> None:
    """To stop where nobody listens does nothing, to this or the next listening."""
    with Ear() as ear:
        ear.stop()
        assert isinstance(Listener(ear, 0.1).over()[-1], ListeningEnded)
        ear.stop()
        listener = Listener(ear)
        assert soon(lambda: len(listener.levels) > 2)
        ear.stop()
        assert isinstance(listener.over()[-1], ListeningEnded)


class Hasty(Ear):
    """An ear that is stopped in the moment between its process being there and the order to listen."""

    def _ready(self) -> object:  # type: ignore[override]
        process = super()._ready()
        self.stop()
        return process


def test_stopped_while_it_begins_is_stopped(sound_server: SoundServer) -> None:
    """Somebody who leaves at once is not listened to until the time is over."""
    with Hasty() as ear:
        begun = time.monotonic()
        assert isinstance(Listener(ear, LISTENED_S).over()[-1], ListeningEnded)
        assert time.monotonic() - begun < LISTENED_S / 2


def test_ear_that_dies_is_told_and_made_anew(sound_server: SoundServer) -> None:
    """Where what hears falls over, that is one sentence, and the next listening begins afresh."""
    with Ear() as ear:
        listener = Listener(ear)
        listener.until(MicrophoneOpened)
        [pid] = ears_of(sound_server)
        os.kill(pid, signal.SIGKILL)
        assert "broken down" in failure_of(listener.over())
        again = Listener(ear)
        again.until(MicrophoneOpened)
        assert pid not in ears_of(sound_server)


def test_ear_that_hangs_is_told_and_ended(sound_server: SoundServer, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where what hears says nothing any more, patience ends, that is one sentence, and its process is ended."""
    monkeypatch.setattr("benchwalk.taps.listening._PATIENCE_S", 2.0)
    with Ear() as ear:
        listener = Listener(ear)
        listener.until(MicrophoneOpened)
        [pid] = ears_of(sound_server)
        os.kill(pid, signal.SIGSTOP)
        assert "does not answer" in failure_of(listener.over())
        assert ears_of(sound_server) == []


def test_sound_lost_in_a_ring_is_said_and_gives_no_note() -> None:
    """Where the system lost samples while a tap rang there is no note of it; the next tap gives its own again."""
    samples = np.round(in_a_room(tap_sound(210), tap_sound(260)) * 2**23).astype(np.int32) * np.int32(256)
    catcher, order = Catcher(RATE), Listen("", 1, None, "rod")
    middle = round(0.55 * RATE)  # the first tap rings since 0.15 s
    assert caught(catcher, samples[:middle], False, order) == []
    refused, heard = caught(catcher, samples[middle + 4000 :], True, order)
    assert isinstance(refused, TapRefused) and "tap again" in refused.why
    assert isinstance(heard, TapHeard) and heard.tap.pitch_hz == pytest.approx(260, rel=0.002)


LISTENS = """
import json, sys
from benchwalk.taps.facts import TapHeard
from benchwalk.taps.listening import Ear
from benchwalk.taps.take import as_typed, take_file

def told(fact):
    if isinstance(fact, TapHeard):
        with take_file([fact.recording] * 2):
            as_typed(fact.tap)
    print(json.dumps([type(fact).__name__, sorted(sys.modules)]), flush=True)
Ear().listen(60, on_fact=told)
"""


@pytest.mark.parametrize("sign", [signal.SIGTERM, signal.SIGKILL])
def test_walk_stays_light_and_takes_the_ear_with_it(sound_server: SoundServer, sign: signal.Signals) -> None:
    """Who listens and takes a note loads no numerics and no sound library; and if it is ended, what hears ends too."""
    command = [sys.executable, "-c", LISTENS]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as walk:
        assert walk.stdout is not None and walk.stderr is not None
        kind, modules = json.loads(walk.stdout.readline())
        if sign == signal.SIGTERM:
            assert kind == "MicrophoneOpened"
            sound_server.play(in_a_room(tap_sound(205)))
            kind, modules = json.loads(walk.stdout.readline())
            assert kind == "TapHeard"
        assert {"numpy", "scipy", "soundfile", "sounddevice"} & set(modules) == set()
        assert len(ears_of(sound_server)) == 1
        walk.send_signal(sign)
        assert walk.wait(PATIENCE) == -sign
        assert soon(lambda: ears_of(sound_server) == [])
        assert walk.stderr.read() == ""


# --- without -----------------------------------------------------------------------------------------------------

NO_LIBRARY = "import sys\nsys.modules['sounddevice'] = None\n"
NO_PORTAUDIO = "import ctypes.util\nctypes.util.find_library = lambda name: None\n"
FALLS_OVER = "import ctypes.util, os\nctypes.util.find_library = lambda name: os.abort()\n"


@pytest.mark.parametrize(
    ("site", "said"),
    [
        (NO_LIBRARY, "pip install 'benchwalk[mic]'"),
        (NO_PORTAUDIO, "PortAudio library of the system"),
        (FALLS_OVER, "broken down"),
    ],
    ids=["no library", "no system library", "falls over"],
)
def test_without_library_one_sentence_says_what_is_missing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, site: str, said: str
) -> None:
    """Where the sound library or the system's part of it is missing or falls over, that is said, with the cure."""
    (tmp_path / "sitecustomize.py").write_text(site)
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(tmp_path), *filter(None, [os.environ.get("PYTHONPATH")])]))
    with Ear() as ear:
        assert said in failure_of(Listener(ear).over())
    assert said in microphones()


def test_without_microphone_one_sentence_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the computer has no microphone, listening says so, and so does the question which there are."""
    nothing = tmp_path / "asound.conf"
    nothing.write_text('pcm.nothing "to be had"')
    monkeypatch.setenv("ALSA_CONFIG_PATH", str(nothing))
    named = microphones()
    if isinstance(named, list):
        pytest.skip(f"a microphone is here that no configuration hides: {named[0]}")
    if "PortAudio" in named:
        pytest.skip("no PortAudio library here")
    with Ear() as ear:
        assert failure_of(Listener(ear).over()) == named
    assert "this computer has none" in named


def test_without_a_process_one_sentence_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the system begins no process for it, that is said in one sentence and nothing is raised."""
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    with Ear() as ear:
        assert "can be used now" in failure_of(Listener(ear).over())
    assert "can be used now" in microphones()
