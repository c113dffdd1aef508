"""The microphone itself: which there are, and sound from one of them, as long as somebody listens.

Loads the `sounddevice` library when first asked, inside the ear's own process: what libraries of the sound system
print, and where they hang or fall over, stays out of the walk. Every failure is one sentence with its cure (Failure).
"""

from __future__ import annotations

from queue import Empty, SimpleQueue
from typing import Any

from ..errors import Failure
from ..procedure.showing import shortened
from .facts import OR_TYPE

_BLOCKS_A_SECOND = 50
_BUFFERED_S = 0.2  # what the system holds while our process is busy; the analysis of a tap takes a tenth of it
_PATIENCE_S = 3.0  # without any sound a microphone then counts as gone; one without wires may need two to wake
_MOST_NAMED = 5  # in a sentence
STOPPED = f"the microphone has stopped sending: plug it in again and listen anew, or {OR_TYPE}"


def library() -> Any:
    """The sound library. Failure where it, or the system's part of it, is missing."""
    try:
        import sounddevice
    except ImportError:
        raise Failure(
            "no microphone can be used here: what listens is not installed (pip install 'benchwalk[mic]'); " + OR_TYPE
        ) from None
    except OSError:  # "PortAudio library not found", or one that cannot be loaded
        raise Failure(
            "no microphone can be used here: the PortAudio library of the system is missing (libportaudio2 in many"
            f" systems); install it, or {OR_TYPE}"
        ) from None
    except Exception as error:  # its own error, where PortAudio cannot start at all
        raise Failure(
            f"no microphone can be used here: the sound system does not start ({_said(error)}); {OR_TYPE}"
        ) from None
    return sounddevice


def names() -> list[str]:
    """The names of all microphones, the one used without a choice first. Failure where there is none."""
    sound = library()
    found = {str(device["name"]): None for device in [*_usual(sound), *_inputs(sound)]}  # each once, in this order
    if not found:
        raise Failure(f"no microphone can be used here: this computer has none; plug one in, or {OR_TYPE}")
    return [_name(name) for name in found]


def _inputs(sound: Any) -> list[dict[str, Any]]:
    return [device for device in sound.query_devices() if device["max_input_channels"] > 0]


def _usual(sound: Any) -> list[dict[str, Any]]:
    try:
        return [sound.query_devices(kind="input")]
    except (sound.PortAudioError, ValueError):
        return _inputs(sound)[:1]


def _chosen(sound: Any, wanted: str) -> dict[str, Any]:
    """The device of that name, or with a name that holds it; the usual one for an empty name."""
    known = names()
    if not wanted:
        return _usual(sound)[0]
    inputs = _inputs(sound)
    alike = [d for d in inputs if d["name"] == wanted] or [d for d in inputs if wanted.lower() in d["name"].lower()]
    if len({d["name"] for d in alike}) == 1:
        return alike[0]
    how = "more than one microphone is" if alike else "no microphone is"
    some = ", ".join(known[:_MOST_NAMED]) + (f" and {more} more" if (more := len(known) - _MOST_NAMED) > 0 else "")
    raise Failure(f"{how} called {_name(wanted)} here; there are: {some}; choose one of these, or {OR_TYPE}")


def _name(text: str) -> str:
    return shortened(text, 60)


def _said(error: Exception) -> str:
    """What the library says of an error, without its numbers."""
    return shortened(": ".join(part for part in map(str, error.args[:1]) if part) or type(error).__name__, 80)


class Microphone:
    """Sound from one microphone, from `open` to `close`. The library's own thread fills a queue, and does no more."""

    def __init__(self, wanted: str = "") -> None:
        """Choose: a name or a part of one; empty for the usual one. Failure where it cannot be had."""
        self._sound = library()
        self._device = _chosen(self._sound, wanted)
        self.name = _name(str(self._device["name"]))
        self.rate_hz = round(float(self._device["default_samplerate"]))
        self.channels = 1
        self._blocks: SimpleQueue[tuple[bytes, bool] | None] = SimpleQueue()
        self._stream: Any = None
        self._waited = 0.0

    def open(self) -> None:
        """Begin to take sound in. Failure where another program holds it, or it is gone."""
        try:
            self._start(1)
        except (self._sound.PortAudioError, ValueError, OSError) as first:
            try:
                self._start(2)  # some sound cards know no single channel
            except (self._sound.PortAudioError, ValueError, OSError):
                raise Failure(
                    f"the microphone {self.name} cannot be opened ({_said(first)}): see that it is plugged in and no"
                    f" other program uses it, or {OR_TYPE}"
                ) from None

    def _start(self, channels: int) -> None:
        self.channels, self._blocks = channels, SimpleQueue()
        blocks = self._blocks
        stream = self._sound.RawInputStream(
            samplerate=self.rate_hz,
            blocksize=self.rate_hz // _BLOCKS_A_SECOND,
            device=self._device["index"],
            channels=channels,
            dtype="int32",
            latency=_BUFFERED_S,
            callback=self._arrived,
            finished_callback=lambda: blocks.put(None),
        )
        try:
            stream.start()
        except BaseException:
            stream.close(ignore_errors=True)
            raise
        self._stream = stream

    def _arrived(self, data: Any, _frames: int, _time: object, status: Any) -> None:
        self._blocks.put((bytes(data), bool(status.input_overflow)))

    def block(self, seconds: float) -> tuple[bytes, bool] | None:
        """The next samples (32-bit integers, channel beside channel), and whether some before them were lost.

        None where nothing comes in that time. Failure where the microphone has stopped.
        """
        try:
            found = self._blocks.get(timeout=seconds)
        except Empty:
            self._waited += seconds
            found = None
        else:
            self._waited = 0.0
            if found is None:
                raise Failure(STOPPED)
        if self._waited >= _PATIENCE_S:
            raise Failure(STOPPED)
        return found

    def close(self) -> None:
        """Let the microphone go; nothing where it is not open."""
        stream, self._stream = self._stream, None
        if stream is not None:
            stream.close(ignore_errors=True)
