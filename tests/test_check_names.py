"""Names that a range would not read as names, keys with nothing after them, braces nobody fills."""

from __future__ import annotations

import pytest

from benchwalk.procedure.condition_cursor import RESERVED
from benchwalk.procedure.link_data import RANGE_WORDS
from benchwalk.quantities import parse_range
from samples import check, findings

LIMIT = """
limits:
  {name}: {{is: 5 mm, sure: C, whose: the shop, because: A wide gap answers late}}
readings:
  gap: {{ask: Gap from plate to hoop, unit: mm, possible: "{range}"}}
steps:
  - step: gap
    do: "Keep to {{{{ {name} }}}}."
    record: [gap]
    end: done
"""


@pytest.mark.parametrize("name", sorted(RANGE_WORDS | RESERVED | {"mm", "in", "turns", "c", "inches"}))
def test_limit_called_by_a_word_of_ranges_conditions_or_units_is_refused(name: str) -> None:
    """Each such name is one error, told where the limit is declared and naming the word."""
    told = [line for line in check(LIMIT.format(name=name, range="0 .. 30")) if line.startswith("3:3:")]
    assert len(told) == 1 and told[0].startswith(f"3:3: '{name}' is a") and "choose another name" in told[0]


@pytest.mark.parametrize("name", ["least_gap", "mostly", "tone", "atmost", "max_gap", "inch_rule"])
@pytest.mark.parametrize("words", ["0 .. {}", "at least {}", "at most {}", "below {}", "above {}", "exactly {}"])
def test_any_other_limit_stands_inside_every_form_of_range(name: str, words: str) -> None:
    """Names that only look like such words are left alone and are read as the limit."""
    assert check(LIMIT.format(name=name, range=words.format(name))) == []


def test_range_words_are_all_the_words_that_ranges_have() -> None:
    """Every word of every form of range that is understood is among those no limit may have."""
    forms = ["2 .. 5", "2 to 5", "at least 2", "at most 5", "above 2 and below 5", "exactly 2", "below 1"]
    assert not any(parse_range(form, "mm").empty for form in forms)
    used = {word for form in forms for word in form.split() if word.isalpha()}
    assert used | {"from"} == RANGE_WORDS


STEP = """
steps:
  - step: look
    do: Look at it.
{keys}
    end: done
"""


@pytest.mark.parametrize("key", ["why", "expect", "if_not", "wait", "hold", "may_skip", "entered", "stage", "show"])
def test_key_with_nothing_after_it_is_told_at_the_key(key: str) -> None:
    """An optional key of a step with nothing after it is an error at the key, and nothing else is said."""
    assert check(STEP.format(keys=f"    {key}:")) == [
        f"5:5: nothing stands after '{key}:'; write it, or take the key out [empty]"
    ]
    assert check(STEP.format(keys=f"    {key}: ~")) == check(STEP.format(keys=f"    {key}:"))


EXAMPLES = """
readings:
  gap: {{ask: Gap from plate to hoop, unit: mm}}
steps:
  - {{step: gap, record: [gap], end: done}}
usual: {{given: {{gap: 3}}, acts: {{gap: {{problem: lost}}}}}}
examples:
  - {{example: one, {rest}}}
"""


def test_examples_may_take_back_what_is_usual() -> None:
    """`~` in an example's answers means nothing and is left alone; an expectation with nothing after it is not."""
    assert check(EXAMPLES.format(rest="acts: {gap: ~}")) == []
    assert check(EXAMPLES.format(rest="acts: {gap: ~}, finds: ")) == [
        "8:36: nothing stands after 'finds:'; write it, or take the key out [empty]"
    ]


def test_nothing_found_is_an_empty_list() -> None:
    """`finds: none` says how to write it, though no finding has that id."""
    assert (
        check(EXAMPLES.format(rest="acts: {gap: ~}, finds: none"))[-1]
        == "8:43: there is no finding 'none'; for nothing found write 'finds: []' [example-name]"
    )
    assert check(EXAMPLES.format(rest="acts: {gap: ~}, finds: []")) == []


@pytest.mark.parametrize(
    "part",
    [
        'title: "{{ gap }}"',
        'time: "{{ gap }}"',
        'for: "{{ gap }}"',
        'needs: {tools: ["{{ gap }}"], parts: none, supplies: none, before: none}',
        'needs: {tools: none, parts: none, supplies: none, before: "{{ gap }}"}',
        'hazards: [{notice: {hazard: "{{ gap }}", avoid: Look}}]',
        'sources: ["{{ gap }}"]',
    ],
)
def test_braces_in_the_head_are_told(part: str) -> None:
    """No value is known before the first step, so braces in the head of a file would be printed."""
    told = check("readings:\n  gap: {ask: Gap, unit: mm}\nsteps:\n  - {step: a, record: [gap], end: done}\n" + part)
    assert len(told) == 1 and told[0].startswith("5:") and "its braces would be printed [name]" in told[0]


