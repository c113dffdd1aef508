"""Where the names of a step's conditions are looked up, and how a name that is not there is told."""

from __future__ import annotations

from functools import partial

from . import model
from .binding import try_bind
from .bound import Bound
from .conditions import ConditionError, parse_condition
from .findings import Finding
from .linked import Linked, Path
from .variables import Sized, Variable, meant

__all__ = ["StepScope", "bind_condition", "meant"]


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

    def suggest(self, name: str) -> str:
        return meant(name, [*self.linked.variables, *self.linked.limits])


def bind_condition(
    linked: Linked, text: str, scope: StepScope, path: Path, each: tuple[str, ...] | str | None = None, offset: int = 0
) -> None:
    """Bind the condition at `path` (`offset` characters into that text) and keep it, or say what is wrong with it."""
    key = ("condition", text, scope.lookup("hold"), each)
    bound, errors, _asked = linked.worked.still(key, partial(_holds, scope), lambda: _bound(linked, text, scope, each))
    if bound is not None:
        linked.conditions[path] = bound
    for wrong in errors:
        linked.findings.append(Finding("condition", wrong.message, linked.inside(path, offset + wrong.offset)))


Asked = list[tuple[str, Variable | Sized | None]]
Told = tuple[Bound | None, list[ConditionError], Asked]


class _Heard(StepScope):
    """Remembers what was looked up and what was found."""

    def __init__(self, scope: StepScope) -> None:
        super().__init__(scope.linked, scope.step)
        self.asked: Asked = []

    def lookup(self, name: str) -> Variable | None:
        self.asked.append((name, found := super().lookup(name)))
        return found

    def constant(self, name: str) -> Sized | None:
        found = super().constant(name)
        self.asked.append((_LIMIT + name, found))
        return found


_LIMIT = "limit "


def _holds(scope: StepScope, told: Told) -> bool:
    """Whether a condition that was bound once means the same; what is wrong with one may hang on any name there is."""
    _bound, errors, asked = told
    return not errors and all(
        (scope.constant(name.removeprefix(_LIMIT)) if name.startswith(_LIMIT) else scope.lookup(name)) == found
        for name, found in asked
    )


def _bound(linked: Linked, text: str, scope: StepScope, each: tuple[str, ...] | str | None) -> Told:
    heard = _Heard(scope)
    try:
        bound, errors = try_bind(parse_condition(text), heard, each=each)
    except ConditionError as error:
        return None, [error], []
    return linked.worked.same(bound), errors, heard.asked
