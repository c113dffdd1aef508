"""Why a recording or a tap gives no note, each with what to do about it."""

from __future__ import annotations


class Why:
    """The reasons, as sentences."""

    NO_TAP = "no tap is heard on this recording: bring the microphone over the rod and tap once, then let it ring"
    CLIPPED = "the recording is overdriven: turn the microphone's level down, or tap softer"
    TOO_CLOSE = "the taps follow each other too fast: let each ring for half a second"
    TOO_SHORT = "the recording ends too soon after the tap: let it ring for half a second before you stop"
    MUFFLED = "it rings for less than 150 ms: take the muffling off, and touch the centre with one finger only"
    HARD = "struck too hard, the note sinks while it rings: tap softer, and let it ring for a second"
    NO_NOTE = (
        "this sounds like speech or noise, not like a drum that rings: hush the room, bring the microphone nearer and "
        "tap again"
    )
    MUSIC = "this sounds like a string or a voice, and not like a drum: hush the room, and tap beside a rod"
    WHOLE_DRUM = "the whole drum rings: touch the centre with one finger, or say that you tap the centre"
    FAINT = "the rod note is too faint to tell: tap 25 to 30 mm inside the rod, the microphone over it"
    OTHER_HEAD = "the other head rings: damp it with a pad or a folded cloth, and tap again"

    BESIDE = (
        "another head rings beside the one that was struck: lay the pad on the other head and nothing on this one, and "
        "tap again"
    )

    @staticmethod
    def hum(hz: float) -> str:
        """Something runs in the room."""
        return (
            f"a steady hum at {hz:.0f} Hz and no tap over it: switch off the compressor or motor, or move away from "
            "it, and tap again"
        )

    @staticmethod
    def beyond(hz: float) -> str:
        """What rings is no note that is told."""
        side = f"{hz:.1f} Hz, below" if hz < 1000 else f"{hz:.0f} Hz, above"
        return f"it rings at {side} the notes that are told, 40 to 2000 Hz: tap beside a rod, or type the note"

    @staticmethod
    def not_in_band(low: float, high: float) -> str:
        """Something rings, and not where the note was looked for."""
        return f"nothing rings between {low:g} and {high:g} Hz: widen the band, or leave it out"
