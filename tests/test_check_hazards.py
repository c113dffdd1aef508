"""Hazards: words that call for one nobody tells, actions hidden in one, and grades that do not fit."""

from __future__ import annotations

import json
import re

import pytest

from benchwalk.procedure.linked import Linked
from benchwalk.procedure.linking import link
from benchwalk.procedure.parts import GRADES
from benchwalk.procedure.read import read
from benchwalk.proof.hazard_table import PRACTICE, ROWS, Row
from benchwalk.proof.hazard_words import called, plural
from benchwalk.proof.rules.hazard import check
from samples import findings, whole

RULES = {"hazard", "hidden-action", "grade"}


def told(do: str, more: str = "", head: str = "") -> list[str]:
    """What the rules of hazards say of a step with this `do`, more keys in it, and a head."""
    piece = (
        f"{head}steps:\n  - step: a\n    do: {json.dumps(do)}\n{more}"
        "  - step: z\n    do: Put the drum out.\n    end: done\n"
    )
    return [f"{f.message} [{f.rule}]" for f in findings(piece) if f.rule in RULES]


def given(grade: str, hazard: str, consequence: str = "", avoid: str = "Glasses on") -> str:
    """A hazard as a key of a step."""
    said = {"hazard": hazard, "consequence": consequence, "avoid": avoid}
    return f"    {grade}: {json.dumps({key: text for key, text in said.items() if text})}\n"


# --- the table ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.wants)
def test_row_says_what_it_wants_at_which_grade_and_from_where(row: Row) -> None:
    """Each row has words, a grade, a sentence that fits a screen, and a source with its year or none and how seen."""
    assert row.words or row.laid_out
    assert row.grade in GRADES[:3] and row.severity in ("error", "advice")
    assert len(row.wants) <= 90 and not row.wants.endswith(".")
    if row.source != PRACTICE:
        assert re.search(r"\b(19|20)\d\d\b|no year", row.source) and re.search("seen|from memory", row.source)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.wants)
def test_every_word_of_a_row_calls_for_it_one_and_many(row: Row) -> None:
    """Each word is found whole, as one and as many, with a hyphen for its space, in capitals, and not inside others."""
    beside = f" {row.beside[0]}" if row.beside else ""
    for word in (*row.words, *row.laid_out):
        for form in (word, plural(word), word.replace(" ", "-"), word.upper()):
            calls = list(called([((), f"the {form}{beside}")], laid_out=True))
            assert any(call.row is row and call.word == form for call in calls), form
        assert not any(call.row is row for call in called([((), f"x{word}x{beside}")], laid_out=True))


def test_a_row_that_stands_later_with_the_same_words_counts_where_the_first_does_not() -> None:
    """Celluloid alone wants a warning as advice; beside heat or friction it is an error, told once."""
    alone = [f for f in findings(_celluloid("Look at the celluloid.")) if f.rule == "hazard"]
    hot = [f for f in findings(_celluloid("Warm the celluloid with a heat gun.")) if "celluloid" in f.message]
    assert [f.severity for f in alone] == ["advice"] and [f.severity for f in hot] == ["error"]
    forbidden = findings(_celluloid("Look at the celluloid; never sand it, and bring no heat near it."))
    assert [f.severity for f in forbidden if f.rule == "hazard"] == ["advice"]


def _celluloid(do: str) -> str:
    return f"steps:\n  - {{step: a, do: {json.dumps(do)}, end: done}}\n"


@pytest.mark.parametrize(
    ("word", "many"),
    [("knife", "knives"), ("file", "files"), ("torch", "torches"), ("battery", "batteries"), ("key", "keys")],
)
def test_plural_is_made_as_in_english(word: str, many: str) -> None:
    """Knife, torch and battery are found as knives, torches and batteries."""
    assert plural(word) == many


# --- words that call for a hazard --------------------------------------------------------------------------------

CALLS = """
Cut the wrap with a scalpel.
Blow the swarf out with compressed air.
Clean the hoop with isopropanol.
Wipe it with methylated spirits.
Sand the edge flat.
Drill the vent hole.
Rub linseed oil into the shell.
Play ten hard strokes.
Lift the timpani onto the bench.
Open the motor housing.
Warm the tuck with a heat-gun.
Singe the cord over a candle.
Wipe the brass with ammonia.
Dress the edge with the bench grinder.
Glue the shell with two-part epoxy.
Release the balance springs.
File the burr off.
""".strip().splitlines()


