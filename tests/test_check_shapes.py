"""Something of another shape than is read: what is shown in its place, and what says too little or leads to a word."""

from __future__ import annotations

import pytest

from benchwalk.procedure.read import SAMPLES
from samples import check

STEP = """
steps:
  - step: look
    do: Look at it.
    {key}: {value}
    end: done
  - step: leave
    do: Leave it.
    end: stopped
"""
PLACES = {
    "limits.": "limits:\n  some_name: {value}\n",
    "readings.": "readings:\n  some_name: {value}\n",
    "sums.": "sums:\n  some_name: {value}\n",
    "findings.": "findings:\n  some-name: {value}\n",
    "choices": "readings:\n  lie: {ask: The snares, choices: {value}}\n",
}
OF_STEPS = STEP.replace("{key}: {value}", "why: It counts.")
NAMES = {"limits.": "some_name", "readings.": "some_name", "sums.": "some_name", "findings.": "some-name"}


@pytest.mark.parametrize("key", SAMPLES)
def test_a_shape_that_is_not_to_be_guessed_is_shown_in_a_form_that_reads(key: str) -> None:
    """A word where keys and values or a list are meant is told with how it is written, and that form has its shape."""
    piece = PLACES[key] + OF_STEPS if key in PLACES else STEP.replace("{key}", key)
    (told,) = check(piece.replace("{value}", "wax"))
    assert "'wax' found where " in told
    assert told.endswith(f"; it is written as in {NAMES.get(key, key)}: {SAMPLES[key]} [shape]")
    assert not [line for line in check(piece.replace("{value}", SAMPLES[key])) if line.endswith(("shape]", "-key]"))]


@pytest.mark.parametrize(
    ("time", "says"),
    [
        ("30", "'30' has no unit; write one, as in 30 min"),
        ("0 min", "'0 min' lets no time pass; write a time, such as 30 min"),
        ("-5 min", "'-5 min' lets no time pass; write a time, such as 30 min"),
        ("a while", "'a while' is not a time, such as 30 min or 2 h"),
    ],
)
def test_a_wait_says_a_time_that_passes_with_its_unit(time: str, says: str) -> None:
    """A bare number would be shown as it stands, and each reader would take his own unit for it."""
    assert check(STEP.replace("{key}: {value}", f"wait: {{for: {time}}}"))[0] == f"5:17: {says} [quantity]"


@pytest.mark.parametrize("written", ["[]", "~", "none"])
def test_no_hazards_without_somebody_who_looked_are_refused(written: str) -> None:
    """An empty list says no more than the word none: who looked is asked for."""
    (told,) = [line for line in check(f"hazards: {written}\n{OF_STEPS}") if "[empty]" not in line]
    assert "found where the hazards are listed; where somebody looked and found none" in told


@pytest.mark.parametrize("written", ["rods", "every rod", "each rod", "all rods", "pairs", "rod pairs"])
def test_words_for_all_rods_are_not_taken_for_one_place_of_that_name(written: str) -> None:
    """Who means the rods is told how they are written, under each and under per; other places keep their names."""
    drum = "drum: [rods]\nreadings:\n  lie: {ask: It lies, choices: {flat: flat, tilted: tilted}, per: PLACE}\n"
    piece = drum + OF_STEPS.replace("why: It counts.", "each: PLACE\n    record: [lie]")
    told = [line for line in check(piece.replace("PLACE", written)) if line.endswith("[shape]")]
    assert len(told) == 2 and all(f"'{written}' would be one place of that name; for " in line for line in told)
    for good in ("rod", "rod side"):
        assert [line for line in check(piece.replace("PLACE", good)) if line.endswith("[shape]")] == []


BRANCH = """
readings:
  gap: {ask: The gap, unit: mm, possible: 0 .. 9}
steps:
  - step: look
    record: [gap]
    branches:
      - {when: gap < 3 mm, because: It is narrow, go: hand-back}
      - {when: gap >= 3 mm, because: It is wide, go: hand-back}
  - step: hand-back
    do: Put the drum out for its owner.
    end: done
"""


def test_a_text_that_a_comma_cuts_is_told_once() -> None:
    """The rest of the text is no key of its own that cannot stand there too."""
    (told,) = check(BRANCH.replace("It is narrow", "It is narrow, and deep"))
    assert told.startswith("8:51: the comma before 'and deep' ends the text")
    (told,) = check(BRANCH.replace("< 3 mm", "< 2,5 mm"))
    assert told.startswith("8:16: 'gap < 2,5' is two values here")


def test_a_branch_that_would_end_is_told_that_ends_are_steps() -> None:
    """The word of an end is no step, and the key no key of a branch: both say to lead to a step that ends."""
    (told,) = check(BRANCH.replace("go: hand-back", "go: done", 1))
    assert told.startswith("8:55: there is no step 'done' here; ends are steps: write one with 'end: done', and lead")
    told = check(BRANCH.replace("go: hand-back", "end: done", 1))[-1]
    assert "'end' is not a key of a branch; lead to a step that has it, as in go: hand-back" in told
