"""A tool, a supply or a material that calls for a hazard nobody tells.

A table at the end of this page lists what calls for which hazard, at what grade, and where that comes from; programs
are handed the source with the finding. It asks for a hazard to be told and is no safety sheet. A word among what
is needed calls for a hazard of the whole work, of any step, or of a procedure that is run; a word in an action, for a
hazard of the whole work or of that step. It has to stand under the grade that is wanted, or a graver one. What is only
forbidden (`no flame`, `drill nothing`) calls for nothing. A table knows words and no drums: where it is wrong, silence
it with the reason. Advice; heat or friction on celluloid without a warning is an error.

Wrong:

    needs: {tools: [drum key, knives], parts: none, supplies: [acetone], before: none}
    hazards:
      - notice: {hazard: Its vapour catches fire, avoid: Keep the lid on}
    steps:
      - step: blow
        do: Blow the dust out of the lugs with compressed air.
      - step: edge
        do: Sand the celluloid flush with the edge.
        caution: {hazard: Dust in the lungs, consequence: A cough that stays, avoid: Mask on}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done

Says:

    1:27: 'knives' among the tools calls for a caution: the edge slips and cuts; no hazard here tells it [hazard]
    1:60: 'acetone' among the supplies calls for a warning: its vapour catches fire, and is breathed; it is told here
        only as a notice [hazard]
    6:44: 'compressed air' calls for a caution: it blows chips and dust into eyes and skin; neither the whole work nor
        this step tells it [hazard]
    8:18: 'celluloid' calls for a warning: it burns fiercely and needs no air; no heat, spark or friction comes near it;
        neither the whole work nor this step tells it [hazard]

Right:

    needs: {tools: [drum key, knife], parts: none, supplies: none, before: none}
    hazards:
      - caution: {hazard: The knife slips on the hard wrap, consequence: A cut hand, avoid: Cut away from the hand}
    steps:
      - step: trim
        do: Trim the wrap with the knife. No heat comes near it.
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

from ...procedure.findings import Finding
from ...procedure.linked import Linked
from ...procedure.parts import GRADES
from ..hazard_table import Row
from ..hazard_texts import Hazard, hazards
from ..hazard_words import Call, Place, called
from ..prose import by_words, instructions

ID = "hazard"


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each word that calls for a hazard which is not told where it counts."""
    own = list(hazards(linked))
    family = [hazard for book in linked.family() if book is not linked for hazard in hazards(book)]
    told: list[Row] = []
    for call in called(_needed(linked), laid_out=True):
        lack = _lack(call, [*own, *family], "no hazard here tells it")
        if lack:
            told.append(call.row)
            yield _finding(linked, call, f"'{call.word}' among the {call.path[1]}", lack)
    of_step: dict[str, list[Hazard]] = {"": []}
    for hazard in own:
        of_step.setdefault(hazard.step.step if hazard.step is not None else "", []).append(hazard)
    for step, places in _by_step(linked).items():
        near = [*of_step[""], *of_step.get(step, ())]
        for call in linked.worked.of((called, *places), partial(_called, places)):
            lack = _lack(call, near, "neither the whole work nor this step tells it")
            if lack and call.row not in told:
                yield _finding(linked, call, f"'{call.word}'", lack)


def _called(places: Sequence[Place]) -> list[Call]:
    return [*called(places)]


def _needed(linked: Linked) -> list[Place]:
    """What is laid out before the work; what must be so before it is a sentence, and no thing."""
    needs = linked.procedure.needs
    return [
        (("needs", key, number), item)
        for key in ("tools", "parts", "supplies")
        for number, item in enumerate(getattr(needs, key))
    ]


def _by_step(linked: Linked) -> dict[str, list[Place]]:
    """The instructions of each step."""
    found: dict[str, list[Place]] = {}
    for step, path, text in instructions(linked):
        found.setdefault(step.step, []).append((path, text))
    return found


def _lack(call: Call, given: Sequence[Hazard], otherwise: str) -> str:
    """What these hazards lack of what is wanted; "" where one of them tells it."""
    row, word = call.row, call.word.lower()
    telling = [hazard.grade for hazard in given if _tells(row, word, hazard.words)]
    if not telling:
        return otherwise
    best = min(telling, key=GRADES.index)
    return "" if GRADES.index(best) <= GRADES.index(row.grade) else f"it is told here only as a {best}"


@by_words
def _tells(row: Row, word: str, words: str) -> bool:
    return row.told.search(words) is not None or word in words


def _finding(linked: Linked, call: Call, what: str, lack: str) -> Finding:
    row = call.row
    place = linked.inside(call.path, call.at)
    message = f"{what} calls for a {row.grade}: {row.wants}; {lack}"
    return Finding(ID, message, place, severity=row.severity, witness={"source": row.source})