@pytest.mark.parametrize("sentence", CALLS)
def test_word_in_an_action_calls_for_its_hazard(sentence: str) -> None:
    """A tool or a stuff in an action is told where neither the whole work nor the step tells its hazard."""
    assert any("[hazard]" in line and "neither the whole work nor this step" in line for line in told(sentence))


SILENT = """
Cut the cord square.
Use no compressed air.
Never bring a flame near it.
Drill nothing on the drum.
Wipe it with acid-free paper.
Use a lighter stroke.
Lift the timpano head off.
Match the pair by ear.
Polish it with a soft cloth.
Put one drop of glue on the knot.
Do not sand the edge.
Read the file number off the tag.
Wipe it without solvents.
Use alcohol-free wipes.
Draw the cord past the filed edge.
Keep the profile of the edge as it is.
""".strip().splitlines()


@pytest.mark.parametrize("sentence", SILENT)
def test_what_is_forbidden_or_means_something_else_calls_for_nothing(sentence: str) -> None:
    """A word that is only forbidden, a part of another word, or another thing by the same letters is left alone."""
    assert told(sentence) == []


def test_hazard_of_the_step_or_of_the_whole_work_answers() -> None:
    """The hazard may stand in the step or in the head; in another step it answers only for what is laid out."""
    knife = given("caution", "The knife slips", "A cut hand")
    head = f"hazards:\n  - {knife.strip()}\n"
    assert told("Trim it with the knife.", knife) == told("Trim it with the knife.", head=head) == []
    elsewhere = "needs: {tools: [knife], parts: none, supplies: none, before: none}\n"
    assert told("Look at it.", knife, elsewhere) == []
    (alone,) = told("Look at it.", "", elsewhere)
    assert alone.startswith("'knife' among the tools calls for a caution") and "no hazard here tells it" in alone
    first = f"steps:\n  - step: trim\n    do: Trim it with the knife.\n{knife}"
    piece = first + "  - {step: again, do: Trim the rest with the knife., end: done}\n"
    assert [f.pos.line for f in findings(piece) if f.rule == "hazard"] == [5]


def test_grade_has_to_be_the_wanted_one_or_graver() -> None:
    """A hazard under a lower grade is named as such; a graver one is enough."""
    (low,) = told("Clean it with acetone.", given("caution", "Its vapour burns", "Burnt hands"))
    assert low.startswith("'acetone' calls for a warning: ") and "told here only as a caution [hazard]" in low
    assert told("Clean it with acetone.", given("danger", "Its vapour burns", "Burns that kill")) == []


RUN = """
procedure: trim-a-cord
steps:
  - step: trim
    do: Trim the cord with the knife.
    caution: {hazard: The knife slips, consequence: A cut hand, avoid: Cut away from the hand}
    end: done
"""
CALLER = """
needs: {tools: [knife], parts: none, supplies: none, before: none}
steps:
  - step: a
    run: {procedure: trim-a-cord, as: cord}
    branches: [{when: cord.outcome is done, because: It is trimmed, go: z}]
  - {step: z, do: Put the drum out., end: done}
"""


def test_what_is_run_tells_its_own_hazards_for_what_is_laid_out() -> None:
    """A caller lays out what it runs needs; a hazard that the run tells is not asked of the caller again."""

    def called_for(run: str) -> list[str]:
        def find(_: str) -> Linked | None:
            return link(read(whole(run).encode(), "trim-a-cord.yaml"), lambda _: None)

        caller = link(read(whole(CALLER).encode(), "caller.yaml"), find)
        assert caller is not None and caller.sound, caller and caller.findings
        return [finding.message for finding in check(caller)]

    assert called_for(RUN) == []
    (alone,) = called_for("".join(line for line in RUN.splitlines(keepends=True) if "caution" not in line))
    assert alone.startswith("'knife' among the tools calls for a caution")


def test_place_is_that_of_the_word() -> None:
    """The finding points at the word itself, through lists, quotes and folded lines."""
    piece = """
needs:
  tools: ["drum key", "two side-cutters"]
  parts: none
  supplies: acetone
  before: [The acetone is at hand]
steps:
  - step: a
    do: >
      Blow the dust out
      with compressed air.
    end: done
"""
    assert [(f.pos.line, f.pos.column) for f in findings(piece) if f.rule == "hazard"] == [(3, 28), (5, 13), (11, 12)]


# --- grades and hidden actions -----------------------------------------------------------------------------------

