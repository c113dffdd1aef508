"""What the data flow knows of values, and where what is wanted leads: the cases that are easily got wrong."""

from __future__ import annotations

from samples import check

ENDS = """
  - step: hand-back
    do: Put the drum out for its owner.
    end: done
  - step: hand-on
    do: Put the drum by for the senior.
    end: referred
"""


def test_an_event_may_strike_when_some_places_are_noted() -> None:
    """A reading with places that an event interrupts is there at some places only, and branches must say what then."""
    piece = f"""
readings:
  strip: {{ask: The strip is, choices: {{held: held, loose: loose}}, per: [butt side, strainer side]}}
whenever:
  - {{event: tears, say: The paper tears, during: [again], go: look}}
steps:
  - step: strip
    record: [strip]
  - step: again
    record: [strip]
  - step: look
    do: Look at the strip.
    branches:
      - {{when: any strip is loose, go: hand-on}}
      - {{when: all strip is held, go: hand-back}}
{ENDS}"""
    (found,) = check(piece)
    assert "no branch is taken for strip {each: missing} (strip: it may be noted at some places only)" in found
    assert check(piece.replace("all strip is held, go", "otherwise, because: Nothing is seen to lift, go")) == []


KNOB = f"""
readings:
  now: {{ask: Turns now, unit: turns, possible: 0 .. 40}}
  most: {{ask: All turns, unit: turns, possible: 0 .. 40}}
sums:
  part: {{use: share, with: {{part: now, whole: most}}}}
whenever:
  - {{event: slips, say: The cord slips, during: [again], go: told}}
steps:
  - step: count
    record: [now, most]
    work_out: [part]
    branches:
      - {{when: part has a result, go: again}}
      - {{when: part has no result, go: hand-on}}
  - step: again
    record: [now, most]
    work_out: [part]
    branches:
      - {{when: part has a result, go: told}}
      - {{when: part has no result, go: hand-on}}
  - step: told
    do: "The knob stands at {{{{ part.share }}}}."
    branches:
      - {{when: part.share < 0.5, go: hand-back}}
      - {{when: part.share >= 0.5, go: hand-back}}
{ENDS}"""


def test_no_event_strikes_between_the_last_answer_and_the_branches() -> None:
    """A sum worked out after the last answer is led by at once, so an event cannot carry its failure elsewhere."""
    assert check(KNOB) == []


def test_a_hold_is_a_question_an_event_may_strike_at() -> None:
    """With a hold after the sum there is a moment for an event, and the sum's failure is carried along."""
    hold = "hold: {by: senior, signs: checked, because: A cord that lets go does so on stage}"
    again = "    work_out: [part]\n    branches:\n      - {when: part has a result, go: told}"
    told = check(KNOB.replace(again, again.replace("    branches", f"    {hold}\n    branches")))
    (found,) = [line for line in told if not line.endswith("[refused]")]
    assert "no branch is taken for part no result" in found and "it may come to no result" in found


def test_a_run_that_an_event_leaves_comes_back_as_stopped_with_nothing_sure() -> None:
    """What the run's own ends all record may be missing when a caller's event left it half-way."""
    piece = f"""
whenever:
  - {{event: drops, say: The set drops, during: [count], go: look}}
steps:
  - step: count
    run: {{procedure: count-strands, as: set}}
    branches:
      - {{when: set.outcome is done, go: told}}
      - {{when: set.outcome is stopped, go: told}}
  - step: told
    do: "There are {{{{ set.strands }}}}."
    go: hand-back
  - step: look
    do: Look at the set.
    branches:
      - {{when: set.outcome is stopped, go: told}}
      - {{when: otherwise, go: hand-on}}
{ENDS}"""
    (found,) = check(piece)
    assert "'set.strands' is read here and not recorded on every way: count, look, told" in found


def test_who_is_late_has_recorded_nothing_yet() -> None:
    """Readings come after the wait, so the way on being late goes without them; what came before it is there."""
    piece = f"""
readings:
  lie: {{ask: The snares, choices: {{all: all lie, some: some lift}}}}
steps:
  - step: rest
    choose:
      as: way
      ways:
        - {{way: flat, say: lying flat}}
        - {{way: upright, say: standing}}
    wait: {{for: 30 min, at_latest: 2 h, late: {{go: late}}}}
    record: [lie]
    go: hand-back
  - step: late
    do: "It rested {{{{ way }}}}; the snares: {{{{ lie }}}}."
    go: hand-on
{ENDS}"""
    (found,) = check(piece)
    assert "'lie' is read here and not recorded on every way: rest, late" in found


def test_a_skipped_step_leaves_its_values_out_and_not_unrecorded() -> None:
    """Texts print what was skipped as not noted; branches must say what then."""
    piece = f"""
readings:
  lie: {{ask: The snares, choices: {{all: all lie, some: some lift}}}}
steps:
  - step: look
    record: [lie]
    may_skip: {{because: The drum is wanted at once, by: senior}}
  - step: told
    do: "The snares: {{{{ lie }}}}."
    branches:
      - {{when: lie is all, go: hand-back}}
      - {{when: lie is some, go: hand-on}}
{ENDS}"""
    (found,) = check(piece)
    assert "no branch is taken for lie missing" in found and "it may be left out" in found


