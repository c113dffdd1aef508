"""`benchwalk tap`: the note of each tap in recordings, how sure it is, or why there is none."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

import click

from .common import say, say_json

if TYPE_CHECKING:
    from ..taps import Heard, Sound, Tap


@click.command("tap")
@click.argument("files", nargs=-1, required=True, metavar="FILE...")
@click.option("--band", nargs=2, type=float, metavar="LO HI", help="The note lies between these (Hz).")
@click.option(
    "--place", type=click.Choice(["rod", "centre", "shell"]), default="rod", help="Where the drum was tapped."
)
@click.option("--spectrum", is_flag=True, help="List the loudest lines of each tap too.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(files: tuple[str, ...], band: tuple[float, float] | None, place: str, spectrum: bool, as_json: bool) -> int:
    """Say the note of every tap in recordings (WAV, FLAC, AIFF or OGG).

    Beside a rod: the other head damped, one finger at the centre, the microphone over the rod, a soft tap, half a
    second to ring. Exit 0 where each recording gave a note, 1 where one was refused, 3 where a file could not be
    opened; the others are heard all the same.
    """
    from ..errors import Failure, Refused
    from ..taps import hear, read_sound, usable

    usable(band, place)
    rows: list[dict[str, Any]] = []
    unopened = 0
    for name in files:
        try:
            sound = read_sound(name)
        except Refused as refused:
            rows.append({"file": name, "rate_hz": None, "taps": [], "refused": refused.message})
            if not as_json:
                _refused(name, refused.message)
            continue
        except Failure as failure:
            rows.append({"file": name, "rate_hz": None, "taps": [], "refused": failure.message})
            unopened = failure.exit_code
            if not as_json:
                say(str(failure), complaint=True)
            continue
        heard = hear(sound, band=band, place=place)
        rows.append(
            {
                "file": name,
                "rate_hz": sound.rate,
                "taps": [_as_data(tap, sound if spectrum else None) for tap in heard.taps],
                "refused": heard.refused,
            }
        )
        if not as_json:
            _tell(name, sound, heard, place, spectrum)
    if as_json:
        say_json({"files": rows})
    return unopened or (1 if any(row["refused"] for row in rows) else 0)


def _as_data(tap: Tap, of: Sound | None) -> dict[str, Any]:
    """A tap as the contract has it, numbers as numbers; with the lines of its spectrum where it is given its sound."""
    from ..notes import note_text
    from ..taps.hearing import spectrum_of

    note, _, cents = note_text(Fraction(round(tap.pitch_hz * 1000), 1000)).partition(" ")
    return {
        "at_s": round(tap.at_s, 4),
        "pitch_hz": round(tap.pitch_hz, 4),
        "uncertainty_cents": round(tap.uncertainty_cents, 3),
        "note": note,
        "cents": int(cents.rstrip("c")) if cents else 0,
        "mode": tap.mode,
        "split_hz": None if tap.split_hz is None else round(tap.split_hz, 3),
        "second_hz": None if tap.second_hz is None else round(tap.second_hz, 3),
        "decay_per_s": round(tap.decay_per_s, 3),
        "snr_db": round(tap.snr_db, 1),
        **({} if of is None else {"spectrum": [[round(hz, 1), round(db, 1)] for hz, db in spectrum_of(of, tap.at_s)]}),
    }


def _refused(name: str, why: str) -> None:
    from ..procedure.showing import sentence

    say(f"{name}: no note. {sentence(why)}")


def _tell(name: str, sound: Sound, heard: Heard, place: str, spectrum: bool) -> None:
    """One recording in words."""
    from ..procedure.showing import sentence
    from ..taps import together
    from ..taps.hearing import spectrum_of
    from ..taps.words import spectrum_lines, tap_words, together_words

    if heard.refused is not None:
        _refused(name, heard.refused)
        return
    say(f"{name}:")
    for tap in heard.taps:
        say(f"  {sentence(tap_words(tap, place))}")
        if spectrum:
            for line in spectrum_lines(spectrum_of(sound, tap.at_s)):
                say(f"    {line}")
    for each in heard.left_out:
        say(f"  {sentence(f'at {each.at_s:.2f} s: left out; {each.why}')}")
    joint = together(heard.taps)
    if joint is not None and joint.count > 1:
        say(f"  {sentence(together_words(joint, place, heard.taps))}")