FITS = [
    ("caution", "Strand ends stab", "Pricked fingers", "Glasses on; hold the set by its plates"),
    ("notice", "Finger marks etch the plating", "Dull spots", "Cotton gloves on"),
    ("notice", "Screws shear", "A sheared screw", "Stop at firm, never hard"),
    ("caution", "The hoop springs off", "A bruised hand", "Hold it down with the palm"),
    ("warning", "Acetone vapour catches fire", "Burns", "Window open; no flame"),
    ("warning", "The bowl is heavy", "A crushed foot", "Two people; block the pedal"),
    ("danger", "Mains voltage in the motor box", "It kills", "Unplug it; a licensed person only"),
    ("caution", "The knife slips", "A cut hand or a cut film", "Cut away from the hand"),
    ("notice", "Ammonia eats brass", "Cracks that show late", "No ammonia near brass"),
    ("caution", "Rods under tension fly", "A broken rod hits the face", "Loosen in small passes, face aside"),
    ("notice", "The shell drops when its last rod is out", "A split shell", "Support it from below"),
    ("caution", "Grinding dust", "Sore eyes and lungs", "Remove rings and watches; mask on"),
    ("warning", "The spring is compressed", "It breaks a finger", "Release it slowly, face aside"),
    ("caution", "The rim is sharp", "Cut fingers", "Fit the rim guard"),
    ("warning", "Hot glue sticks to skin", "Deep burns", "Tie back long hair, and wear gloves"),
    ("notice", "Overtightening strips the thread", "A stripped insert", "Stop at finger-tight"),
    ("warning", "The lever springs back", "A broken finger", "Set it off slowly"),
]


@pytest.mark.parametrize("hazard", FITS, ids=lambda h: h[1])
def test_hazard_that_fits_is_left_alone(hazard: tuple[str, str, str, str]) -> None:
    """A grade that fits its words, and an `avoid` that says how to keep safe, are left alone."""
    assert told("Lift the plate off.", given(*hazard)) == []


MISFITS = [
    (("notice", "Strand ends stab", "Pricked fingers"), "make it a caution [grade]"),
    (("notice", "Swarf flies", "Metal in the eye"), "make it a caution [grade]"),
    (("notice", "The dust harms the lungs"), "make it a caution [grade]"),
    (("notice", "The motor is live", "It kills"), "make it a warning [grade]"),
    (("warning", "The key slips", "A scratched shell"), "make it a notice [grade]"),
    (("danger", "Too much tension", "The film tears"), "make it a notice [grade]"),
    (("caution", "The screw is soft", "A stripped thread"), "make it a notice [grade]"),
    (("caution", "The motor is live", "A shock can kill"), "make it a warning [grade]"),
    (("warning", "Burrs", "Pricked fingers"), "make it a caution [grade]"),
    (("danger", "Burrs", "A scratched hand"), "make it a caution [grade]"),
]


@pytest.mark.parametrize(("hazard", "advice"), MISFITS)
def test_grade_that_does_not_fit_is_told_with_the_one_that_does(hazard: tuple[str, ...], advice: str) -> None:
    """An injury in a notice, mere harm to things above it, and killing or a prick under the wrong grade are told."""
    (line,) = told("Lift the plate off.", given(*hazard))
    assert line.endswith(advice)


HIDDEN = [
    ("Loosen all rods first", "Loosen all rods first"),
    ("Hold it down, and remove the rods", "remove the rods"),
    ("Drill a 2 mm hole for the vent", "Drill a 2 mm hole for the vent"),
    ("Glue the knot", "Glue the knot"),
    ("Cut the strip short; gloves on", "Cut the strip short"),
    ("Gloves on. Set the lever off", "Set the lever off"),
]


@pytest.mark.parametrize(("avoid", "clause"), HIDDEN)
def test_action_in_an_avoid_is_told(avoid: str, clause: str) -> None:
    """A working step told in a hazard is named word for word; where the step itself tells it, it is how to do it."""
    hazard = given("caution", "The hoop springs off", "A bruised hand", avoid)
    (line,) = told("Lift the hoop off.", hazard)
    assert line.startswith(f"'{clause}' is an action of the work, and a caution only") and line.endswith(
        "[hidden-action]"
    )
    assert told(f"{clause}.", hazard) == []


def test_shipped_procedures_have_no_advice_but_what_is_still_to_be_written() -> None:
    """Of all advice only procedures that are not written yet are told of the shipped library."""
    from benchwalk.library import Library
    from benchwalk.proof.check import check_source

    library = Library.of()
    for name in library.ids():
        source, linked = library.open(library.path_of(name))
        found = check_source(source, linked, known=library.ids())
        assert [f.message for f in found if f.rule != "unknown-proposal"] == []
