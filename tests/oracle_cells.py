"""An independent judge of branches: every sampled case is simply evaluated.

It knows nothing of cells. Constants in generated conditions are whole numbers from -1 to 1, and numbers are sampled at
every half from -2 to 2 and far out, so that each constant, each space between two and each end is met. Places are
tried in every combination.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations_with_replacement, product

from benchwalk.procedure.binding import bind
from benchwalk.procedure.bound import Bound
from benchwalk.procedure.conditions import parse_condition
from benchwalk.procedure.evaluate import Values, evaluate
from benchwalk.procedure.variables import FROM_A_SUM, ROD, Names, Variable
from benchwalk.quantities import Range

F = Fraction
SAMPLES = [F(n, 2) for n in range(-4, 5)] + [F(-40), F(40)]
SIDES = ("left side", "right side")

POOL = {
    "x": Variable("x", "number", "mm", possible=Range(F(-1), F(2)), wanted=Range(F(0), F(1), high_open=True)),
    "y": Variable("y", "number", "mm"),
    "z": Variable("z", "number", "mm", possible=Range(F(0), None, low_open=True), wanted=Range(None, F(1))),
    "n": Variable("n", "whole", possible=Range(F(-2), F(40))),
    "lie": Variable("lie", "choice", choices=("all", "some", "none"), wanted=("all",)),
    "gap": Variable("gap", "number", "mm", wanted=FROM_A_SUM),
    "p": Variable("p", "number", "mm", places=SIDES, possible=Range(F(-2), F(2))),
    "s": Variable("s", "choice", choices=("u", "v"), places=SIDES),
    "r": Variable("r", "number", "mm", places=ROD, possible=Range(F(-1), F(1))),
    "t": Variable("t", "choice", choices=("u", "v"), places=ROD),
    "advice": Variable("advice", "sum"),
    "advice.spread": Variable("advice.spread", "number", "mm", sum="advice"),
    "advice.side": Variable("advice.side", "choice", choices=("l", "r"), sum="advice"),
    "room": Variable("room", "sum"),
    "room.r": Variable("room.r", "number", "mm", possible=Range(F(0), None), resolution=F(1), sum="room"),
    "room.d": Variable("room.d", "number", "mm", resolution=F(2), sum="room"),
    "far.outcome": Variable("far.outcome", "outcome", choices=("done", "stopped")),
    "far.way": Variable("far.way", "choice", choices=("on", "off"), sure_when=("far.outcome", ("done",))),
    "picture": Variable("picture", "picture"),
}
SCOPE = Names(POOL.values())
GROUPS = [("advice", "advice.spread", "advice.side"), ("room", "room.r", "room.d"), ("far.outcome", "far.way")]


@dataclass(frozen=True)
class Case:
    """Branches in words (None: otherwise), and what may be missing."""

    branches: tuple[str | None, ...]
    missing: Mapping[str, object]
    mode: str

    def bound(self) -> list[Bound | None]:
        return [None if text is None else bind(parse_condition(text), SCOPE) for text in self.branches]


@dataclass(frozen=True)
class State:
    """One sampled way for all answers to come out."""

    values: Mapping[str, Values]
    verdicts: Mapping[tuple[str, str | None], str]

    def value(self, name: str) -> Values:
        return self.values.get(name)

    def verdict(self, name: str, place: str | None = None) -> str | None:
        return self.verdicts.get((name, place))


Single = tuple[Values, str | None]


def singles(variable: Variable) -> list[Single]:
    """Every sampled value of a variable at one place, with its verdict where a sum says what is wanted."""
    if variable.choices:
        return [(word, None) for word in variable.choices]
    if variable.kind in ("picture", "sum"):
        return [("there", None)]
    numbers = [n for n in SAMPLES if variable.possible is None or variable.possible.verdict(n) == "within"]
    if variable.kind == "whole":
        numbers = [n for n in numbers if n == int(n)]
    if variable.sum and variable.resolution:
        numbers = [n for n in numbers if n / variable.resolution == int(n / variable.resolution)]
    if variable.wanted == FROM_A_SUM:
        return [(n, verdict) for n in numbers for verdict in ("below", "within", "above")]
    return [(n, None) for n in numbers]


def outcomes(variable: Variable, missing: object) -> list[tuple[Values, dict[str | None, str]]]:
    """Every sampled way a variable can come out by itself."""
    found: list[tuple[Values, dict[str | None, str]]] = []
    one = singles(variable)
    if variable.places is None:
        found = [(value, {None: verdict} if verdict else {}) for value, verdict in one]
        return [*found, (None, {})] if missing else found
    if missing is True:
        one = [*one, (None, None)]
    if variable.places == ROD:
        rows = list(combinations_with_replacement(one, 6))
        places: Sequence[str] = "123456"
    else:
        rows, places = list(product(one, repeat=len(variable.places))), variable.places  # type: ignore[assignment]
    for row in rows:
        found.append(({place: value for place, (value, _) in zip(places, row, strict=True)}, {}))
    if missing == "whole":
        found.append((dict.fromkeys(places), {}))
    return found


def states(names: Sequence[str], missing: Mapping[str, object]) -> Iterator[State]:
    """Every sampled case over these names that can occur."""
    every = []
    for name in names:
        owner = POOL[name].sum
        every.append(outcomes(POOL[name], missing.get(name) or (owner is not None and missing.get(owner))))
    for row in product(*every):
        values = {name: value for name, (value, _) in zip(names, row, strict=True)}
        if possible(values, missing):
            verdicts = {(name, at): v for name, (_, told) in zip(names, row, strict=True) for at, v in told.items()}
            yield State(values, verdicts)


def possible(values: Mapping[str, Values], missing: Mapping[str, object]) -> bool:
    """Whether sums and their outputs, runs and what they give fit together."""
    for name, value in values.items():
        owner = POOL[name].sum
        if owner and missing.get(owner):
            if values[owner] is None and value is not None:
                return False
            if values[owner] is not None and value is None and not missing.get(name):
                return False
        sure = POOL[name].sure_when
        if sure and value is None and values.get(sure[0]) in sure[1]:
            return False
    return True


def read_by(case: Case) -> list[str]:
    """The names to sample: all that is read, and the sums behind it."""
    names: list[str] = []
    for branch in case.bound():
        for name in branch.variables if branch else ():
            owner = POOL[name].sum
            names += [owner, name] if owner and case.missing.get(owner) else [name]
    return list(dict.fromkeys(names))


@dataclass
class Judgement:
    gaps: list[State]
    overlaps: set[tuple[int, int]]
    idle: list[int]
    cases: int


def takers(branches: Sequence[Bound | None], mode: str, state: State) -> list[int]:
    """The branches taken in one case."""
    fits = [index for index, branch in enumerate(branches) if branch is not None and evaluate(branch, state) is True]
    rest = [index for index, branch in enumerate(branches) if branch is None]
    if mode == "first":
        return sorted(fits + rest)[:1]
    return fits or rest


def judge(case: Case) -> Judgement:
    """Try every sampled case."""
    branches = case.bound()
    judgement = Judgement([], set(), [], 0)
    taken: set[int] = set()
    for state in states(read_by(case), case.missing):
        judgement.cases += 1
        mine = takers(branches, case.mode, state)
        taken.update(mine)
        if not mine:
            judgement.gaps.append(state)
        judgement.overlaps.update((i, j) for i in mine for j in mine if i < j)
    judgement.idle = [index for index in range(len(branches)) if index not in taken]
    return judgement


# --- random branches ------------------------------------------------------------------------------------------------


def questions(variable: Variable, rng: random.Random) -> list[str]:
    """A list of questions on one variable of which, missing apart, exactly one holds."""
    name = variable.name
    if variable.kind == "sum":
        return [f"{name} has no result", f"{name} has a result"]
    if variable.kind == "picture":
        return [f"{name} is missing", f"{name} is not missing"]
    if variable.places is not None:
        return placed_questions(variable, rng)
    return rng.choice([word_questions, number_questions][not variable.choices :][:1])(name, variable, rng)


def word_questions(name: str, variable: Variable, rng: random.Random) -> list[str]:
    word = rng.choice(variable.choices)
    if rng.random() < 0.4:
        return [f"{name} is {word}", f"{name} is not {word}"]
    return [f"{name} is {word}" for word in variable.choices]


def number_questions(name: str, variable: Variable, rng: random.Random) -> list[str]:
    if variable.wanted == FROM_A_SUM and rng.random() < 0.6:
        return [f"{name} is below", f"{name} is within", f"{name} is above"]
    if variable.wanted is not None and rng.random() < 0.3:
        return [f"{name} is within", f"{name} is not within"]
    low, high = sorted(rng.sample((-1, 0, 1), 2))
    return rng.choice(
        [
            [f"{name} < {low}", f"{name} >= {low}"],
            [f"{name} <= {high}", f"{high} < {name}"],
            [f"{name} < {low}", f"{low} <= {name} <= {high}", f"{name} > {high}"],
            [f"{name} < {low}", f"{name} = {low}", f"{name} > {low}"],
        ]
    )


def placed_questions(variable: Variable, rng: random.Random) -> list[str]:
    name = variable.name
    if isinstance(variable.places, tuple) and rng.random() < 0.5:
        place = rng.choice(variable.places)
        ask = word_questions if variable.choices else number_questions
        return ask(f"{name} at {place}", variable, rng)
    if variable.choices:
        word = rng.choice(variable.choices)
        other = next(choice for choice in variable.choices if choice != word)
        return rng.choice(
            [
                [f"any {name} is {word}", f"not (any {name} is {word})"],
                [f"all {name} is {word}", f"any {name} is {other}"],
                [f"all {name} is {word}", f"all {name} is {other}", f"any {name} is {word} and any {name} is {other}"],
            ]
        )
    number = rng.choice((-1, 0, 1))
    return rng.choice(
        [
            [f"min({name}) < {number}", f"min({name}) >= {number}"],
            [f"max({name}) < {number}", f"max({name}) = {number}", f"max({name}) > {number}"],
            [f"any {name} > {number}", f"all {name} <= {number}"],
            [f"not (all {name} = {number})", f"all {name} = {number}"],
        ]
    )


def split(names: Sequence[str], missing: Mapping[str, object], rng: random.Random) -> list[str]:
    """Conditions that cover every case of these variables once (as far as missing places allow)."""
    if not names:
        return [""]
    name, *others = names
    variable = POOL[name]
    asked = questions(variable, rng)
    owner = variable.sum
    may_miss = missing.get(name) or (owner and missing.get(owner))
    if may_miss and variable.kind not in ("sum", "picture") and rng.random() < 0.8:
        any_ = "any " if variable.places is not None and missing.get(name) is True else ""
        asked = [f"{any_}{name} is missing", *(f"{q} and {all_of(any_)}{name} is not missing" for q in asked)]
    if rng.random() < 0.2 and len(asked) > 2:
        first, second, *rest = asked
        asked = [f"({first}) or ({second})", *rest]
    found: list[str] = []
    for question in asked:
        below = split(others if rng.random() < 0.7 else [], missing, rng)
        found += [f"({question}) and ({more})" if more else f"({question})" for more in below]
    return found


def all_of(any_: str) -> str:
    return "all " if any_ else ""


def spoil(conditions: list[str], rng: random.Random) -> list[str]:
    """Something an author may get wrong."""
    way = rng.randrange(5)
    index = rng.randrange(len(conditions))
    text = conditions[index]
    if way == 0 and len(conditions) > 1:
        del conditions[index]
    elif way == 1:
        for old, new in rng.sample([(" <= ", " < "), (" < ", " <= "), (" > ", " >= "), (" >= ", " > ")], 4):
            if old in text:
                conditions[index] = text.replace(old, new, 1)
                break
    elif way == 2:
        conditions.append(rng.choice(conditions))
    elif way == 3:
        conditions[index] = text.replace("1", "0", 1)
    elif way == 4 and len(conditions) > 1:
        other = rng.randrange(len(conditions))
        conditions[index] = f"({text}) or ({conditions[other]})"
    return conditions


def formula(names: Sequence[str], rng: random.Random, depth: int) -> str:
    """Any condition at all on these variables."""
    way = rng.random()
    if depth and way < 0.2:
        return f"not ({formula(names, rng, depth - 1)})"
    if depth and way < 0.6:
        joiner = rng.choice((" and ", " or "))
        return joiner.join(f"({formula(names, rng, depth - 1)})" for _ in range(rng.choice((2, 2, 3))))
    variable = POOL[rng.choice(names)]
    if variable.kind != "sum" and rng.random() < 0.2:
        how = rng.choice(("any ", "all ", "")) if variable.places is not None else ""
        return f"{how}{variable.name} is {rng.choice(('', 'not '))}missing"
    return rng.choice(questions(variable, rng))


def random_case(rng: random.Random) -> Case:
    """A set of branches that is right, or nearly, or anything."""
    if rng.random() < 0.2:  # the finer points of missing places, which chance alone seldom meets
        name = rng.choice(("p", "s", "r", "t"))
        texts = [formula([name], rng, 2) for _ in range(rng.choice((1, 2)))]
        return Case(tuple(texts), {name: rng.choice((True, True, "whole"))}, "once")
    group = rng.choice([*GROUPS, *[()] * 4])
    loose = [name for name in POOL if not any(name in members for members in GROUPS)]
    names = list(group) if group else rng.sample(loose, rng.choice((1, 1, 2, 2, 3)))
    if len(group) == 3 and rng.random() < 0.5:
        names.remove(rng.choice([group[0], group[2]]))
    while True:  # keep what has to be tried within reason
        sizes = 1
        for name in names:
            sizes *= {"r": 260, "p": 80, "gap": 34, "t": 28}.get(name, 12)
        if sizes <= 9000 or len(names) == 1:
            break
        names.pop()
    missing: dict[str, object] = {}
    for name in [*names, "advice", "room"]:
        if POOL[name].kind == "outcome":
            continue
        if rng.random() < 0.4:
            missing[name] = rng.choice([True, "whole"]) if POOL[name].places is not None else True
    if rng.random() < 0.4:
        conditions = [formula(names, rng, 3) for _ in range(rng.choice((1, 2, 3)))]
    else:
        conditions = split(names, missing, rng)
    while len(conditions) > 9:
        del conditions[rng.randrange(len(conditions))]
    if rng.random() < 0.6:
        conditions = spoil(conditions, rng)
    rng.shuffle(conditions)
    branches: list[str | None] = list(conditions)
    if rng.random() < 0.4:
        if len(branches) > 1:
            branches.pop()
        branches.append(None)
    return Case(tuple(branches), missing, rng.choice(["once", "once", "first"]))
