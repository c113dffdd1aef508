"""What is asked when a drum is taken in, one list for every place that asks it, and what a job is opened with."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from functools import partial
from typing import NamedTuple

from ..errors import Failure, Refused
from ..job.shop import Shop
from ..job.words import some_lines
from ..procedure.facts import FACTS
from ..procedure.linked import Linked
from ..walk.job_acts import fact_data

QUESTIONS = {
    "owner": "Whose drum is it?",
    "contact": "How are they reached? (Enter: not said)",
    "instrument": "Which drum is it (kind, size)?",
    "complaint": "What do they complain of?",
    "promised": "For when is it promised? (Enter: not said)",
    "tag": "Tag and shelf? (Enter: none)",
}
MAY_BE_EMPTY = ("contact", "promised", "tag")
_PERSONAL = {"owner": "name", "contact": "contact"}


class Asked(NamedTuple):
    """One question: its name, what is asked, whether it is a fact of the drum, whether it may stay empty.

    `check` raises Refused for an answer that cannot be understood.
    """

    name: str
    ask: str
    fact: bool
    may_be_empty: bool
    check: Callable[[str], object]


class TakenIn(NamedTuple):
    """What a job is opened with: facts of the drum, notes of the job, and the owner's personal facts."""

    drum: dict[str, str]
    note: dict[str, str]
    owner: dict[str, str]


def questions(linked: Linked, more: Mapping[str, str] | None = None) -> list[Asked]:
    """All that is asked for a procedure, in order; `more` are facts of the drum that were given beyond the needed."""
    said = partial(some_lines, what="the answer")
    asked = [Asked(name, ask, False, name in MAY_BE_EMPTY, said) for name, ask in QUESTIONS.items()]
    for name in dict.fromkeys([*linked.needed_facts(), *(more or ())]):
        asked.append(Asked(name, FACTS[name].ask + "?", True, False, partial(fact_data, name)))
    return asked


def must_be_writable(shop: Shop) -> None:
    """Failure where this account can begin no job in a shop: said before anything is asked, not after it was typed."""
    folder = shop.jobs_folder if shop.jobs_folder.exists() else shop.root
    if not os.access(folder, os.W_OK | os.X_OK):
        raise Failure("this shop can only be read by this account, so no job can be begun in it", os.fspath(folder))


def taken_in(asked: list[Asked], answers: Mapping[str, str]) -> TakenIn:
    """The answers where they belong. Raises Refused for one that is missing or cannot be understood."""
    found = TakenIn({}, {}, {})
    for each in asked:
        answer = answers.get(each.name, "").strip()
        if not answer:
            if not each.may_be_empty:
                raise Refused(f"'{each.ask}' is not answered yet")
            continue
        each.check(answer)
        if each.fact:
            found.drum[each.name] = answer
        elif each.name in _PERSONAL:
            found.owner[_PERSONAL[each.name]] = answer
        else:
            found.note[each.name] = answer
    return found
