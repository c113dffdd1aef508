"""Binding a condition: finding what its names stand for, and turning each question into a test of one variable.

Constants are converted exactly into the variable's unit (1/4 in is 6.35 mm). Fixed `wanted` ranges become ranges here,
so only a range that a sum works out is left to be asked for while walking.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TypeGuard

from ..errors import Misread
from ..quantities import Range, convert, parse_note, parse_quantity
from .bound import AllOf, AnyOf, Atom, Bound, InRange, InVerdict, IsMissing, Node, NotOf, OneOf, Test
from .condition_nodes import And, Compare, Condition, Constant, HasResult, Is, Not, Operand, Or, Subject
from .condition_tokens import ConditionError, quoted
from .variables import FROM_A_SUM, ONLY_MISSING_KINDS, ROD, Scope, Variable, closest

VERDICTS = ("below", "within", "above")
_FLIPPED = {"<": ">", "<=": ">=", ">": "<", ">=": "<=", "=": "="}


def bind(condition: Condition, scope: Scope, *, each: tuple[str, ...] | str | None = None) -> Bound:
    """The condition with its names resolved; raises the first ConditionError.

    With `each` (the places an `each` step walks) a reading that has just these places may be named plainly and means
    the place walked at the moment: `rod where runs is binds`.
    """
    bound, problems = try_bind(condition, scope, each=each)
    if bound is None:
        raise problems[0]
    return bound


def try_bind(
    condition: Condition, scope: Scope, *, each: tuple[str, ...] | str | None = None
) -> tuple[Bound | None, list[ConditionError]]:
    """Like `bind`, but with every problem found; the condition is None if there is any."""
    binder = _Binder(scope, each)
    root = binder.node(condition)
    if root is None or binder.problems:
        return None, sorted(binder.problems, key=lambda problem: problem.offset)
    return Bound(root), []


class _Binder:
    def __init__(self, scope: Scope, each: tuple[str, ...] | str | None) -> None:
        self.scope = scope
        self.each = each
        self.problems: list[ConditionError] = []

    def node(self, condition: Condition) -> Node | None:
        if isinstance(condition, And | Or):
            parts = [self.node(part) for part in condition.parts]
            if not _whole(parts):
                return None
            return AllOf(tuple(parts)) if isinstance(condition, And) else AnyOf(tuple(parts))
        if isinstance(condition, Not):
            inner = self.node(condition.inner)
            return None if inner is None else NotOf(inner)
        try:
            if isinstance(condition, Compare):
                return self.compare(condition)
            if isinstance(condition, Is):
                return self.is_something(condition)
            return self.has_result(condition)
        except ConditionError as problem:
            self.problems.append(problem)
            return None

    # names

    def variable(self, subject: Subject) -> Variable:
        found = self.scope.lookup(subject.name)
        if found is not None:
            return found
        name_end = subject.name_at + len(subject.name)
        if self.scope.constant(subject.name) is not None:
            raise ConditionError(
                f"{quoted(subject.name)} is a limit; only readings and what comes from sums can be asked about",
                subject.name_at,
                name_end,
            )
        cure = self.scope.suggest(subject.name)
        raise ConditionError(f"nothing here is called {quoted(subject.name)}{cure}", subject.name_at, name_end)

    def atom(self, subject: Subject, variable: Variable, test: Test) -> Atom:
        """Check that the question fits the places the variable has."""
        how = subject.how
        if variable.places is None:
            if how == "plain":
                return Atom(variable, how, None, test)
            raise ConditionError(
                f"{quoted(variable.name)} has one value only; ask about it without '{how}'", subject.at, subject.end
            )
        if how == "plain":
            if self.each is not None and variable.places == self.each:
                return Atom(variable, "here", None, test)
            if isinstance(test, IsMissing):
                return Atom(variable, how, None, test)
            where = "rod" if variable.places == ROD else "place"
            raise ConditionError(
                f"{quoted(variable.name)} has a value for each {where}; say 'any' or 'all' before it"
                + (", or 'min(...)' or 'max(...)'" if variable.is_number else ""),
                subject.at,
                subject.end,
            )
        if how == "at":
            self.check_place(subject, variable)
        if how in ("min", "max") and not isinstance(test, InRange):
            raise ConditionError(
                f"'{how}(...)' is compared with a number; for other questions write 'any' or 'all'",
                subject.at,
                subject.end,
            )
        return Atom(variable, how, subject.place, test)

    def check_place(self, subject: Subject, variable: Variable) -> None:
        places = variable.places
        if isinstance(places, tuple) and subject.place in places:
            return
        if not isinstance(places, tuple):
            message = "rods are not asked about one by one, since their number differs; write 'any' or 'all'"
        else:
            near = closest(subject.place or "", places)
            cure = f"; did you mean {quoted(near)}?" if near else f"; it has {_listed(places)}"
            message = f"{quoted(variable.name)} has no place {quoted(subject.place or '')}{cure}"
        raise ConditionError(message, subject.place_at, subject.end)

    # comparisons

    def compare(self, condition: Compare) -> Node:
        operands = condition.operands
        measured = [operand for operand in operands if self.is_measured(operand)]
        if len(measured) > 1:
            raise ConditionError(
                f"{quoted(_text(measured[0]))} and {quoted(_text(measured[1]))} both come from this job; "
                "a relation between two is a sum: work it out and ask about its result",
                condition.at,
                condition.end,
            )
        if not measured:
            for operand in operands:
                if isinstance(operand, Subject) and self.scope.constant(operand.name) is None:
                    self.variable(operand)
            raise ConditionError(
                "nothing recorded is asked about here; one side must be a reading or come from a sum",
                condition.at,
                condition.end,
            )
        subject = measured[0]
        place = operands.index(subject)
        if len(operands) == 3 and place != 1:
            raise ConditionError(
                f"{quoted(_text(subject))} must stand in the middle, between its two bounds", subject.at, subject.end
            )
        variable = self.variable(subject)
        self.check_number(subject, variable, operands[1] if place == 0 else operands[0])
        low: tuple[Fraction, bool] | None = None
        high: tuple[Fraction, bool] | None = None
        for index, sign in enumerate(condition.signs):
            left = index == place  # the variable stands left of this sign
            value = self.constant(operands[index + 1 if left else index], variable)
            direction = sign if left else _FLIPPED[sign]
            if direction in (">", ">=", "="):
                low = (value, direction == ">")
            if direction in ("<", "<=", "="):
                high = (value, direction == "<")
        if low and high and (low[0] > high[0] or (low[0] == high[0] and (low[1] or high[1]))):
            raise ConditionError("no number lies between these two bounds", condition.at, condition.end)
        wanted = Range(
            low[0] if low else None,
            high[0] if high else None,
            low_open=bool(low and low[1]),
            high_open=bool(high and high[1]),
        )
        return self.atom(subject, variable, InRange(wanted))

    def is_measured(self, operand: Operand) -> TypeGuard[Subject]:
        """Whether an operand is a variable (and not a limit or a number)."""
        if not isinstance(operand, Subject):
            return False
        return operand.how != "plain" or self.scope.lookup(operand.name) is not None

    def check_number(self, subject: Subject, variable: Variable, other: Operand) -> None:
        if variable.is_number:
            return
        name = quoted(variable.name)
        if variable.is_choice:
            word = _text(other) if _text(other) in variable.words else (variable.words or ("...",))[0]
            message = f"{name} is a choice, not a number; write {quoted(f'{variable.name} is {word}')}"
        elif variable.kind == "sum":
            gives = self.scope.suggest(f"{variable.name}.")
            message = f"{name} is a sum; compare one of its results, or ask '{variable.name} has no result'{gives}"
        elif variable.kind == "range":
            message = f"{name} is a range, not a number; a reading that wants it can be asked 'is within'"
        else:
            message = f"{name} is {_article(variable.kind)}; it can only be asked 'is missing'"
        raise ConditionError(message, subject.at, subject.end)

    def constant(self, operand: Operand, variable: Variable) -> Fraction:
        if isinstance(operand, Subject):
            limit = self.scope.constant(operand.name)
            if limit is not None:
                try:
                    return convert(limit.value, limit.unit, variable.unit)
                except Misread:
                    raise ConditionError(
                        f"the limit {quoted(operand.name)} is in {limit.unit or 'no unit'}, "
                        f"but {quoted(variable.name)} is in {variable.unit or 'no unit'}",
                        operand.at,
                        operand.end,
                    ) from None
            if variable.kind != "note":
                self.variable(operand)  # says that there is no such name
        text = operand.text if isinstance(operand, Constant) else operand.name
        try:
            if variable.kind == "note":
                return parse_note(text).value
            return parse_quantity(text, variable.unit, whole=variable.kind == "whole").value
        except Misread as problem:
            raise ConditionError(problem.message, operand.at, operand.end) from None

    # words

    def is_something(self, condition: Is) -> Node:
        subject, word = condition.subject, condition.word
        variable = self.variable(subject)
        name, negated = quoted(variable.name), condition.negated

        def wrong(message: str) -> ConditionError:
            return ConditionError(message, condition.word_at, condition.end)

        if word in ("missing", *VERDICTS) and word in variable.choices and variable.kind != "hold":
            raise wrong(f"{quoted(word)} is a choice of {name} and has a meaning of its own too; rename the choice")
        if word == "missing":
            if variable.kind == "sum":
                raise wrong(f"{name} is a sum; write '{variable.name} has no result'")
            return self.atom(subject, variable, IsMissing(negated))
        if variable.kind in ONLY_MISSING_KINDS:
            raise wrong(f"{name} is {_article(variable.kind)}; it can only be asked 'is missing'")
        if word in VERDICTS:
            return self.atom(subject, variable, self.against_wanted(variable, condition))
        if variable.kind == "hold":
            return self.atom(subject, variable, OneOf(self.hold_words(variable, condition), negated))
        if condition.reason is not None:
            raise wrong(f"{name} is not a hold; only a hold is refused for a reason")
        if variable.is_choice:
            if word in variable.choices:
                return self.atom(subject, variable, OneOf(frozenset((word,)), negated))
            near = closest(word, variable.choices)
            cure = f"did you mean {quoted(near)}?" if near else f"it has {_listed(variable.choices)}"
            raise wrong(f"{name} has no choice {quoted(word)}; {cure}")
        if variable.kind == "sum":
            gives = self.scope.suggest(f"{variable.name}.")
            raise wrong(f"{name} is a sum; ask about one of its results, or '{variable.name} has no result'{gives}")
        if variable.kind == "range":
            raise wrong(f"{name} is a range; it can only be asked 'is missing'")
        if word[0].isdigit() or word[0] in "+-." or self.scope.constant(word) is not None:
            sign = f"not ({variable.name} = {word})" if negated else f"{variable.name} = {word}"
            raise wrong(f"a number is compared with a sign; write {quoted(sign)}")
        raise wrong(f"{name} is a number; ask 'is below', 'is within', 'is above', 'is missing', or compare it")

    def against_wanted(self, variable: Variable, condition: Is) -> Test:
        word, negated, name = condition.word, condition.negated, quoted(variable.name)
        wanted = variable.wanted
        message = ""
        if variable.is_choice and wanted and isinstance(wanted, tuple):
            if word == "within":
                return OneOf(frozenset(wanted), negated)
            message = f"a choice is never '{word}' what is wanted; write 'is not within', or name the choice"
        elif variable.is_number and wanted == FROM_A_SUM:
            return InVerdict(word, negated)
        elif variable.is_number and isinstance(wanted, Range):
            region = outside(wanted, word)
            if region is not None:
                return InRange(region, negated)
            end = "lower" if word == "below" else "upper"
            message = f"{name} is never {word} what is wanted, which has no {end} end"
        elif variable.kind in ("range", "sum"):
            message = f"{name} is a {variable.kind}, and nothing is wanted of it"
        else:
            message = f"{name} does not say what is wanted, so nothing is {word} it; add 'wanted', or compare it"
        raise ConditionError(message, condition.word_at, condition.end)

    def hold_words(self, variable: Variable, condition: Is) -> frozenset[str]:
        word, reason = condition.word, condition.reason
        if reason is not None:
            if reason in variable.choices:
                return frozenset((f"refused for {reason}",))
            near = closest(reason, variable.choices)
            cure = f"did you mean {quoted(near)}?" if near else "name it under 'refused_for'"
            raise ConditionError(
                f"this hold is not refused for {quoted(reason)}; {cure}", condition.reason_at, condition.end
            )
        if word in ("released", "refused"):
            return frozenset(value for value in variable.words if value.startswith(word))
        raise ConditionError(
            f"a hold is released or refused, but {quoted(word)} was found", condition.word_at, condition.end
        )

    def has_result(self, condition: HasResult) -> Node:
        subject = condition.subject
        variable = self.variable(subject)
        if variable.kind != "sum":
            cure = f"'{variable.sum} has no result' or " if variable.sum else ""
            raise ConditionError(
                f"{quoted(variable.name)} is not a sum; write {cure}'{variable.name} is missing'",
                condition.at,
                condition.end,
            )
        return self.atom(subject, variable, IsMissing(negated=not condition.negated))


def outside(wanted: Range, verdict: str) -> Range | None:
    """The numbers that are below, within or above `wanted`; None when there are none."""
    if verdict == "within":
        return wanted
    if verdict == "below":
        return None if wanted.low is None else Range(None, wanted.low, high_open=not wanted.low_open)
    return None if wanted.high is None else Range(wanted.high, None, low_open=not wanted.high_open)


def _whole(parts: list[Node | None]) -> TypeGuard[list[Node]]:
    return all(part is not None for part in parts)


def _text(operand: Operand) -> str:
    return operand.text if isinstance(operand, Constant) else operand.name


def _listed(words: tuple[str, ...]) -> str:
    return ", ".join(quoted(word) for word in words)


def _article(kind: str) -> str:
    return {"words": "free text", "picture": "a picture", "sound": "a recording"}.get(kind, f"a {kind}")
