"""The hazards of a whole job, said once each before the first step."""

from __future__ import annotations

from benchwalk.daybook.lines import hazard_line
from benchwalk.procedure.linked import Linked
from benchwalk.walk.job_acts import job_hazards
from walk_helpers import Walk, linked, procedure, shipped

_NONE = b"hazards: {none_found_by: senior}"
_OUTER = "steps: [{step: snip, run: {procedure: snip-end, as: snip}, go: finish}, {step: finish, end: done}]\n"
_INNER = "steps: [{step: cut, do: Cut it., end: done}]\n"
_SHARP = "hazard: Ends are sharp, consequence: Pricked fingers, avoid: Glasses on"


def family(outer: str, inner: str) -> Linked:
    """A procedure that runs another, each with its hazards."""
    other = procedure(_INNER, id="snip-end").replace(_NONE, f"hazards: [{inner}]".encode())
    return linked(procedure(_OUTER, id="snip-both").replace(_NONE, f"hazards: [{outer}]".encode()), other)


def told(book: Linked) -> list[str]:
    """The hazards as they are said."""
    return [hazard_line(grade, part) for grade, part in job_hazards(book)]


def test_the_same_hazard_of_two_procedures_is_said_once() -> None:
    """A hazard under the same signal word in the same words, but for capitals and a full stop, is one."""
    book = family(f"caution: {{{_SHARP}}}", f"caution: {{{_SHARP.replace('Ends are sharp', 'ends are  sharp.')}}}")
    assert told(book) == ["CAUTION: Ends are sharp. Pricked fingers. Avoid it: Glasses on."]


def test_what_another_procedure_adds_to_the_same_hazard_is_not_lost() -> None:
    """Where the same hazard has another consequence or another way to avoid it, both are said, in one line."""
    more = _SHARP.replace("Pricked fingers", "Cut film").replace("Glasses on", "Hold the plates")
    book = family(f"caution: {{{_SHARP}}}", f"caution: {{{more}}}")
    assert told(book) == ["CAUTION: Ends are sharp. Pricked fingers; Cut film. Avoid it: Glasses on; Hold the plates."]


def test_a_notice_takes_a_consequence_from_the_procedure_that_knows_one() -> None:
    """A notice without a consequence has the other's, and nothing is said of what neither knows."""
    bare = "hazard: Ends are sharp, avoid: Glasses on"
    assert told(family(f"notice: {{{bare}}}", f"notice: {{{_SHARP}}}")) == [
        "NOTICE: Ends are sharp. Pricked fingers. Avoid it: Glasses on."
    ]
    assert told(family(f"notice: {{{bare}}}", f"notice: {{{bare}}}")) == [
        "NOTICE: Ends are sharp. Avoid it: Glasses on."
    ]


def test_another_signal_word_is_another_hazard() -> None:
    """A hazard that one procedure calls a warning and another a caution stands under both words."""
    book = family(f"caution: {{{_SHARP}}}", f"warning: {{{_SHARP}}}")
    assert [grade for grade, _ in job_hazards(book)] == ["caution", "warning"]


def test_the_flagship_says_each_hazard_once() -> None:
    """No hazard of the re-tie and of what it runs is said twice, and all agree on how it is avoided."""
    book = shipped("retie-snare-cords")
    found = job_hazards(book)
    assert len({part.hazard for _, part in found}) == len(found) > 3
    celluloid = [part for _, part in found if "celluloid" in part.hazard]
    assert [part.avoid for part in celluloid] == ["No flame, heat, power tool or hard rubbing near a wrap"]


def test_what_was_confirmed_ready_lists_each_hazard_once() -> None:
    """The event that says all is at hand names each hazard once too."""
    walk = Walk(family(f"caution: {{{_SHARP}}}", f"caution: {{{_SHARP}}}")).begin()
    assert walk.last("readied")["hazards"] == ["caution: Ends are sharp"]
