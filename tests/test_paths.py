"""What earlier branches say about a value: cases no walk comes to are no faults, and branches for them are told."""

from __future__ import annotations

from samples import findings

READINGS = """
readings:
  key: {ask: The drum key, choices: {here: is here, gone: is gone}}
  gap: {ask: The gap, unit: mm, possible: 0 .. 20}
"""
ENDS = """
  - {step: put-by, do: Put it by., end: stopped}
  - {step: hand-back, do: Hand it back., end: done}
"""


def told(steps: str, rule: str) -> list[str]:
    """What a rule says of these steps."""
    return [f.message for f in findings(READINGS + "steps:" + steps + ENDS) if f.rule == rule]


LOOK = """
  - step: look
    record: [key, gap]
    branches:
      - {when: key is here and gap < 3 mm, because: near, go: near}
      - {when: key is here and gap >= 3 mm, because: far, go: far}
      - {when: key is gone, because: gone, go: put-by}
"""


def test_covering_that_holds_thanks_to_the_way_is_accepted() -> None:
    """Branches need not cover what the branches on every way here have ruled out."""
    steps = (
        LOOK
        + """
  - step: near
    branches:
      - {when: gap < 1 mm, because: nearer, go: put-by}
      - {when: 1 mm <= gap < 3 mm, because: near, go: hand-back}
  - step: far
    branches:
      - {when: gap >= 3 mm, because: far, go: hand-back}
"""
    )
    assert told(steps, "coverage") == []
    assert told(steps, "idle-branch") == []


def test_value_noted_anew_is_free_again() -> None:
    """What a branch said holds only until the value is recorded again."""
    steps = (
        LOOK
        + """
  - step: near
    record: [gap]
    branches:
      - {when: gap < 3 mm, because: near, go: hand-back}
  - step: far
    go: hand-back
"""
    )
    assert told(steps, "coverage") == ["no branch is taken for gap 3 mm; missing is a branch for 'gap >= 3 mm'"]


def test_way_back_brings_its_values_along() -> None:
    """A second way to the same step, back from further on, counts like the first."""
    steps = (
        LOOK
        + """
  - step: near
    branches:
      - {when: gap < 3 mm, because: near, go: hand-back}
  - step: far
    do: Set it nearer.
    go: near
"""
    )
    assert told(steps, "coverage") == ["no branch is taken for gap 3 mm; missing is a branch for 'gap >= 3 mm'"]


def test_branch_that_the_way_rules_out_is_advice() -> None:
    """A branch for what cannot come here is told, as advice, and no other fault is found in it."""
    steps = (
        LOOK
        + """
  - step: near
    branches:
      - {when: gap < 3 mm, because: near, go: hand-back}
      - {when: gap >= 3 mm, because: far, go: put-by}
  - step: far
    go: hand-back
"""
    )
    assert told(steps, "coverage") == []
    assert told(steps, "idle-branch") == [
        "'gap >= 3 mm' is never taken: branches on every way here have said otherwise"
    ]


def test_two_branches_that_the_way_keeps_apart_do_not_overlap() -> None:
    """Branches that both fit only where no walk comes are no overlap."""
    steps = (
        LOOK
        + """
  - step: near
    branches:
      - {when: gap < 3 mm, because: near, go: hand-back}
      - {when: gap > 2 mm and key is gone, because: gone, go: put-by}
  - step: far
    go: hand-back
"""
    )
    assert told(steps, "coverage") == []


def test_text_reads_what_the_way_has_recorded() -> None:
    """A value that is recorded on just those ways that the branches let through to a text is recorded there."""
    steps = """
  - step: look
    record: [key]
    branches:
      - {when: key is here, because: here, go: measure}
      - {when: key is gone, because: gone, go: meet}
  - step: measure
    record: [gap]
    go: meet
  - step: meet
    do: Look again.
    branches:
      - {when: key is here, because: here, go: write}
      - {when: key is gone, because: gone, go: put-by}
  - step: write
    do: "Write {{ gap }} on the tag."
    go: hand-back
"""
    assert told(steps, "unrecorded") == []
    assert told(steps.replace("record: [gap]\n    go", "do: Wait.\n    go"), "unrecorded") != []


MEET = """
  - step: look
    record: [key]
    branches:
      - {when: key is here, because: here, go: measure}
      - {when: key is gone, because: gone, go: meet}
  - step: measure
    record: [gap]
    go: meet
  - step: meet
    do: Look again.
    branches:
      - {when: key is here, because: here, WHAT go: hand-back}
      - {when: key is gone, because: gone, go: put-by}
"""


def test_what_is_given_and_what_proves_a_finding_are_recorded_on_the_ways_there_are() -> None:
    """A value given at the end, and the evidence of a finding, count as recorded where the ways there have done it."""
    gives = "gives: [gap]\n"
    finds = "findings:\n  near: {found: It is near., grade: watch, evidence: [gap]}\n"
    whole = f"{gives}{finds}{READINGS}steps:{MEET.replace('WHAT', 'find: near,')}{ENDS}"
    assert not [f.message for f in findings(whole) if f.rule in ("gives", "evidence")]
    spoilt = whole.replace("record: [gap]\n    go", "do: Wait.\n    go")
    assert {f.rule for f in findings(spoilt)} >= {"gives", "evidence"}


def test_skipped_step_leaves_a_case_that_counts() -> None:
    """A value that a skip leaves missing comes to the branches further on."""
    steps = """
  - step: look
    record: [key]
    may_skip: {because: It may be, by: senior}
    branches:
      - {when: key is here, because: here, go: later}
      - {when: key is gone, because: gone, go: put-by}
      - {when: key is missing, because: skipped, go: later}
  - step: later
    do: Go on.
    branches:
      - {when: key is here, because: here, go: hand-back}
"""
    (message,) = told(steps, "coverage")
    assert message.startswith("no branch is taken for key missing")
