"""Where the names of a step's conditions are looked up, and how a name that is not there is told."""

from __future__ import annotations

from collections.abc import Iterable

from . import model
from .binding import try_bind
from .bound import Bound
from .conditions import ConditionError, parse_condition
from .findings import Finding
from .linked import Linked, Path
from .variables import Sized, Variable, closest


class StepScope:
    """Where the names of a step's conditions are looked up; the hold is the step's own."""

    def __init__(self, linked: Linked, step: model.Step | None = None) -> None:
        self.linked = linked
        self.step = step

    def lookup(self, name: str) -> Variable | None:
        if name == "hold":
            hold = self.step.hold if self.step else None
            return Variable("hold", "hold", choices=tuple(hold.refused_for)) if hold else None
        return self.linked.variables.get(name)

    def constant(self, name: str) -> Sized | None:
        return self.linked.limits.get(name)

    def suggest(self, name: str) -> str | None:
        return closest(name, [*self.linked.variables, *self.linked.limits])


def meant(word: str, known: Iterable[str]) -> str:
    close = closest(word, known)
    return f"; did you mean '{close}'?" if close else ""


def bind_condition(
    linked: Linked, text: str, scope: StepScope, path: Path, each: tuple[str, ...] | str | None = None, offset: int = 0
) -> None:
    """Bind the condition at `path` (`offset` characters into that text) and keep it, or say what is wrong with it."""
    key = (text, scope.lookup("hold"), each, linked.once(_names))
    bound, errors = linked.worked.of(key, lambda: _bound(linked, text, scope, each))
    if bound is not None:
        linked.conditions[path] = bound
    for wrong in errors:
        linked.findings.append(Finding("condition", wrong.message, linked.inside(path, offset + wrong.offset)))


Told = tuple[Bound | None, list[ConditionError]]


def _names(linked: Linked) -> object:
    """Stands for all names that a condition can mean: the same thing again as long as an earlier text had them too."""
    return linked.worked.again(_names, (dict(linked.variables), dict(linked.limits)), object)


def _bound(linked: Linked, text: str, scope: StepScope, each: tuple[str, ...] | str | None) -> Told:
    try:
        bound, errors = try_bind(parse_condition(text), scope, each=each)
    except ConditionError as error:
        return None, [error]
    return linked.worked.same(bound), errors
