"""Whether branches cover every case once: worked examples, and agreement with a judge that simply tries everything."""

from __future__ import annotations

import random
from collections.abc import Mapping
from fractions import Fraction
from itertools import pairwise

import pytest

from benchwalk.procedure.binding import bind
from benchwalk.procedure.bound import Bound
from benchwalk.procedure.conditions import parse_condition
from benchwalk.procedure.evaluate import evaluate
from benchwalk.procedure.variables import FROM_A_SUM, ROD, Names, Variable
from benchwalk.proof.cells import simple_inside
from benchwalk.proof.coverage import CoverageReport, coverage, lead_table
from benchwalk.proof.space import Missing, Space
from benchwalk.proof.witness import show
from benchwalk.quantities import Range, parse_note, parse_quantity, parse_range
from oracle_cells import POOL, SCOPE, Case, State, judge, random_case, read_by, states, takers

F = Fraction
EDGES = ("butt edge A", "butt middle", "butt edge B")
BENCH = Names(
    [
        Variable("a", "number", "mm"),
        Variable("b", "number", "mm"),
        Variable("rods", "whole", possible=Range(F(6), F(12))),
        Variable(
            "gap",
            "number",
            "mm",
            possible=parse_range("-15 .. 30", "mm"),
            wanted=parse_range("3 .. 6", "mm"),
            resolution=F(1, 2),
        ),
        Variable("butt_gap", "number", "mm", possible=parse_range("-15 .. 30", "mm"), wanted=FROM_A_SUM),
        Variable("lie", "choice", choices=("all", "some", "none"), wanted=("all",)),
        Variable("way", "choice", choices=("lever_on", "lever_off")),
        Variable("rod_note", "note", "Hz", places=ROD, possible=Range(F(40), F(1200)), wanted=Range(F(200), F(240))),
        Variable("runs", "choice", choices=("free", "stiff", "binds"), places=ROD),
        Variable("strip", "choice", choices=("alike", "loose", "tight"), places=EDGES),
        Variable("turned", "number", "turns", places=("1", "2")),
        Variable("hold", "hold", choices=("gap", "knot")),
        Variable("advice", "sum"),
        Variable("advice.spread", "number", "cents", sum="advice", possible=Range(F(0), None)),
        Variable("room.r", "number", "mm", possible=Range(F(0), None), resolution=F(1, 10), sum="room"),
        Variable("far.outcome", "outcome", choices=("done", "stopped", "referred")),
        Variable("far.way", "choice", choices=("lever_on", "lever_off"), sure_when=("far.outcome", ("done",))),
        Variable("picture", "picture"),
    ],
    {"least_gap": parse_quantity("1 mm", "mm")},
)


def conditions(*texts: str | None) -> list[Bound | None]:
    return [None if text is None else bind(parse_condition(text), BENCH) for text in texts]


def judged(*texts: str | None, missing: Mapping[str, Missing] | None = None, **options: object) -> CoverageReport:
    """The report on these branches; None is an `otherwise`."""
    return coverage(conditions(*texts), missing=missing or {}, **options)  # type: ignore[arg-type]


def gaps(report: CoverageReport) -> list[dict[str, str]]:
    return [witness.values for witness in report.gaps]


# --- worked examples -------------------------------------------------------------------------------------------------


def test_a_hole_at_a_boundary_is_shown_by_the_boundary() -> None:
    """Below ten and above ten leave a hole, and the example is ten itself."""
    report = judged("a < 10", "a > 10")
    assert gaps(report) == [{"a": "10 mm"}]
    assert report.gaps[0].region == "a = 10 mm"
    assert not report.overlaps and not report.ok


def test_an_overlap_at_a_boundary_is_shown_by_the_boundary() -> None:
    """At most ten and at least ten are both taken at ten, and nowhere else."""
    report = judged("a <= 10", "a >= 10")
    assert [(o.first, o.second, o.witness.values) for o in report.overlaps] == [(0, 1, {"a": "10 mm"})]
    assert not report.gaps


def test_whole_numbers_have_no_halves() -> None:
    """At most nine and at least ten cover whole numbers, but leave a hole for numbers that can be typed finer."""
    assert judged("rods <= 9", "rods >= 10").ok
    report = judged("a <= 9", "a >= 10")
    assert gaps(report) == [{"a": "9.5 mm"}]
    assert report.gaps[0].region == "9 mm < a < 10 mm"


