"""A hazard under a grade that its words do not fit.

The grade says how bad it can be: `danger` kills or maims, `warning` could, `caution` could hurt, `notice` harms things
and nobody. One that is too high wears the high ones out; one that is too low is passed over. Told are an injury in a
notice, mere harm to things in any other, killing or maiming in a caution, and a small hurt alone in a danger or a
warning. It goes by words, what can happen and what it does, and where they say neither, it is silent. Advice.

Wrong:

    steps:
      - step: strand
        notice: {hazard: Strand ends stab, consequence: Pricked fingers, avoid: Glasses on}
        do: Lift the snares off by the plates.
      - step: wrap
        warning: {hazard: The key slips, consequence: A scratched shell, avoid: Tape round the lug}
        do: Turn the rod by a quarter turn.
      - step: mains
        caution: {hazard: The motor is live, consequence: An electric shock can kill, avoid: Unplug it}
        do: Look at the motor.
      - step: plate
        danger: {hazard: The plate has a burr, consequence: A scratched hand, avoid: Gloves on}
        do: Lift the plate off.
        end: done

Says:

    3:53: 'Pricked fingers' is an injury, and a notice is for harm to things; make it a caution [grade]
    6:51: 'A scratched shell' harms things, and a warning is for injuries; make it a notice [grade]
    9:55: 'An electric shock can kill' kills or maims, and a caution is for lesser injuries; make it a warning [grade]
    12:57: 'A scratched hand' is a small hurt, and a danger is for killing or maiming; make it a caution [grade]

Right:

    steps:
      - step: strand
        caution: {hazard: Strand ends stab, consequence: Pricked fingers, avoid: Glasses on}
        do: Lift the snares off by the plates.
      - step: wrap
        notice: {hazard: The key slips, consequence: A scratched shell, avoid: Tape round the lug}
        do: Turn the rod by a quarter turn.
      - step: mains
        warning: {hazard: The motor is live, consequence: An electric shock can kill, avoid: Unplug it}
        do: Look at the motor.
        end: done
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked
from ..hazard_texts import hazards
from ..prose import by_words, said

ID = "grade"

_LIMB = r"(?:hands?|fingers?|thumbs?|skin|arms?|wrists?|foot|feet|toes?|nails?|knuckles?|leg)"
_HURT = (
    r"(?:cut|crushed|pinched|pricked|burnt|burned|scratched|bruised|trapped|torn|sore|broken|stabbed|scraped|grazed)"
)
_SMALL = re.compile(
    rf"\b(?:pricked|scratched|bruised|sore|grazed|pinched) {_LIMB}\b|\b(?:bruises?|blisters?|pricks?)\b", re.I
)
_GRAVE = re.compile(
    r"\b(?:kills?|killed|deaths?|deadly|fatal|dies?|maims?|maimed|blinds?|blinded|blindness|electrocut\w*|"
    r"los(?:s of|e|es|t) (?:an?|the|your|one) (?:eye|finger|hand|thumb))\b",
    re.IGNORECASE,
)
_INJURY = re.compile(
    rf"{_GRAVE.pattern}|{_SMALL.pattern}|\b{_HURT} {_LIMB}\b|\b(?:cuts?|burns?|stabs?|pricks?|crushes|pinches) "
    rf"(?:the |your |a )?{_LIMB}\b|\b(?:injur\w+|wounds?|bleeding|scalds?|scalded|deaf\w*|poison\w*|toxic|lungs?|"
    r"eyesight|electric shock|broken bones?)\b|\b(?:harms?|damages?|loss of|lost) hearing\b|"
    r"\bin(?:to)? (?:the |your |an )?eyes?\b",
    re.IGNORECASE,
)
# What could hurt somebody, however it is said: where one of these stands, nothing is called mere harm to things.
_PERSON = re.compile(
    rf"{_INJURY.pattern}|\b(?:{_LIMB}|you|your|eyes?|face|ears?|hearing|back|breath\w*|burn\w*|fire|flames?|alight|"
    r"light it|explo\w+|sharp|stab\w*|prick\w*|hurt\w*|cuts?|loud|dust|fumes?|vapou?rs?|gas|shock|hot|heavy|heat|"
    r"fl(?:y|ies|ung)|springs?|lets? go|swarf|splinters?|acid|lead|child\w*|somebody|people|players?)\b",
    re.IGNORECASE,
)
_HARM = re.compile(
    r"\b(?:scratch\w*|dent\w*|tear\w*|torn|rip\w*|crack\w*|creas\w*|mar|mars|marred|spoil\w*|stain\w*|shear\w*|snap\w*|"
    r"break\w*|broken|bends?|bent|warp\w*|chip\w*|split\w*|wrinkl\w*|strips?|stripped|damag\w*|ruin\w*)\b",
    re.IGNORECASE,
)
_THING = re.compile(
    r"\b(?:films?|heads?|shells?|wraps?|hoops?|rods?|lugs?|threads?|screws?|finish|lacquer|varnish|cords?|strands?|"
    r"plates?|drums?|edges?|inserts?|gaskets?|bars?|cymbals?|pedals?|strainers?|butts?|wires?|snares?|clamps?|knobs?|"
    r"levers?|casings?|bowls?|resonators?|plating)\b",
    re.IGNORECASE,
)


def check(linked: Linked) -> Iterator[Finding]:
    """One piece of advice for each hazard whose words belong under another grade."""
    for hazard in hazards(linked):
        found = _misfit(hazard.grade, hazard.parts.hazard, hazard.parts.consequence or "")
        if found is not None:
            key, message = found
            place = linked.inside((*hazard.path, key), 0)
            yield Finding(ID, f"'{said(getattr(hazard.parts, key))}' {message}", place, severity="advice")


@by_words
def _misfit(grade: str, hazard: str, consequence: str) -> tuple[str, str] | None:
    """The part that does not fit its grade, and why."""
    words = f"{hazard}; {consequence}"
    if grade == "notice":
        wanted = "warning" if _GRAVE.search(words) else "caution"
        message = f"is an injury, and a notice is for harm to things; make it a {wanted}"
        return _telling(hazard, consequence, _INJURY, message)
    if _HARM.search(words) and _THING.search(words) and not _PERSON.search(words):
        return "consequence", f"harms things, and a {grade} is for injuries; make it a notice"
    if grade == "caution":
        message = "kills or maims, and a caution is for lesser injuries; make it a warning"
        return _telling(hazard, consequence, _GRAVE, message)
    if _SMALL.search(consequence) and not _INJURY.search(_SMALL.sub(" ", words)) and not _FIERCE.search(words):
        return "consequence", f"is a small hurt, and a {grade} is for killing or maiming; make it a caution"
    return None


_FIERCE = re.compile(
    r"\b(?:fire|flames?|burn\w*|alight|explo\w+|shock|mains|fumes?|gas|heavy|crush\w*|eyes?|lungs?)\b", re.I
)


def _telling(hazard: str, consequence: str, pattern: re.Pattern[str], message: str) -> tuple[str, str] | None:
    """The part in which one of these words stands, the consequence first."""
    for key, text in (("consequence", consequence), ("hazard", hazard)):
        if pattern.search(text):
            return key, message
    return None
