"""A step as a sheet looks at it: what is known fills its texts, what is not is a place to write; ways on in words."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from ..procedure.bound import IsMissing
from ..procedure.condition_nodes import And, Compare, Condition, Constant, HasResult, Is, Not, Operand, Subject
from ..procedure.conditions import parse_condition
from ..procedure.evaluate import evaluate
from ..procedure.linked import Linked, Path
from ..procedure.model import Step
from ..walk.foretold import Called, called, foretold
from ..walk.state import State
from ..walk.view import View
from ..walk.wording import NOT_NOTED, as_typed, said
from .parts import BLANK

Alone = Compare | Is | HasResult
_FIELD = re.compile(r"\{\{.*?\}\}", re.DOTALL)
_NOT_YET = ": not known yet)"
_SIGNS = {"<": "below", "<=": "at most", ">": "above", ">=": "at least", "=": "exactly"}
_TURNED = {"<": ">", "<=": ">=", ">": "<", ">=": "<=", "=": "="}
_MANY = {"any": "any of", "all": "every", "min": "the least of", "max": "the greatest of"}
OTHERWISE = "in any other case"


@dataclass
class Sight:
    """A step with what can be seen from it.

    `marks` are the letters of what it asks, by name; `number` names another step with its number; `stay` is the visit
    whose readings are answers to what is asked, 0 where nothing is answered yet.
    """

    linked: Linked
    step: Step
    view: View
    given: Called
    number: Callable[[str], str]
    stay: int = 0
    marks: Mapping[str, str] = field(default_factory=dict)

    @property
    def at(self) -> Path:
        """Where the step stands in its procedure."""
        return ("steps", self.linked.at[self.step.step])

    def text(self, text: str, *key: str | int) -> str:
        """One of the step's texts, which stands at `key` in it."""
        return filled(text, self.view, (*self.at, *key), self.given, {} if self.stay else self.marks)

    def call(self, name: str) -> str:
        """What a value is called in the ways on: by its letter here, else in words, and its value where it is known."""
        if name in self.marks:
            return self.marks[name]
        known = said(name, self.view)
        words = called(name, self.linked, self.given)
        return words if known == NOT_NOTED else f"{words} ({known})"

    # --- conditions ---

    def when(self, text: str) -> str:
        """A condition in words."""
        if text.strip() == "otherwise":
            return OTHERWISE
        return self._said(parse_condition(text))

    def settled(self, index: int) -> bool | None:
        """Whether a branch is taken, as far as what was handed in decides it alone; None where it does not.

        What was noted does not count here: it may be noted anew.
        """
        key = "branches" if self.step.branches else "first_of"
        bound = self.linked.conditions.get((*self.at, key, index, "when"))
        if bound is None or any(isinstance(atom.test, IsMissing) for atom in bound.atoms):
            return None
        return evaluate(bound, View(State(given={self.view.run: dict(self.view.given)}), self.linked, self.view.run))

    def _said(self, node: Condition) -> str:
        if isinstance(node, Compare):
            return self._compared(node)
        if isinstance(node, Is):
            return self._is(node)
        if isinstance(node, HasResult):
            name = called(node.subject.name, self.linked, self.given)  # whether it has one is asked: no value beside it
            return f"{name} has {'no' if node.negated else 'a'} result"
        if isinstance(node, Not):
            return f"not ({self._said(node.inner)})"
        word = " and " if isinstance(node, And) else " or "
        return word.join(self._said(p) if isinstance(p, Alone) else f"({self._said(p)})" for p in node.parts)

    def _compared(self, node: Compare) -> str:
        """`a below 1 mm`, `a at least 1/3 and at most 2/3`."""
        middle = next((i for i, o in enumerate(node.operands) if not self._constant(o)), 0)
        subject = node.operands[middle]
        assert isinstance(subject, Subject)
        unit = self.linked.variables[subject.name].unit if subject.name in self.linked.variables else ""
        ends = []
        for index, sign in enumerate(node.signs):
            turned = _TURNED[sign] if index < middle else sign
            other = node.operands[index if index < middle else index + 1]
            ends.append(f"{_SIGNS[turned]} {self._value(other, unit)}")
        return f"{self._subject(subject)} {' and '.join(ends)}"

    def _constant(self, operand: Operand) -> bool:
        return isinstance(operand, Constant) or operand.name in self.linked.limits

    def _value(self, operand: Operand, unit: str) -> str:
        if isinstance(operand, Constant):
            return as_typed(operand.text, unit)
        limit = self.linked.limits.get(operand.name)
        return as_typed(limit.typed, limit.unit) if limit is not None else self._subject(operand)

    def _is(self, node: Is) -> str:
        name, negated = node.subject.name, "not " if node.negated else ""
        if name == "hold":
            reasons = self.step.hold.refused_for if self.step.hold else {}
            why = f" for: {reasons.get(node.reason, node.reason)}" if node.reason else ""
            return f"{negated}{node.word}{why}"
        subject = self._subject(node.subject)
        if name.endswith(".outcome"):
            return f"the part {name.partition('.')[0].replace('_', ' ')} {negated or 'has '}ended {node.word}"
        if node.word == "missing":
            return f"{subject} {'was noted' if node.negated else 'was left out'}"
        if node.word in ("within", "below", "above"):
            word = {"within": "as wanted", "below": "below what is wanted", "above": "above what is wanted"}[node.word]
            return f"{subject} {negated}{word}"
        return f"{subject}: {negated}{self.shown(name, node.word)}"

    def shown(self, name: str, word: str) -> str:
        """What is shown for the word of a choice."""
        reading = self.linked.reading(name)
        if reading is not None and reading.choices:
            return reading.choices.get(word, word)
        for step in self.linked.steps.values():
            for way in step.choose.ways if step.choose and step.choose.as_ == name else ():
                if way.way == word:
                    return way.say
        take = self.linked.procedure.takes.get(name)
        return (take.choices or {}).get(word, word) if take is not None else word

    def _subject(self, subject: Subject) -> str:
        name = self.call(subject.name)
        if subject.how == "at":
            return f"{name} at {subject.place}"
        return f"{_MANY[subject.how]} {name}" if subject.how in _MANY else name


def filled(text: str, view: View, path: Path, given: Called, marks: Mapping[str, str]) -> str:
    """The text with what is known in place, and a place to write for what is not, with what it is called.

    What is asked at the same stop is called by its letter.
    """

    def value(found: re.Match[str]) -> str:
        name = found.group().strip("{} ")
        if name in marks:
            return f"({marks[name]})"
        known = foretold(found.group(), view, path, given)
        if not (known.startswith("(") and known.endswith(_NOT_YET)):
            return known
        inside = text[: found.start()].endswith("(") and text[found.end() :].startswith(")")
        words = known[1 : -len(_NOT_YET)]
        return f"{BLANK}, {words}" if inside else f"{BLANK} ({words})"

    return _FIELD.sub(value, text)