def test_a_resolution_removes_no_values() -> None:
    """A gauge that shows halves does not close a hole between two halves, since finer values can be typed."""
    report = judged("gap <= 3", "gap >= 3.5")
    assert gaps(report) == [{"gap": "3.2 mm"}]


def test_what_a_sum_gives_at_a_resolution_has_nothing_between() -> None:
    """At most 1.4 and at least 1.5 cover what is rounded to tenths; a cut between two tenths makes no case of its own,
    and a branch for what lies between is idle."""
    assert judged("room.r <= 1.4", "room.r >= 1.5").ok
    assert judged("room.r < 1.45", "room.r > 1.45").ok
    assert judged("room.r <= 1.4", "room.r >= 1.5", "1.4 < room.r < 1.5").idle == [2]
    assert judged("room.r < 1.5", "room.r > 1.4").ok
    report = judged("room.r <= 1.4", "room.r >= 1.6")
    assert gaps(report) == [{"room.r": "1.5 mm"}] and report.gaps[0].region == "1.4 mm < room.r < 1.6 mm"
    assert judged("room.r <= 1.5", "room.r > 1.4").overlaps
    assert gaps(judged("room.r > 0")) == [{"room.r": "0 mm"}]


TENTHS = [F(n, 10) for n in range(31)] + [F(400)]


@pytest.mark.parametrize("seed", range(60))
def test_branches_on_tenths_agree_with_trying_every_tenth(seed: int) -> None:
    """With cuts on tenths, between them and in other units, every verdict is that of trying all tenths in turn."""
    rng = random.Random(seed)
    met = 0
    for _ in range(12):
        cuts = sorted(rng.sample([F(3 * n, 20) for n in range(1, 17)], rng.choice((1, 2, 3))))
        texts = _between(cuts, rng)
        if rng.random() < 0.3:
            texts[-1] = None
        branches = conditions(*texts)
        report = coverage(branches, missing={})
        taken = [_takers(branches, value) for value in TENTHS]
        assert bool(report.gaps) == ([] in taken), texts
        pairs = {(one, two) for some in taken for one in some for two in some if one < two}
        assert {(o.first, o.second) for o in report.overlaps} == pairs, texts
        assert report.idle == [n for n in range(len(texts)) if not any(n in some for some in taken)], texts
        for found in [*report.gaps, *(o.witness for o in report.overlaps)]:
            value = found.view.value("room.r")
            assert isinstance(value, Fraction) and value % F(1, 10) == 0, texts
        met += not report.ok
    assert met > 0


def _between(cuts: list[Fraction], rng: random.Random) -> list[str | None]:
    """Conditions for the pieces between cuts, now and then with an end that is a little off."""
    texts: list[str | None] = []
    for low, high in pairwise([None, *cuts, None]):
        below = "" if low is None else f"{_shown(low + rng.choice((0, 0, 0, F(1, 20), F(-1, 10))), rng)} {_sign(rng)} "
        above = "" if high is None else f" {_sign(rng)} {_shown(high, rng)}"
        if low is None or high is None:
            texts.append(f"room.r{above}" if low is None else f"not (room.r {_sign(rng)} {_shown(low, rng)})")
        else:
            texts.append(f"{below}room.r{above}")
    return texts


def _shown(value: Fraction, rng: random.Random) -> str:
    return f"{float(value / 10):g} cm" if rng.random() < 0.2 else f"{float(value):g} mm"


def _sign(rng: random.Random) -> str:
    return rng.choice(("<", "<="))


def _takers(branches: list[Bound | None], value: Fraction) -> list[int]:
    """The branches taken for one value, by simply evaluating them."""
    state = State({"room.r": value}, {})
    fits = [n for n, branch in enumerate(branches) if branch is not None and evaluate(branch, state) is True]
    return fits or [n for n, branch in enumerate(branches) if branch is None]


def test_a_missing_choice_is_named() -> None:
    """A choice that no branch names is the example."""
    assert gaps(judged("lie is all", "lie is some")) == [{"lie": "none"}]
    assert judged("lie is all", "lie is some", "lie is none").ok


def test_a_hole_between_two_variables_is_found() -> None:
    """(a < 5 and b < 5), (a >= 5 whatever b) leave a hole that needs both, shown at its corner."""
    report = judged("a < 5 and b < 5", "a >= 5 and (b < 1 or b >= 1)")
    assert gaps(report) == [{"a": "0 mm", "b": "5 mm"}]
    assert report.gaps[0].region == "a < 5 mm and b >= 5 mm"


