"""A real sound server of its own, with microphones that hear what is played to them.

PulseAudio with a silent loudspeaker for each microphone: the loudspeaker's monitor is the microphone. ALSA, and so
PortAudio, is led to it by a configuration that knows nothing else, so that no sound card of the machine takes part.
"""

from __future__ import annotations

import ctypes.util
import os
import shutil
import subprocess
import time
import wave
from collections.abc import Iterator, Mapping
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from house import PATIENCE

RATE = 44100  # what PortAudio takes a server's microphone for, so that no sample is made anew on the way
PROGRAMS = ("pulseaudio", "pactl", "paplay")
Samples = NDArray[np.float64]


def missing() -> str:
    """What is not installed that a test with a sound server needs; empty where all is there."""
    gone = [name for name in PROGRAMS if shutil.which(name) is None]
    if ctypes.util.find_library("portaudio") is None:
        gone.append("libportaudio2")
    if not list(Path("/usr/lib").glob("*/alsa-lib/libasound_module_pcm_pulse.so")):
        gone.append("libasound2-plugins")
    return ", ".join(gone)


class SoundServer:
    """One server in `folder`, from `start` to `end`; `variables` lead a program's sound there."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._process: subprocess.Popen[bytes] | None = None
        self._players: list[subprocess.Popen[bytes]] = []
        config = folder / "asound.conf"
        config.write_text(
            "pcm.!default { type pulse }\nctl.!default { type pulse }\n"
            'pcm.loft { type pulse device "loft.monitor" }\npcm.lobby { type pulse device "loft.monitor" }\n'
        )
        self.variables = {
            "ALSA_CONFIG_PATH": str(config),
            "PULSE_SERVER": f"unix:{folder}/native",
            "PULSE_RUNTIME_PATH": str(folder / "run"),
            "PULSE_STATE_PATH": str(folder / "state"),
            "XDG_RUNTIME_DIR": str(folder),
        }

    def start(self) -> None:
        """Start it with two microphones, `bench` (the usual one) and `loft`."""
        modules = [f"module-native-protocol-unix socket={self.folder}/native auth-anonymous=1"]
        command = ["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=60", "--use-pid-file=no"]
        command += ["--disable-shm=yes", "--log-target=stderr", *(f"--load={module}" for module in modules)]
        with open(self.folder / "log", "wb") as log:
            self._process = subprocess.Popen(command, env=self._environ(), stdout=log, stderr=log)
        until = time.monotonic() + PATIENCE
        while subprocess.run(["pactl", "info"], env=self._environ(), capture_output=True).returncode:
            if time.monotonic() > until or self._process.poll() is not None:
                raise RuntimeError(f"no sound server: {(self.folder / 'log').read_text()[-800:]}")
            time.sleep(0.05)
        self.plug("loft")
        self.plug("bench")

    def plug(self, name: str) -> None:
        """Plug a microphone in; it is the usual one then."""
        # without norewinds its first sound may come two seconds late, as from no real microphone
        sink = [f"sink_name={name}", f"rate={RATE}", "channels=1", "format=float32le", "norewinds=1"]
        self._control("load-module", "module-null-sink", *sink)
        self._control("set-default-source", f"{name}.monitor")
        self._control("set-default-sink", name)

    def unplug(self) -> None:
        """Unplug all microphones."""
        self._control("unload-module", "module-null-sink")

    def play(self, sound: Samples, name: str = "bench") -> None:
        """Begin to play a sound (full scale 1.0, at `RATE`) to a microphone; does not wait for its end."""
        path = recording(sound, self.folder / f"{len(self._players)}.wav")
        self._players.append(subprocess.Popen(["paplay", f"--device={name}", str(path)], env=self._environ()))

    def hush(self) -> None:
        """End all that still plays."""
        for player in self._players:
            player.kill()
            player.wait()

    def kill(self) -> None:
        """End the server at once, as when it crashes."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None
            (self.folder / "native").unlink(missing_ok=True)

    def end(self) -> None:
        """End the server and all that still plays."""
        self.hush()
        self.kill()

    def _control(self, *arguments: str) -> None:
        subprocess.run(["pactl", *arguments], env=self._environ(), check=True, capture_output=True)

    def _environ(self) -> Mapping[str, str]:
        return {**os.environ, **self.variables}


def recording(sound: Samples, path: Path) -> Path:
    """A sound (full scale 1.0, at `RATE`) as a WAV file of 24 bits."""
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(3)
        file.setframerate(RATE)
        whole = np.round(np.clip(sound, -1, 1) * (2**23 - 1)).astype("<i4")
        file.writeframes(whole.view(np.uint8).reshape(-1, 4)[:, :3].tobytes())
    return path


@pytest.fixture
def sound_server(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[SoundServer]:
    """A sound server that this process, and those it starts, are led to; skipped where none can be had."""
    if gone := missing():
        pytest.skip(f"no sound server here, for want of: {gone}")
    server = SoundServer(tmp_path)
    for name, value in server.variables.items():
        monkeypatch.setenv(name, value)
    try:
        server.start()
        yield server
    finally:
        server.end()


def tap_sound(edge_hz: float, seconds: float = 1.1, decay: float = 7.0, loud: float = 0.3) -> Samples:
    """A tap beside a rod, the centre touched, at `RATE`: the pairs of an invented drum ring, in a room all but quiet.

    The first pair lies 0.4 % to both sides of `edge_hz`; the second a little under 1.4 of it, as on a real head.
    """
    at = np.arange(round(RATE * seconds)) / RATE
    parts = ((0.996, 1.0, 1.0), (1.004, 0.7, 1.05), (1.372, 0.5, 1.3), (1.381, 0.3, 1.3), (1.75, 0.2, 1.8))
    sound = np.zeros(len(at))
    for n, (ratio, a, d) in enumerate(parts):
        sound += a * np.exp(-decay * d * at) * np.sin(2 * np.pi * edge_hz * ratio * at + n)
    return np.asarray(loud * sound * np.minimum(1, at / 0.002) / 2, dtype=np.float64)


def in_a_room(*sounds: Samples, quiet: float = 0.4, noise: float = 1e-4, seed: int = 5) -> Samples:
    """Sounds one after the other, each after `quiet` seconds, over the noise of a room."""
    gap = np.zeros(round(RATE * quiet))
    whole = np.concatenate([part for sound in sounds for part in (gap, sound)] + [gap])
    return np.asarray(whole + noise * np.random.default_rng(seed).standard_normal(len(whole)), dtype=np.float64)
