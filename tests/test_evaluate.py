"""What a condition answers: true, false, or neither where something was not recorded."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchwalk.procedure.binding import bind
from benchwalk.procedure.conditions import parse_condition
from benchwalk.procedure.evaluate import Values, evaluate
from benchwalk.procedure.variables import FROM_A_SUM, ROD, Names, Variable
from benchwalk.quantities import Range, parse_quantity

F = Fraction
SIDES = ("butt side", "strainer side")
SCOPE = Names(
    [
        Variable("a", "number", "mm"),
        Variable("b", "number", "mm"),
        Variable("gap", "number", "mm", wanted=FROM_A_SUM),
        Variable("lie", "choice", choices=("all", "some", "none"), wanted=("all", "some")),
        Variable("p", "number", "mm", places=SIDES),
        Variable("note", "note", "Hz", places=ROD),
        Variable("seen", "choice", choices=("x", "y"), places=ROD),
        Variable("hold", "hold", choices=("gap", "knot")),
        Variable("advice", "sum"),
        Variable("advice.spread", "number", "cents", sum="advice"),
        Variable("picture", "picture"),
        Variable("each_gap", "number", "mm", wanted=FROM_A_SUM, places=SIDES),
    ],
    {"least": parse_quantity("0.1", "mm"), "quarter": parse_quantity("1/4 in", "in")},
)


class Seen:
    """Recorded values and verdicts, in dictionaries."""

    def __init__(self, values: Mapping[str, Values], verdicts: Mapping[str, str] | None = None) -> None:
        self.values, self.verdicts = values, verdicts or {}

    def value(self, name: str) -> Values:
        return self.values.get(name)

    def verdict(self, name: str, place: str | None = None) -> str | None:
        return self.verdicts.get(name if place is None else f"{name} at {place}")


def answer(text: str, values: Mapping[str, Values] | None = None, place: str | None = None, **verdicts: str) -> object:
    """What `text` answers when `values` are recorded."""
    return evaluate(bind(parse_condition(text), SCOPE), Seen(values or {}, verdicts), place)


# --- against Python's own meaning -------------------------------------------------------------------------------------

NUMBERS = st.integers(-8, 8).map(lambda n: F(n, 4))
SIGNS = st.sampled_from(["<", "<=", ">", ">=", "="])


class Three:
    """A truth of three values with &, | and ~, written without a look at the module under test."""

    def __init__(self, answer: bool | None) -> None:
        self.rank = {False: 0, None: 1, True: 2}[answer]

    def __and__(self, other: Three) -> Three:
        return self.of(min(self.rank, other.rank))

    def __or__(self, other: Three) -> Three:
        return self.of(max(self.rank, other.rank))

    def __invert__(self) -> Three:
        return self.of(2 - self.rank)

    @staticmethod
    def of(rank: int) -> Three:
        return Three((False, None, True)[rank])

    @property
    def answer(self) -> bool | None:
        return (False, None, True)[self.rank]


@st.composite
def atoms(draw: st.DrawFn) -> tuple[str, str]:
    """One question, in our language and as Python source over a, b, lie and the class T."""
    which = draw(st.integers(0, 4))
    name = draw(st.sampled_from(["a", "b"]))
    number = draw(NUMBERS)
    if which == 0:
        sign = draw(SIGNS)
        python = "==" if sign == "=" else sign
        return f"{name} {sign} {number} mm", f"T(None if {name} is None else {name} {python} F({str(number)!r}))"
    if which == 1:
        low, high = sorted((number, draw(NUMBERS.filter(lambda n: n != number))))
        first, second = draw(st.sampled_from(["<", "<="])), draw(st.sampled_from(["<", "<="]))
        chain = f"F({str(low)!r}) {first} {name} {second} F({str(high)!r})"
        return f"{low} {first} {name} {second} {high}", f"T(None if {name} is None else {chain})"
    if which == 2:
        no = draw(st.booleans())
        return f"{name} is {'not ' * no}missing", f"T({name} is {'not ' * no}None)"
    word, no = draw(st.sampled_from(["all", "some", "none"])), draw(st.booleans())
    return f"lie is {'not ' * no}{word}", f"T(None if lie is None else lie {'!=' if no else '=='} {word!r})"


def joined(inner: st.SearchStrategy[tuple[str, str]]) -> st.SearchStrategy[tuple[str, str]]:
    """Negations and chains of what is given, in both languages."""
    several = st.lists(inner, min_size=2, max_size=3)
    return st.one_of(
        inner.map(lambda one: (f"not ({one[0]})", f"~({one[1]})")),
        several.map(lambda all_: (" and ".join(f"({t})" for t, _ in all_), " & ".join(f"({p})" for _, p in all_))),
        several.map(lambda all_: (" or ".join(f"({t})" for t, _ in all_), " | ".join(f"({p})" for _, p in all_))),
    )


@settings(max_examples=600)
@given(
    st.recursive(atoms(), joined, max_leaves=5),
    NUMBERS | st.none(),
    NUMBERS | st.none(),
    st.sampled_from(["all", "some", "none", None]),
)
def test_answers_are_those_of_python(both: tuple[str, str], a: Values, b: Values, lie: Values) -> None:
    """A condition answers what the same expression answers in Python over fractions, missing values included."""
    text, python = both
    expected: Three = eval(python, {"T": Three, "F": F, "a": a, "b": b, "lie": lie})
    assert answer(text, {"a": a, "b": b, "lie": lie}) is expected.answer


# --- single promises ------------------------------------------------------------------------------------------------


def test_numbers_are_exact() -> None:
    """Decimals are compared as typed: a tenth and two tenths are three tenths, and a quarter inch is 6.35 mm."""
    assert answer("a <= 0.3", {"a": F("0.1") + F("0.2")}) is True
    assert answer("a < 0.3", {"a": F("0.1") + F("0.2")}) is False
    assert answer("a = quarter", {"a": F("6.35")}) is True
    assert answer("a >= least", {"a": F("0.1")}) is True


def test_missing_is_neither_and_so_is_its_not() -> None:
    """A test of a value that was not recorded is neither true nor false, nor is its opposite; `is missing` is true."""
    for text in ("a < 3", "not (a < 3)", "lie is all", "lie is not within", "gap is below", "a < 3 or b < 1"):
        assert answer(text) is None
    assert answer("a is missing") is True
    assert answer("picture is not missing") is False
    assert answer("a is missing or a < 3") is True
    assert answer("a is not missing and a < 3") is False


@pytest.mark.parametrize(
    ("values", "any_", "all_", "least", "none_there", "some_gone"),
    [
        ((F(1), F(5)), True, False, False, False, False),
        ((F(4), F(5)), True, True, True, False, False),
        ((F(1), F(2)), False, False, False, False, False),
        ((F(5), None), True, None, None, False, True),
        ((F(1), None), None, False, None, False, True),
        ((None, None), None, None, None, True, True),
    ],
)
def test_places_answer_together(
    values: tuple[Values, Values], any_: object, all_: object, least: object, none_there: bool, some_gone: bool
) -> None:
    """`any`, `all`, `min` and `is missing` over places follow the written rule, for recorded and missing places."""
    seen: dict[str, Values] = {"p": dict(zip(SIDES, values, strict=True))}  # type: ignore[arg-type]
    assert answer("any p > 3", seen) is any_
    assert answer("all p > 3", seen) is all_
    assert answer("min(p) > 3", seen) is least
    assert answer("p is missing", seen) is none_there
    assert answer("p is not missing", seen) is not none_there
    assert answer("any p is missing", seen) is some_gone
    assert answer("all p is missing", seen) is none_there
    assert answer("all p is not missing", seen) is not some_gone


def test_a_place_that_was_never_asked_counts_as_missing() -> None:
    """A named place without an entry is missing, also when the whole reading is."""
    assert answer("all p > 3", {"p": {"butt side": F(5)}}) is None
    assert answer("p at butt side > 3", {"p": {"butt side": F(5)}}) is True
    assert answer("p at strainer side > 3", {"p": {"butt side": F(5)}}) is None
    assert answer("p at strainer side is missing", {"p": {"butt side": F(5)}}) is True
    assert answer("any p is missing") is True


def test_rods_nobody_counted_are_missing_together() -> None:
    """Before any rod is recorded nothing is known about any or all of them, but that they are missing."""
    for seen in ({}, {"note": None}, {"note": {}}):
        assert answer("any note > 200", seen) is None
        assert answer("all note > 200", seen) is None
        assert answer("max(note) > 200", seen) is None
        assert answer("note is missing", seen) is True
        assert answer("any note is missing", seen) is True
        assert answer("any note is not missing", seen) is False
    assert answer("max(note) <= 220 Hz", {"note": {"1": F(200), "2": F(220)}}) is True


def test_a_range_from_a_sum_is_answered_by_the_record() -> None:
    """`is below` against a range a sum works out is what was recorded then, whatever the number."""
    assert answer("gap is below", {"gap": F(3)}, gap="below") is True
    assert answer("gap is not below", {"gap": F(3)}, gap="within") is True
    assert answer("gap is above", {"gap": F(3)}) is None
    seen = {"each_gap": {"butt side": F(1), "strainer side": F(9)}}
    verdicts = {"each_gap at butt side": "below", "each_gap at strainer side": "within"}
    assert answer("any each_gap is below", seen, **verdicts) is True
    assert answer("all each_gap is within", seen, **verdicts) is False


def test_holds_and_sums_answer_in_their_own_words() -> None:
    """A hold is released or refused for a reason; a sum has a result or none, and that is never unknown."""
    assert answer("hold is refused", {"hold": "refused for gap"}) is True
    assert answer("hold is refused for knot", {"hold": "refused for gap"}) is False
    assert answer("hold is released", {"hold": "released"}) is True
    assert answer("advice has no result") is True
    assert answer("advice has a result", {"advice": "a result"}) is True
    assert answer("advice.spread > 5") is None


def test_the_place_walked_now_is_asked() -> None:
    """A condition bound for each place answers for the place that is handed in."""
    bound = bind(parse_condition("seen is x"), SCOPE, each=ROD)
    view = Seen({"seen": {"1": "x", "2": "y"}})
    assert [evaluate(bound, view, place) for place in ("1", "2", "3")] == [True, False, None]


@pytest.mark.parametrize(
    ("verdict", "low_open", "high_open"),
    [("below", False, False), ("within", True, False), ("above", False, True), ("within", True, True)],
)
def test_fixed_wanted_agrees_with_the_range_itself(verdict: str, low_open: bool, high_open: bool) -> None:
    """`is below | within | above` against a fixed range answers exactly what the range says of the value."""
    wanted = Range(F(2), F(4), low_open, high_open)
    scope = Names([Variable("x", "number", "mm", wanted=wanted)])
    bound = bind(parse_condition(f"x is {verdict}"), scope)
    for quarter in range(25):
        value = F(quarter, 4)
        assert evaluate(bound, Seen({"x": value})) is (wanted.verdict(value) == verdict)