def test_not_recorded_needs_a_way_on() -> None:
    """Where a value may be missing, branches that only compare it leave that case open."""
    assert judged("a < 5", "a >= 5").ok
    report = judged("a < 5", "a >= 5", missing={"a": True})
    assert gaps(report) == [{"a": "missing"}]
    assert report.gaps[0].region == "a is missing"
    assert judged("a < 5", "a >= 5", "a is missing", missing={"a": True}).ok
    assert judged("a < 5", "not (a < 5)", missing={"a": True}).gaps
    assert judged("a < 5", "a >= 5", "a is missing").idle == [2]


def test_decimals_are_compared_as_typed() -> None:
    """Three tenths is one number however it is written, so no hole or overlap appears at it."""
    assert judged("a < 0.3", "a >= 0,30").ok
    assert judged("a < 1/4 in", "a >= 6.35 mm").ok
    assert judged("a <= least_gap", "a > 0.1 cm").ok


def test_a_missing_case_is_its_own_example() -> None:
    """A case in which something is missing is shown apart from those in which it is recorded."""
    report = judged("lie is all", "lie is some", missing={"lie": True})
    assert gaps(report) == [{"lie": "none"}, {"lie": "missing"}]
    assert [witness.region for witness in report.gaps] == ["lie is none", "lie is missing"]


def test_several_holes_are_told_apart() -> None:
    """Holes that do not touch are shown one by one."""
    report = judged("a < 1", "1 < a < 3", "a >= 5")
    assert gaps(report) == [{"a": "1 mm"}, {"a": "3 mm"}]
    assert [witness.region for witness in report.gaps] == ["a = 1 mm", "3 mm <= a < 5 mm"]


def test_only_what_is_possible_is_covered() -> None:
    """Values outside what is possible need no branch, and a branch that only they would take is idle."""
    assert judged("gap <= 30").ok
    assert judged("gap < 3", "gap >= 3", "gap > 30").idle == [2]
    assert gaps(judged("-15 < gap")) == [{"gap": "-15 mm"}]


def test_wanted_is_a_boundary() -> None:
    """A fixed wanted range is cut exactly at its ends: within holds at both, below and above next to them."""
    assert judged("gap is below", "gap is within", "gap is above").ok
    assert gaps(judged("gap < 3", "3 < gap <= 6", "gap is above")) == [{"gap": "3 mm"}]


def test_what_a_sum_wants_is_apart_from_the_number() -> None:
    """Below, within and above a range that a sum works out can each happen at any number."""
    assert judged("butt_gap is below", "butt_gap is not below").ok
    report = judged("butt_gap is below", "butt_gap is within")
    assert gaps(report) == [{"butt_gap": "above what is wanted"}]
    assert report.gaps[0].region == "butt_gap is above"
    report = judged("butt_gap < 0", "butt_gap >= 0 and butt_gap is within", "butt_gap >= 0 and butt_gap is above")
    assert gaps(report) == [{"butt_gap": "0 mm, below what is wanted"}]
    assert report.gaps[0].region is None


def test_a_sum_without_result_is_one_fact() -> None:
    """When a sum has no result all it gives is missing at once, and only then."""
    may_fail: dict[str, Missing] = {"advice": True}
    assert judged("advice has no result", "advice.spread < 5", "advice.spread >= 5", missing=may_fail).ok
    assert gaps(judged("advice.spread < 5", "advice.spread >= 5", missing=may_fail)) == [{"advice": "no result"}]
    assert judged("advice.spread is missing and advice has a result", None, missing=may_fail).idle == [0]
    assert judged("advice has no result", "advice has a result").idle == [0]


def test_what_a_run_gives_is_there_when_it_is_done() -> None:
    """What a run gives can be missing only where its outcome leaves that open."""
    given: dict[str, Missing] = {"far.way": True}
    branches = ("far.outcome is done and far.way is lever_on", "far.outcome is done and far.way is lever_off")
    assert judged(*branches, "far.outcome is not done", missing=given).ok
    assert gaps(judged("far.way is lever_on", "far.way is lever_off", missing=given)) == [{"far.way": "missing"}]


def test_a_hold_is_released_or_refused_for_each_reason() -> None:
    """Each named reason for a refusal is a case of its own."""
    assert judged("hold is released", "hold is refused").ok
    assert judged("hold is released", "hold is refused for gap", "hold is refused for knot").ok
    assert gaps(judged("hold is released", "hold is refused for gap")) == [{"hold": "refused for knot"}]


