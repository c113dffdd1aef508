"""A loudspeaker for the practice drum's sound, where there is one. Loaded only when a drum sounds."""

from __future__ import annotations

from typing import Any


class Speaker:
    """Plays taps. The first failure says why in `silent`, and nothing more is played: what is heard is also seen."""

    def __init__(self) -> None:
        self.silent = ""

    def play(self, samples: Any, rate: int) -> None:
        """Play samples (float64 from -1 to 1) without waiting for their end; what sounds still is cut off."""
        if self.silent:
            return
        try:
            import numpy as np
            import sounddevice

            sounddevice.play(np.asarray(samples, dtype=np.float32), rate)
        except (ImportError, OSError):
            self.silent = "No sound library is installed here (`pip install 'benchwalk[mic]'`): taps are shown alone."
        except Exception as error:
            # PortAudio has an error of its own, which cannot be named before its library was found.
            if type(error).__module__.partition(".")[0] != "sounddevice" and not isinstance(error, ValueError):
                raise
            self.silent = "There is no loudspeaker here: taps are shown alone."

    def close(self) -> None:
        """Let nothing sound any more."""
        import sys

        if not self.silent and "sounddevice" in sys.modules:
            sys.modules["sounddevice"].stop()
