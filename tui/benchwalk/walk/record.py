"""Noting a reading: what was typed, what it means, and how it stands to what is possible and wanted."""

from __future__ import annotations

from fractions import Fraction

from ..errors import Misread
from ..plaindata import Frozen
from ..procedure.linked import typed_value
from ..procedure.model import Reading
from ..quantities import Quantity, Range, decimal_text, with_unit
from .by_ear import by_ear
from .desk import Desk, Question
from .figures import exact
from .phase import advised_at
from .view import View
from .wording import hand_words, judge, turns_figure

LONGEST = 100_000
"""Most characters of a note or a reading in words."""

_FAR = Fraction(1, 4)
"""Turns: further off what is advised, an amount is asked about. A choice of ours."""


class Understood(Frozen):
    """A reading understood: the value as text, its unit, its judgement, and whether it lies outside the possible."""

    typed: str
    value: str
    unit: str
    verdict: str | None
    by: str | None
    against: int | None
    odd: bool
    shown: str


def understand(reading: Reading, name: str, typed: str, view: View, file: str | None = None) -> Understood:
    """What `typed` means for that reading; Misread where it is not clear. Nothing is noted."""
    typed = typed.strip()
    if not typed:
        raise Misread("nothing was typed; a value is expected")
    if len(typed) > LONGEST:
        raise Misread(f"{len(typed)} characters are more than a reading holds ({LONGEST})")
    if reading.sort == "choice":
        return _choice(reading, typed)
    if reading.sort in ("words", "picture", "sound"):
        return Understood(typed, file or typed, "", None, None, None, False, typed)
    heard = by_ear(typed, reading, name, view) if reading.sort == "note" else None
    quantity = heard or typed_value(typed, reading)
    return _number(reading, name, quantity, view)


def _choice(reading: Reading, typed: str) -> Understood:
    choices = reading.choices or {}
    low = typed.lower()
    exact = [word for word, said in choices.items() if low in (word.lower(), said.lower())]
    begun = [word for word, said in choices.items() if word.lower().startswith(low) or said.lower().startswith(low)]
    found = exact or begun
    if len(found) != 1:
        which = "more than one of" if found else "none of"
        raise Misread(f"'{typed[:40]}' is {which}: {', '.join(choices)}")
    word = found[0]
    verdict = None if reading.wanted is None else ("within" if word in reading.wanted else "outside")
    return Understood(typed, word, "", verdict, None, None, False, choices[word])


def _number(reading: Reading, name: str, quantity: Quantity, view: View) -> Understood:
    value = quantity.value
    possible = view.linked.possible.get(name)
    odd = possible is not None and not possible.contains(value)
    verdict, by, against = judge_number(name, value, view)
    unit = "Hz" if reading.sort == "note" else (reading.unit or "")
    return Understood(quantity.typed, exact(value), unit, verdict, by, against, odd, quantity.understood())


def judge_number(name: str, value: Fraction, view: View) -> tuple[str | None, str | None, int | None]:
    """(verdict, by how much, the event of the sum whose range it is judged by) of a number."""
    source = view.linked.wanted_from.get(name)
    if source is not None:
        found, rests_on = view.range(source), view.sources(source)
        against = rests_on[-1] if rests_on else None
        if found is None:
            return None, None, against
        verdict, by = judge(value, found[0])
        return verdict, by, against
    wanted = view.linked.wanted.get(name)
    if wanted is None:
        return None, None, None
    verdict, by = judge(value, wanted)
    return verdict, by, None


def note_value(
    desk: Desk,
    name: str,
    place: str | None,
    typed: str,
    *,
    sure: bool = False,
    late_at: str | None = None,
    file: str | None = None,
) -> int:
    """Note a reading of the step the walk is at; a value outside the possible is asked about unless `sure`."""
    visit, view = desk.visit, desk.view()
    reading = view.linked.procedure.readings[name]
    meant = understand(reading, name, typed, view, file)
    if not sure and (question := doubt(reading, name, place, meant, view)):
        raise question
    return desk.emit(
        "read",
        visit=visit.number,
        run=visit.run,
        name=name,
        place=place,
        typed=meant.typed,
        value=meant.value,
        unit=meant.unit,
        verdict=meant.verdict,
        by=meant.by,
        against=meant.against,
        odd=meant.odd,
        late_at=late_at,
        **heard_in(reading, file),
    )


def heard_in(reading: Reading, file: str | None) -> dict[str, str]:
    """The recording that a figure was heard in, as events carry it; nothing where it was typed."""
    return {"recording": file} if file is not None and reading.heard else {}


def doubt(reading: Reading, name: str, place: str | None, meant: Understood, view: View) -> Question | None:
    """What is asked about a value before it is noted: outside the possible, or against what is advised at its place."""
    if meant.odd:
        return _odd_value(view.linked.possible[name], meant)
    found = advised_at(reading, place, view)
    if found is not None and _against(found, reading, Fraction(meant.value)):
        return _not_advised(found, reading, meant)
    return None


def _against(found: Fraction, reading: Reading, value: Fraction) -> bool:
    """Whether an amount goes the other way than advised or, in turns, is far off it: most often a slip of the pen."""
    return found * value < 0 or (reading.unit == "turns" and abs(value - found) > _FAR)


def _not_advised(found: Fraction, reading: Reading, meant: Understood) -> Question:
    """The question asked about an amount that is not what a sum advised."""
    if reading.unit == "turns":
        shown, advice = turns_figure(Fraction(meant.value)), hand_words(found)
    else:
        shown, advice = meant.shown, with_unit(decimal_text(found), meant.unit)
    return Question(f"{shown} is not what is advised here ({advice}); look again, and if it is so, say it once more")


def _odd_value(possible: Range, meant: Understood) -> Question:
    """The question asked about a value outside what is possible."""
    return Question(
        f"{meant.shown} lies outside what is possible here ({possible.text(meant.unit)}); "
        "look again, and if it is so, say it once more"
    )
