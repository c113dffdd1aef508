"""Something of another shape than is read: what is shown in its place, and times and hazards that say too little."""

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