def test_places_come_out_in_every_mixture() -> None:
    """Over several places, any mixture of cells can occur that is no larger than the number of places."""
    assert judged("any runs is binds", "not (any runs is binds)").ok
    report = judged("all runs is free", "all runs is stiff", "any runs is binds")
    assert gaps(report) == [{"runs": "{each: free, 1: stiff}"}]
    assert judged("min(rod_note) < 200", "min(rod_note) >= 200").ok
    assert gaps(judged("min(rod_note) < 200", "min(rod_note) > 200")) == [{"rod_note": "{each: 200 Hz}"}]
    three = "any turned < 0 and any turned = 0 and any turned > 0"
    assert judged(three, None).idle == [0]  # two places cannot be of three kinds
    assert judged(three.replace("turned", "rod_note").replace("0", "100"), None).ok


def test_missing_places_are_mixed_in_where_they_can_be() -> None:
    """True lets single places be missing, "whole" only all of them together."""
    branches = ("any runs is binds", "all runs is not binds")
    assert gaps(judged(*branches, "runs is missing", missing={"runs": True})) == [{"runs": "{each: free, 1: missing}"}]
    assert judged(*branches, "runs is missing", missing={"runs": "whole"}).ok
    assert gaps(judged(*branches, missing={"runs": "whole"})) == [{"runs": "{each: missing}"}]


def test_a_named_place_is_decided_together_with_the_others() -> None:
    """A place that is named and the mixture over all places are covered as one."""
    report = judged("strip at butt middle is loose", "strip at butt middle is not loose and any strip is loose")
    assert gaps(report) == [{"strip": "{each: alike}"}]
    assert judged("strip at butt middle is loose", "not (any strip is loose)", "any strip is loose and "
                  "strip at butt middle is not loose").ok  # fmt: skip
    assert gaps(judged("strip at butt edge A is loose")) == [{"strip at butt edge A": "alike"}]


def test_a_picture_is_there_or_not() -> None:
    """A picture has two cases only."""
    assert judged("picture is missing", "picture is not missing", missing={"picture": True}).ok


def test_first_of_gives_each_line_what_is_left() -> None:
    """Read from the top, nothing overlaps, and a line that is left nothing is idle."""
    assert judged("lie is all", "lie is not none", None, mode="first").ok
    report = judged("a < 5", "a < 3", None, mode="first")
    assert (report.idle, report.overlaps) == ([1], [])
    assert judged("lie is all", None, "lie is none", mode="first").idle == [2]


def test_an_otherwise_that_covers_nothing_is_idle() -> None:
    """An `otherwise` beside branches that already cover everything is never taken."""
    assert judged("a < 5", "a >= 5", None).idle == [2]
    assert judged("a < 5", None).ok


def test_what_an_otherwise_swallows_is_told() -> None:
    """An `otherwise` tells the choices and the regions outside wanted that it takes alone."""
    swallowed = judged("lie is all", None).swallowed[1]
    assert (swallowed.choices, swallowed.needs_reason) == ({"lie": ("some", "none")}, True)
    assert not judged("lie is all", "lie is some", None).swallowed[2].needs_reason
    swallowed = judged("3 <= gap <= 8", None).swallowed[1]
    assert (swallowed.regions, swallowed.needs_reason) == ({"gap": ("below", "above")}, True)
    assert swallowed.ranges == {"gap": "gap < 3 mm or gap > 8 mm"}
    swallowed = judged("a < 3", None, missing={"a": True}).swallowed[1]
    assert (swallowed.ranges, swallowed.missing, swallowed.needs_reason) == ({"a": "a >= 3 mm"}, ("a",), False)
    assert judged("butt_gap is within", None).swallowed[1].regions == {"butt_gap": ("below", "above")}
    swallowed = judged("all runs is free", None).swallowed[1]
    assert swallowed.choices == {"runs": ("stiff", "binds")}
    assert "'runs' stiff or binds" in swallowed.text()
    both = judged("way is lever_on and lie is all", "way is lever_on and lie is not all", None).swallowed[2]
    assert both.choices == {"way": ("lever_off",)}  # no single answer about `lie` leads here by itself