def test_a_branch_that_lacks_its_value_on_every_way_is_advice() -> None:
    """Coverage asks for both branches, and just this way rules one out: advice, not an error."""
    piece = f"""
readings:
  knob: {{ask: Turns, unit: turns, possible: 0 .. 40, optional: {{because: a seized knob is not forced}}}}
steps:
  - step: knob
    record: [knob]
    branches:
      - {{when: knob is missing, go: seized}}
      - {{when: knob is not missing, go: hand-back}}
  - step: seized
    do: Leave the knob.
    branches:
      - {{when: knob is missing, go: hand-on}}
      - {{when: knob is not missing, go: hand-back}}
{ENDS}"""
    (found,) = check(piece)
    assert "'knob is not missing' is never taken: 'knob' is missing on every way here [idle-branch]" in found


def wanted(branches: str, readings: str = "") -> list[str]:
    """What is found where `film` (wanted at most 1) is led by these branches."""
    return check(
        f"""
readings:
  film: {{ask: Film, unit: mm, possible: 0 .. 4, wanted: at most 1}}
{readings}
steps:
  - step: look
    record: [{", ".join(["film", *(line.split(":")[0].strip() for line in readings.splitlines() if line.strip())])}]
{branches}
{ENDS}"""
    )


def test_another_fault_that_leads_to_the_same_step_is_no_matter() -> None:
    """Where the other value alone sends it there, the value outside may go along, for it leads there by itself too."""
    sound = """
    branches:
      - {when: turns > 0 and film <= 1, go: hand-back}
      - {when: otherwise, because: No travel or a thick film, go: hand-on}
"""
    assert wanted(sound, "  turns: {ask: Turns, kind: whole, possible: 0 .. 40}") == []


def test_another_value_outside_what_is_wanted_of_it_is_no_matter() -> None:
    """Several faults at one step: the first that is told leads, whatever the others are."""
    several = """
    first_of:
      - {when: head is dented, go: change}
      - {when: film > 1, go: hand-on}
      - {when: otherwise, because: Both are right, go: hand-back}
  - step: change
    do: Change the head.
    go: hand-on
"""
    head = "  head: {ask: The head, choices: {whole: is whole, dented: is dented}, wanted: whole}"
    assert wanted(several, head) == []


def test_a_value_outside_that_passes_in_one_case_is_told_with_that_case() -> None:
    """It leads elsewhere with the lever on, and passes with the lever off: the case is shown."""
    (found,) = wanted(
        """
    branches:
      - {when: lever is lever_off, go: hand-back}
      - {when: lever is lever_on and film <= 1, go: hand-back}
      - {when: lever is lever_on and film > 1, go: hand-on}
""",
        "  lever: {ask: The lever, choices: {lever_on: is on, lever_off: is off}}",
    )
    assert "with lever lever_off, film 2 mm, the walk goes on to 'hand-back' as if 'film' were what is wanted" in found


def test_a_later_reader_counts_until_the_value_is_taken_anew() -> None:
    """A step further on may mind the value, but not once another step has recorded it again."""
    far = """
    go: again
  - step: again
    do: Look again.
    record: [film]
    branches:
      - {when: film <= 1, go: hand-back}
      - {when: film > 1, go: hand-on}
"""
    (found,) = wanted(far)
    assert "something is wanted of 'film', and no branch reads it" in found and found.startswith("7:")
    assert wanted(far.replace("    record: [film]\n", "")) == []


def spread(use: str, reading: str, more: str = "") -> list[str]:
    """What is said of branches on a sum over the places of a reading, where no branch takes 'no result'."""
    output = f"even.{use}"
    return check(f"""
drum: [rods]
readings:
  depth: {{ask: "Depth of {{{{ drum.rods }}}}", unit: mm, possible: 0 .. 20, {reading}}}
sums:
  even: {{use: {use}, with: {{values: depth}}}}
steps:
  - step: depth
    record: [depth]
    work_out: [even]
    branches:
      - {{when: {output} > 1 mm, go: hand-on}}
      - {{when: {output} <= 1 mm, go: hand-back}}
{more}{ENDS}""")


LEFT = "no branch is taken for even no result"


def test_a_sum_over_places_that_are_all_noted_has_a_result() -> None:
    """Where every place has to be noted and there are enough of them, no branch is wanted for no result."""
    assert spread("spread", "per: rod") == []
    assert spread("spread", "per: [edge A, edge B]") == []
    assert spread("mean", "per: [edge A]") == []
    assert LEFT in spread("spread", "per: [edge A]")[0]


def test_a_sum_over_places_that_may_be_left_out_may_have_no_result() -> None:
    """Where places may be left out, or the reading never taken, a branch is still wanted for no result."""
    assert LEFT in spread("spread", "per: rod, optional: {because: A lug may be blocked}")[0]
    assert LEFT in spread("mean", "per: [edge A, edge B], optional: {because: A lug may be blocked}")[0]


def test_no_result_that_cannot_be_is_a_branch_never_taken() -> None:
    """A branch for no result where every place has to be noted is never taken, and is told."""
    more = "      - {when: even has no result, go: hand-on}\n"
    (told,) = spread("spread", "per: rod", more)
    assert "'even has no result' is never taken: 'even' is always there" in told
