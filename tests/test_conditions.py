"""The language of conditions: what is read, what is refused and where, and what names may be asked."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchwalk.procedure.binding import bind, try_bind
from benchwalk.procedure.bound import Atom, InRange, InVerdict, IsMissing, OneOf
from benchwalk.procedure.condition_nodes import And, Compare, Condition, Constant, HasResult, Is, Not, Or, Subject
from benchwalk.procedure.condition_tokens import LONGEST
from benchwalk.procedure.conditions import DEEPEST, ConditionError, parse_condition
from benchwalk.procedure.variables import FROM_A_SUM, ROD, Names, Variable
from benchwalk.quantities import Range, parse_quantity, parse_range

EDGES = ("butt edge A", "butt middle", "butt edge B")
SCOPE = Names(
    [
        Variable("gap", "number", "mm", possible=parse_range("-15 .. 30", "mm"), wanted=parse_range("3 .. 6", "mm")),
        Variable("butt_gap", "number", "mm", wanted=FROM_A_SUM),
        Variable("drift", "number", "percent", wanted=parse_range("at most 5", "percent")),
        Variable("lie", "choice", choices=("all", "some", "none"), wanted=("all",)),
        Variable("way", "choice", choices=("lever_on", "lever-off")),
        Variable("lugs", "choice", choices=("8", "10")),
        Variable("part", "choice", choices=("there", "missing")),
        Variable("rod_note", "note", "Hz", places=ROD, possible=Range(Fraction(40), Fraction(1200))),
        Variable("fork", "note", "Hz"),
        Variable("runs", "choice", choices=("free", "binds"), places=ROD),
        Variable("skew", "number", "mm", places=("butt side", "strainer side")),
        Variable("strip", "choice", choices=("alike", "loose", "tight"), places=EDGES, wanted=("alike",)),
        Variable("routing", "picture"),
        Variable("hold", "hold", choices=("gap", "knot")),
        Variable("far.outcome", "outcome", choices=("done", "stopped")),
        Variable("far.way", "choice", choices=("lever_on", "lever_off"), sure_when=("far.outcome", ("done",))),
        Variable("drum.rods", "whole"),
        Variable("advice", "sum"),
        Variable("advice.spread", "number", "cents", sum="advice"),
        Variable("room.gap", "range", "mm", sum="room"),
    ],
    {"least_gap": parse_quantity("1/4 in", "in"), "most_gap": parse_quantity("1 cm", "cm")},
)


def read(text: str) -> Atom:
    """The single bound test of a condition."""
    (atom,) = bind(parse_condition(text), SCOPE).atoms
    return atom


def refused(text: str) -> ConditionError:
    """What is said about a condition that is wrong somewhere."""
    with pytest.raises(ConditionError) as caught:
        bind(parse_condition(text), SCOPE)
    return caught.value


# --- reading ------------------------------------------------------------------------------------------------------


def test_every_node_knows_its_place() -> None:
    """The offsets of every part of a condition cut exactly that part out of its text."""
    text = "  not ( min(rod_note) >= A3 -12c )  and strip at  butt  edge A is not loose and hold is refused for gap"
    condition = parse_condition(text)
    assert isinstance(condition, And)
    first, second, third = condition.parts
    assert isinstance(first, Not) and isinstance(first.inner, Compare)
    assert text[first.at : first.end] == "not ( min(rod_note) >= A3 -12c )"
    least, note = first.inner.operands
    assert isinstance(least, Subject) and isinstance(note, Constant)
    assert (least.how, text[least.at : least.end]) == ("min", "min(rod_note)")
    assert text[least.name_at :].startswith("rod_note)")
    assert (note.text, text[note.at : note.end]) == ("A3 -12c", "A3 -12c")
    assert isinstance(second, Is) and second.negated
    assert (second.subject.place, text[second.subject.place_at : second.subject.end]) == ("butt edge A", "butt  edge A")
    assert text[second.word_at : second.end] == "loose"
    assert isinstance(third, Is) and (third.reason, text[third.reason_at : third.end]) == ("gap", "gap")
    assert (condition.at, condition.end) == (first.at, third.end)


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("gap < 3 mm", Compare),
        ("0.5<=gap<=least_gap", Compare),
        ("gap ≥ -2", Compare),
        ("lie is all or lie is some", Or),
        ("(lie is all or lie is some) and gap < 3", And),
        ("advice has no result", HasResult),
        ("all runs is not missing", Is),
        ("wait_time > 5 min", Compare),
    ],
)
def test_sentences_of_the_language_are_read(text: str, kind: type[Condition]) -> None:
    """Each form of the grammar is read as the form it is."""
    assert isinstance(parse_condition(text), kind)


@pytest.mark.parametrize(
    ("text", "part", "said"),
    [
        ("", "", "the condition is empty"),
        ("gap <", "<", "the condition ends there"),
        ("gap == 3", "==", "write one '='"),
        ("gap =< 3", "=<", "write '<='"),
        ("gap => 3", "=>", "write '>='"),
        ("lie != some", "!=", "'is not'"),
        ("gap between 3 and 5", "between", "2 <= gap <= 5"),
        ("butt gap < 3", "gap", "'butt_gap'"),
        ("gap is < 3", "<", "leave out 'is'"),
        ("gap is below 3 mm", "3", "'gap < ...'"),
        ("lie is Some lift", "lift", "a choice is one word"),
        ("'lie' is all", "'lie'", "without quotes"),
        ("lie is all or some", "some", "say a whole condition"),
        ("gap < 3 or > 5", ">", "say the name again"),
        ("gap < 3 AND lie is all", "AND", "'and' in small letters"),
        ("gap < 3 && lie is all", "&&", "write 'and'"),
        ("!lie is all", "!", "not (...)"),
        ("not lie is all", "lie", "'lie is not all'"),
        ("lie is all and gap < 3 or gap > 5", "or", "'(a and b) or c'"),
        ("lie is all or gap < 3 and gap > 5", "and", "'(a and b) or c'"),
        ("(lie is all", "(", "never closed"),
        ("lie is all)", ")", "closes nothing"),
        ("1 < gap > 2", ">", "joined with 'and'"),
        ("1 = gap = 2", "=", "joined with 'and'"),
        ("1 < gap < 3 < 4", "<", "at most two signs"),
        ("3 mm", "3 mm", "compared with nothing"),
        ("gap", "gap", "nothing is asked about 'gap'"),
        ("else", "else", "write 'otherwise'"),
        ("gap is", "", "but the end was found"),
        ("advice has result", "result", "'no result' or 'a result'"),
        ("any < 3", "<", "several places"),
        ("min(3) < 3", "3", "several places"),
        ("max(rod_note < 3", "<", "holds one name"),
        ("min(rod_note", "(", "never closed"),
        ("skew at > 3", ">", "comes a place"),
        ("otherwise", "otherwise", "alone"),
        ("hold is refused for", "", "comes a reason"),
        ("missing is some", "missing", "a meaning of its own"),
        ("lie is all lie is some", "lie", "a choice is one word"),
        ("gap < 3 (lie is all)", "(", "'and', 'or' or the end"),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_place_and_cure(text: str, part: str, said: str) -> None:
    """A condition that is wrong is refused with one sentence that points at the wrong part and names the cure."""
    with pytest.raises(ConditionError) as caught:
        parse_condition(text)
    assert said in caught.value.message
    assert text[caught.value.offset : caught.value.end] == part
    assert not caught.value.message.endswith(".") or caught.value.message.endswith("...")


@pytest.mark.parametrize("opening", ["(", "not (", "not ( ("])
def test_nesting_and_length_have_an_end(opening: str) -> None:
    """Brackets within brackets and very long texts are refused with a sentence, however many there are."""
    with pytest.raises(ConditionError, match=f"more than {DEEPEST} brackets"):
        parse_condition(opening * 100 + "gap < 3" + ")" * 100)
    with pytest.raises(ConditionError, match=f"longer than {LONGEST} characters"):
        parse_condition(opening * 10_000)
    assert parse_condition("(" * DEEPEST + "gap < 3" + ")" * DEEPEST) is not None


def test_a_message_never_prints_what_a_terminal_would_obey() -> None:
    """Control and direction characters of a faulty condition are spelled out in the sentence about it."""
    for evil in ("\x1b[2J", "\u202egap", "a\x07"):
        with pytest.raises(ConditionError) as caught:
            parse_condition(f"gap < 3 and {evil}")
        assert caught.value.message.isprintable()


SOME_WORDS = (
    "gap lie is not and or ( ) any all min max at butt side < <= > = == 3 mm A3 -12c missing has no result a for hold "
    "refused ! , 1/4 ' \x00 é"
)
WORDS = st.sampled_from(SOME_WORDS.split(" "))


@settings(max_examples=500)
@given(st.lists(WORDS, max_size=12).map(" ".join) | st.text(max_size=30))
def test_any_text_is_read_or_refused(text: str) -> None:
    """Whatever is written, the answer is a condition or one sentence with a place inside the text."""
    try:
        condition = parse_condition(text)
        assert 0 <= condition.at < condition.end <= len(text)
        _, problems = try_bind(condition, SCOPE)
        assert all(0 <= problem.offset < problem.end <= len(text) for problem in problems)
    except ConditionError as problem:
        assert problem.message and 0 <= problem.offset <= len(text)


# --- writing out and reading back -----------------------------------------------------------------------------------

ATOMS = st.sampled_from(
    ["gap < 3 mm", "1 <= gap <= most_gap", "lie is not all", "advice has a result", "max(rod_note) >= A#3 +5 cents"]
)
TREES: st.SearchStrategy[object] = st.recursive(
    ATOMS,
    lambda inner: st.one_of(
        st.tuples(st.just("not"), inner),
        st.tuples(st.sampled_from(["and", "or"]), st.lists(inner, min_size=2, max_size=3).map(tuple)),
    ),
    max_leaves=6,
)


def written(tree: object) -> str:
    """A tree of atoms as text, with brackets wherever something is joined inside something."""
    if isinstance(tree, str):
        return tree
    assert isinstance(tree, tuple)
    if tree[0] == "not":
        return f"not ({written(tree[1])})"
    return f" {tree[0]} ".join(part if isinstance(part, str) else f"({written(part)})" for part in tree[1])


def shape(condition: Condition, text: str) -> object:
    """A read condition as the tree it was written from."""
    if isinstance(condition, Not):
        return ("not", shape(condition.inner, text))
    if isinstance(condition, And | Or):
        joiner = "and" if isinstance(condition, And) else "or"
        return (joiner, tuple(shape(part, text) for part in condition.parts))
    return text[condition.at : condition.end]


@settings(max_examples=200)
@given(TREES)
def test_what_is_written_is_what_is_read(tree: object) -> None:
    """A condition written out from a tree is read as exactly that tree."""
    text = written(tree)
    assert shape(parse_condition(text), text) == tree


# --- binding ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "low", "high", "opens"),
    [
        ("gap < 1/4 in", None, "6.35", (False, True)),
        ("gap <= least_gap", None, "6.35", (False, False)),
        ("most_gap >= gap > 6,35 mm", "6.35", "10", (True, False)),
        ("0.1 <= gap < 0.3", "0.1", "0.3", (False, True)),
        ("gap = 3", "3", "3", (False, False)),
        ("gap is within", "3", "6", (False, False)),
        ("gap is below", None, "3", (False, True)),
        ("gap is above", "6", None, (True, False)),
        ("min(rod_note) > A3", "220", None, (True, False)),
        ("fork > a3", "220", None, (True, False)),
        ("200 < any rod_note", "200", None, (True, False)),
        ("drum.rods >= 8", "8", None, (False, False)),
    ],
)
def test_comparisons_become_exact_ranges(
    text: str, low: str | None, high: str | None, opens: tuple[bool, bool]
) -> None:
    """A comparison is bound to an exact range in the reading's own unit.

    1 in = 25.4 mm (international inch, from memory); A4 = 440 Hz (ISO 16, from memory).
    """
    ends = (None if low is None else Fraction(low), None if high is None else Fraction(high))
    assert read(text).test == InRange(Range(*ends, *opens))


@pytest.mark.parametrize(
    ("text", "how", "test"),
    [
        ("lie is some", "plain", OneOf(frozenset({"some"}))),
        ("lie is not within", "plain", OneOf(frozenset({"all"}), negated=True)),
        ("way is lever-off", "plain", OneOf(frozenset({"lever-off"}))),
        ("lugs is 10", "plain", OneOf(frozenset({"10"}))),
        ("any runs is binds", "any", OneOf(frozenset({"binds"}))),
        ("strip at butt middle is not alike", "at", OneOf(frozenset({"alike"}), negated=True)),
        ("hold is refused", "plain", OneOf(frozenset({"refused for gap", "refused for knot"}))),
        ("hold is refused for gap", "plain", OneOf(frozenset({"refused for gap"}))),
        ("hold is not released", "plain", OneOf(frozenset({"released"}), negated=True)),
        ("butt_gap is not below", "plain", InVerdict("below", negated=True)),
        ("rod_note is missing", "plain", IsMissing()),
        ("any rod_note is not missing", "any", IsMissing(negated=True)),
        ("routing is missing", "plain", IsMissing()),
        ("room.gap is missing", "plain", IsMissing()),
        ("advice has no result", "plain", IsMissing()),
        ("advice has a result", "plain", IsMissing(negated=True)),
    ],
)
def test_questions_become_tests(text: str, how: str, test: object) -> None:
    """Every question in words is bound to the test it means, at the places it means."""
    atom = read(text)
    assert (atom.how, atom.test) == (how, test)


@pytest.mark.parametrize(
    ("text", "part", "said"),
    [
        ("gp < 3", "gp", "did you mean 'gap'"),
        ("gap < least_gop", "least_gop", "did you mean 'least_gap'"),
        ("least_gap < 3 mm", "least_gap < 3 mm", "nothing recorded"),
        ("any least_gap < 3 mm", "least_gap", "is a limit"),
        ("gap < butt_gap", "gap < butt_gap", "is a sum"),
        ("1 < 2 < gap", "gap", "in the middle"),
        ("gap < 3 Hz", "3 Hz", "Hz"),
        ("fork > least_gap", "least_gap", "'fork' is in Hz"),
        ("5 <= gap <= 3", "5 <= gap <= 3", "no number lies"),
        ("3 < gap < 3", "3 < gap < 3", "no number lies"),
        ("drum.rods > 2.5", "2.5", "whole"),
        ("lie = some", "lie", "'lie is some'"),
        ("lie < 3", "lie", "is a choice"),
        ("lie is sone", "sone", "did you mean"),
        ("lie is below", "below", "never 'below'"),
        ("way is within", "within", "does not say what is wanted"),
        ("gap is 3 mm", "3 mm", "'gap = 3 mm'"),
        ("gap is least_gap", "least_gap", "'gap = least_gap'"),
        ("gap is loose", "loose", "is a number"),
        ("fork is within", "within", "add 'wanted'"),
        ("drift is below", "below", "no lower end"),
        ("part is missing", "missing", "rename the choice"),
        ("routing is good", "good", "only be asked 'is missing'"),
        ("routing > 3", "routing", "only be asked 'is missing'"),
        ("rod_note > 200", "rod_note", "say 'any' or 'all'"),
        ("runs is binds", "runs", "say 'any' or 'all'"),
        ("any gap > 3", "any gap", "one value only"),
        ("skew at but side > 1", "but side", "did you mean 'butt side'"),
        ("rod_note at 3 > 200", "3", "not asked about one by one"),
        ("min(rod_note) is missing", "min(rod_note)", "write 'any' or 'all'"),
        ("min(runs) > 3", "min(runs)", "is a choice"),
        ("hold is refused for lack", "lack", "'refused_for'"),
        ("hold is done", "done", "released or refused"),
        ("lie is refused for gap", "refused for gap", "only a hold"),
        ("advice is missing", "missing", "'advice has no result'"),
        ("advice > 3", "advice", "'advice' gives "),
        ("advice is some", "some", "'advice' gives "),
        ("advice.sprad > 3", "advice.sprad", "did you mean 'advice.spread'"),
        ("advice.hertz > 3", "advice.hertz", "'advice' gives "),
        ("gap has no result", "gap has no result", "'gap is missing'"),
        ("advice.spread has no result", "advice.spread has no result", "'advice has no result'"),
        ("room.gap < 3", "room.gap", "is a range"),
    ],
)
def test_what_does_not_fit_is_refused_with_its_place_and_cure(text: str, part: str, said: str) -> None:
    """A question that does not fit what it asks about is refused, pointing at the part and naming the cure."""
    problem = refused(text)
    assert said in problem.message
    assert text[problem.offset : problem.end] == part


def test_every_problem_is_found() -> None:
    """All that does not fit in one condition is told at once, in the order of the text."""
    text = "gp < 3 and (lie is sone or not (gap < 3 Hz))"
    bound, problems = try_bind(parse_condition(text), SCOPE)
    assert bound is None
    assert [text[problem.offset : problem.end] for problem in problems] == ["gp", "sone", "3 Hz"]


def test_a_place_walked_now_may_be_named_plainly() -> None:
    """Where a step walks the rods, a reading for each rod is named without any or all; elsewhere it is not."""
    condition = parse_condition("runs is binds")
    assert bind(condition, SCOPE, each=ROD).atoms[0].how == "here"
    with pytest.raises(ConditionError):
        bind(condition, SCOPE, each=("butt side", "strainer side"))


def test_bound_names_are_listed_once_in_order() -> None:
    """A bound condition lists what it reads, each name once, in the order of the text."""
    bound = bind(parse_condition("lie is all or (gap < 3 and not (lie is some)) or 5 < drift"), SCOPE)
    assert bound.variables == ("lie", "gap", "drift")
    assert len(bound.atoms) == 4