def test_braces_are_filled_wherever_a_step_says_something() -> None:
    """Every text of a step that takes values, alone or in a list, is left alone."""
    assert (
        check("""
readings:
  gap: {ask: Gap, unit: mm}
  wide: {ask: "Wider than {{ gap }}", choices: {is_wide: it is, is_not: it is not}}
findings:
  wide: {found: "It is {{ gap }}.", grade: watch}
steps:
  - {step: gap, record: [gap]}
  - step: look
    caution: {hazard: "At {{ gap }}", consequence: "It is {{ gap }}", avoid: "Below {{ gap }}"}
    do: "Look at {{ gap }}."
    expect: "See {{ gap }}."
    why: "It is {{ gap }}."
    if_not: "Look at {{ gap }} again."
    record: [wide]
    branches:
      - {when: wide is is_wide, because: "By {{ gap }}", find: wide, go: choose}
      - {when: wide is is_not, because: "By {{ gap }}", go: choose}
  - step: choose
    if_not: ["Look at {{ gap }} again."]
    choose: {as: way, ways: [{way: one, say: One, do: "To {{ gap }}."}, {way: two, say: Two}]}
  - step: leave
    end: {as: done, say: "It is {{ gap }}, {{ way }}."}
""")
        == []
    )


CHOICE = """
readings:
  swarf: {{ask: Swarf, choices: {{{word}: "{text}", loose: still shows}}}}
steps:
  - step: wipe
    record: [swarf]
    branches:
      - {{when: swarf is {word}, go: leave}}
      - {{when: swarf is loose, go: leave}}
  - {{step: leave, do: Put it by., end: done}}
"""


@pytest.mark.parametrize(
    ("word", "text", "told"),
    [
        ("gone", "no swarf shows", "'no swarf shows' begins with 'no', which is typed for 'not yet'"),
        ("gone", "No", "'No' is typed for 'not yet'; say what"),
        ("gone", "not there", "'not there' begins with 'not', as 'not yet' does"),
        ("gone", "none", "'none' reads as nothing noted"),
        ("gone", "2 grains", "'2 grains' begins with a digit"),
        ("gone", "?", "'?' is typed for help"),
        ("gone", "? unsure", "'? unsure' begins with '?'"),
        ("gone", "/none", "'/none' begins with '/'"),
        ("no_swarf", "gone", "'no_swarf' begins with 'no'"),
        ("none", "no swarf", "'none' reads as nothing noted"),
    ],
)
def test_choice_that_is_typed_for_something_else_is_advice(word: str, text: str, told: str) -> None:
    """A choice whose word or text begins with what is typed for something else is told once, and is no error."""
    found = findings(CHOICE.format(word=word, text=text))
    assert [(f.rule, f.severity) for f in found] == [("typed-word", "advice")]
    assert found[0].message.startswith(told)


@pytest.mark.parametrize("text", ["nothing shows", "noted", "nobody saw it", "nonesuch", "n", "gone, not loose"])
def test_longer_words_are_other_words(text: str) -> None:
    """A word that only begins like one that is typed for something else is left alone."""
    assert check(CHOICE.format(word="nothing", text=text)) == []


def test_way_that_is_typed_for_something_else_is_advice() -> None:
    """Ways are picked as choices are, and are told alike, at the word or at what is said."""
    found = findings("""
steps:
  - step: pick
    choose: {as: way, ways: [{way: no_knot, say: A washer}, {way: two, say: 2 knots}, {way: eight, say: An eight}]}
  - {step: leave, do: Put it by., end: done}
""")
    told = [(f.rule, f.pos.column, f.message.partition(" begins")[0]) for f in found if f.rule == "typed-word"]
    assert told == [("typed-word", 36, "'no_knot'"), ("typed-word", 77, "'2 knots'")]


@pytest.mark.parametrize("hazards", ["none", "None found", "{caution: {hazard: Ends are sharp}}"])
def test_hazards_that_are_no_list_are_one_error_with_its_cure(hazards: str) -> None:
    """A word, or one hazard without a list, where hazards are listed says how to write that there are none."""
    told = check(f"steps:\n  - {{step: a, do: Look., end: done}}\nhazards: {hazards}\n")
    assert len(told) == 1
    assert told[0].startswith("3:10: ") and "write {none_found_by: senior}, with the role that looked" in told[0]