def test_past_the_cap_nothing_is_claimed() -> None:
    """With more joint cells than the cap the report is undecided, never clean."""
    report = judged("a < 1", "b < 1", cap=8)
    assert report.undecided and not report.ok and not report.gaps
    assert not judged("a < 1", "b < 1", cap=9).undecided
    many = " or ".join(f"any rod_note > {100 + 7 * n} Hz" for n in range(40))
    assert judged(many, None).undecided
    assert lead_table(conditions(many), POOL["x"], missing={}).undecided


def test_examples_can_be_typed_again() -> None:
    """An example value, typed into the reading, is a value for which no branch holds."""
    scope = Names([Variable("t", "number", "turns"), Variable("f", "note", "Hz", possible=Range(F(40), F(1200)))])
    low, high = F(1, 3), F(1, 3) + F(1, 10**9)
    for variable, texts in (("t", (f"t < {low}", f"t > {high}")), ("f", ("f < A3", "f > A3"))):
        branches = [bind(parse_condition(text), scope) for text in texts]
        (witness,) = coverage(branches, missing={}).gaps
        typed = witness.values[variable]
        value = parse_note(typed).value if variable == "f" else parse_quantity(typed, "turns").value
        assert value == witness.view.value(variable)
        assert [evaluate(branch, witness.view) for branch in branches] == [False, False]


@pytest.mark.parametrize(
    ("low", "high", "resolution", "shown"),
    [
        (None, None, None, "0"),
        ("-3", "5", None, "0"),
        ("3", None, None, "4"),
        (None, "-2.5", None, "-3"),
        ("3", "4", None, "3.5"),
        ("3", "3.5", "0.5", "3.2"),
        ("3", "5", "0.25", "4"),
        ("40", "1200", None, "1000"),
        ("0.001", "0.002", "0.25", "0.0015"),
        ("0.2", "0.6", "0.25", "0.5"),
        ("3", None, "0.25", "4"),
        ("1", None, "0.3", "1.2"),
        ("1.23", "1.24", None, "1.235"),
    ],
)
def test_examples_inside_an_interval_are_short(
    low: str | None, high: str | None, resolution: str | None, shown: str
) -> None:
    """The example inside an interval is a short number strictly inside, a multiple of the resolution where one fits."""
    ends = [None if end is None else F(end) for end in (low, high, resolution)]
    assert simple_inside(*ends) == F(shown)


def test_hundred_branches_are_judged_at_once() -> None:
    """A table of a hundred branches over two readings is judged exactly, with a hole in it found."""
    texts = [f"{i} <= a < {i + 1} and {j} <= b < {j + 1}" for i in range(10) for j in range(10)]
    edges = ["a < 0 or a >= 10", "0 <= a < 10 and (b < 0 or b >= 10)"]
    assert judged(*texts, *edges).ok
    del texts[47]
    report = judged(*texts, *edges)
    assert gaps(report) == [{"a": "4 mm", "b": "7 mm"}]
    assert report.gaps[0].region == "4 mm <= a < 5 mm and 7 mm <= b < 8 mm"


# --- where values outside and inside lead ----------------------------------------------------------------------------


def test_leads_show_whether_outside_and_inside_part_ways() -> None:
    """For equal other answers, the table tells which branch a value inside and one outside what is wanted lead to."""
    gap = BENCH.variables["gap"]
    table = lead_table(conditions("gap < 6 and lie is all", "gap >= 6 or lie is not all"), gap, missing={})
    together = {
        (lead.verdict, other.verdict, lead.branch)
        for lead in table
        for other in table
        if lead.others == other.others and lead.branch == other.branch and lead.verdict < other.verdict
    }
    # above shares the second branch with 6.0 itself; below shares the first with what is inside
    assert ("above", "within", 1) in together and ("below", "within", 0) in together
    apart = lead_table(conditions("gap is within", "gap is not within"), gap, missing={})
    assert {(lead.verdict, lead.branch) for lead in apart} == {("below", 1), ("within", 0), ("above", 1)}
    assert any(apart.witness(lead).values == {"gap": "3 mm"} for lead in apart)


def test_leads_tell_of_a_reading_no_branch_asks_about() -> None:
    """A reading nobody asks about leads to one branch whether it lies inside or outside, ranges of sums included."""
    for name in ("gap", "butt_gap"):
        table = lead_table(conditions("lie is all", None), BENCH.variables[name], missing={})
        assert {lead.verdict for lead in table} == {"below", "within", "above"}
        assert len({(lead.others, lead.branch) for lead in table}) == 3
    lie = lead_table(conditions("lie is all", None), BENCH.variables["lie"], missing={"lie": True})
    assert {(lead.verdict, lead.branch) for lead in lie} == {("within", 0), ("outside", 1)}
    note = lead_table(conditions("all rod_note is within", None), BENCH.variables["rod_note"], missing={})
    assert {(lead.verdict, lead.branch) for lead in note} == {
        ("within", 0), ("below", 1), ("above", 1), ("outside", 1),
    }  # fmt: skip


# --- against the judge that tries everything -------------------------------------------------------------------------


def agree(case: Case) -> CoverageReport:
    """Compare the report on one case with what trying every sampled case finds."""
    branches = case.bound()
    missing: Mapping[str, Missing] = case.missing  # type: ignore[assignment]
    report = coverage(branches, missing=missing, mode=case.mode)  # type: ignore[arg-type]
    found = judge(case)
    assert not report.undecided, case
    assert bool(report.gaps) == bool(found.gaps), case
    assert {(o.first, o.second) for o in report.overlaps} == found.overlaps, case
    assert report.idle == found.idle, case
    for witness in report.gaps:
        assert not any(evaluate(branch, witness.view) for branch in branches if branch), case
        if witness.region:
            region = bind(parse_condition(witness.region), SCOPE)
            assert evaluate(region, witness.view) is True, (case, witness.region)
            inside = [state for state in states(read_by(case), case.missing) if evaluate(region, state)]
            assert all(not takers(branches, case.mode, state) for state in inside), (case, witness.region)
    for overlap in report.overlaps:
        for index in (overlap.first, overlap.second):
            branch = branches[index]
            assert branch is None or evaluate(branch, overlap.witness.view) is True, case
    return report


def try_seeds(seeds: range) -> None:
    reports = [agree(random_case(random.Random(seed))) for seed in seeds]
    enough = len(reports) // 20
    assert sum(report.ok for report in reports) > enough
    assert sum(bool(report.gaps) for report in reports) > enough
    assert sum(bool(report.overlaps) for report in reports) > enough
    assert sum(bool(report.idle) for report in reports) > enough


def test_agrees_with_trying_everything() -> None:
    """On hundreds of random sets of branches, what is told of them is what trying all cases finds."""
    try_seeds(range(400))


@pytest.mark.heavy
def test_agrees_with_trying_everything_at_length() -> None:
    """On twenty thousand more random sets of branches the verdicts are those that trying all cases finds."""
    try_seeds(range(400, 21000))


def test_every_joint_cell_answers_as_its_example_does() -> None:
    """In each joint cell a condition is true, false or neither exactly as it is for the cell's example value."""
    looked = 0
    for seed in range(600):
        case = random_case(random.Random(seed))
        branches = [branch for branch in case.bound() if branch is not None]
        space = Space(branches, case.missing, 20_000)  # type: ignore[arg-type]
        if space.size > 400:
            continue
        for branch in branches:
            true, false = space.where(branch)
            for cell in space.bits(space.valid):
                view = show(space, [space.option(cell, dimension) for dimension in space.dimensions]).view
                expected = True if true >> cell & 1 else False if false >> cell & 1 else None
                assert evaluate(branch, view) is expected, (case, view)
                looked += 1
    assert looked > 10_000


def test_leads_agree_with_trying_everything() -> None:
    """Where values of a reading lead, with everything else equal, is what trying all cases finds."""
    x = POOL["x"]
    assert isinstance(x.wanted, Range)
    compared = 0
    for seed in range(1200):
        case = random_case(random.Random(seed))
        if "x" not in read_by(case) or case.missing.get("x") or len(read_by(case)) > 2:
            continue
        branches = case.bound()
        table = lead_table(branches, x, missing=case.missing, mode=case.mode)  # type: ignore[arg-type]
        rows: dict[int, set[tuple[str, int | None]]] = {}
        for lead in table:
            rows.setdefault(lead.others, set()).add((lead.verdict, lead.branch))
        tried: dict[str, set[tuple[str, int | None]]] = {}
        for state in states(read_by(case), case.missing):
            others = repr([item for item in sorted(state.values.items(), key=str) if item[0] != "x"])
            others += repr(sorted(state.verdicts.items(), key=str))
            value = state.value("x")
            assert isinstance(value, Fraction)
            mine = takers(branches, case.mode, state)
            tried.setdefault(others, set()).add((x.wanted.verdict(value), mine[0] if mine else None))
        assert {frozenset(row) for row in rows.values()} == {frozenset(row) for row in tried.values()}, case
        compared += 1
    assert compared > 20
