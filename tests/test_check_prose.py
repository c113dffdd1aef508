"""Plain writing: one action a step, the condition first, a value for a vague word, a table for many conditions.

Sentences of a bench, right and wrong. What is right must give no advice at all: a rule that cries wolf is silenced.
"""

from __future__ import annotations

import json

import pytest

from benchwalk.proof.prose import action_of, sentences
from samples import findings

RULES = {"one-action", "condition-last", "vague", "many-conditions"}


def told(do: str, more: str = "") -> set[str]:
    """The rules of plain writing that speak of a step with this `do`, and more keys."""
    piece = (
        f"steps:\n  - step: a\n    do: {json.dumps(do)}\n{more}  - step: z\n    do: Put the drum out.\n    end: done\n"
    )
    return {finding.rule for finding in findings(piece)} & RULES


RIGHT = """
Lift the head off and stand it against the wall.
Loosen all rods, a quarter turn each in turn, until they hang free.
Set the bowl on the pad; the pedal points to you.
Tap beside each rod; the notes should be alike.
Turn the knob until the snares just touch, then back by a quarter turn.
Press the palm on the centre, and thumbs inside each rod.
If the rod binds, back it out and put one drop of oil on its thread.
When the note stays, go on to the opposite rod.
Look if the bead of the edge is dented anywhere.
Feel with a fingernail if the edge has a step.
Ask the owner if the old head may be thrown away.
Count the turns as the rod goes in, and stop when it meets the hoop.
Hold the shell to the light and look where it shines through.
Lay the shell on the flat plate. Light must not show anywhere but at the beds.
Mark the high spot with pencil. Do not file it.
Wipe the edge with a damp cloth. Never use a dry one.
Draw the cotton wool along the edge, as if you polished it.
Strike softly, as when you tune, and listen to the ring.
Fit the felt between cymbal and nut, so that metal never touches metal.
Tighten the wing nut finger-tight.
Turn each rod down by fingers until it stops.
Bring the head up in half turns, opposite pairs, then round.
Lay the bars out in their order, the longest to the left.
Rest the drum on its rim with the batter head up.
Check the pitch of each bar against the owner's A (442 Hz).
Clean the thread with a dry brush; grit grinds it away.
Open the pedal clutch fully, heel down.
Write the lot number of the head on the tag, no. 12 or what it is.
Unplug the motor before the cover comes off.
Call the senior, and note what was found.
Adjust the knob to the middle of its turns.
Adjust the clutch until the pedal holds at any place.
With the lever off, slack the knob.
Set the pedal to its lowest note. All rods must be even before the pedal moves.
Use the drum key only; a spanner crushes the head of the rod.
Let the glue set. It takes ten minutes.
From the loosest, count every half turn until the snares speak.
Seat the head: palm at the centre, thumbs inside each rod.
Set the lever off and, if it drags, oil its pivot.
Show the drum to the owner if they wait in the shop, else ring them.
Turn the drum over. Leave it alone for a minute. Look along the film.
Stop turning. Call the senior. Drill nothing on the drum.
If the plate and the cord and the knot are wet, wipe them.
""".strip().splitlines()


@pytest.mark.parametrize("sentence", RIGHT)
def test_plain_sentence_is_left_alone(sentence: str) -> None:
    """No rule of plain writing finds fault with a sentence that a technician would call clear."""
    assert told(sentence) == set()


WRONG = [
    ("one-action", "Loosen the rods; lift the hoop off."),
    ("one-action", "Loosen the rods and then lift the hoop off."),
    ("one-action", "Wipe the edge, and then measure it."),
    ("one-action", "Slowly loosen the rods; then lift the hoop."),
    ("one-action", "Loosen the rods. Lift the hoop off. Turn the shell over."),
    ("condition-last", "Tie the cord again if the wire overlaps."),
    ("condition-last", "Tighten the rod unless the note is high."),
    ("condition-last", "Tie the cord again when the plate rides on the hoop."),
    ("condition-last", "Turn the knob back. Snip the strand in case it hangs."),
    ("condition-last", "Turn the rod back by a quarter turn if the note is too high."),
    ("vague", "Adjust the strainer."),
    ("vague", "Ensure the head is seated."),
    ("vague", "Make sure that the hoop is level with the shell."),
    ("vague", "Check the lever."),
    ("vague", "Tighten the rods as needed."),
    ("vague", "Tension the head sufficiently."),
    ("vague", "Oil the thread properly."),
    ("vague", "Loosen the rods, then adjust the tension."),
    ("many-conditions", "If the plate is bent or the cord is frayed and the lever is loose, call the senior."),
    ("many-conditions", "If the head is old, and if it is dented, and if the owner agrees, change it."),
    ("many-conditions", "When the knob binds, unless it is seized, oil it if the thread is dry."),
]


@pytest.mark.parametrize(("rule", "sentence"), WRONG)
def test_unclear_sentence_is_told_by_its_rule(rule: str, sentence: str) -> None:
    """Each way of writing that leads a hand astray is told, whether the sentence stands in `do` or in a way's `do`."""
    assert rule in told(sentence)
    ways = f"[{{way: one, say: One, do: {json.dumps(sentence)}}}, {{way: two, say: Two}}]"
    assert rule in told("Look at it.", f"    choose: {{as: pick, ways: {ways}}}\n")


@pytest.mark.parametrize("more", ["    expect: The lever stays on.\n", "    record: [lie]\n"])
def test_check_and_adjust_are_clear_where_the_step_says_what_for(more: str) -> None:
    """`Check the lever` is enough where the step says what to expect or records what is seen; `ensure` never is."""
    piece = (
        "readings: {lie: {ask: They lie, choices: {all: all, some: some}}}\nsteps:\n  - step: a\n    do: DO\n"
        f"{more}  - step: z\n    do: Put the drum out.\n    end: done\n"
    )

    def rules(do: str) -> set[str]:
        return {f.rule for f in findings(piece.replace("DO", do))} & RULES

    assert rules("Check the lever.") == rules("Adjust the knob.") == set()
    assert rules("Ensure the lever holds.") == {"vague"}


def test_what_to_try_and_what_to_expect_are_read_too() -> None:
    """A late condition in `if_not` and a vague word in `expect` are told at their own place in the file."""
    piece = """
steps:
  - step: a
    do: Turn the knob to its middle.
    expect: It is
      properly seated.
    if_not: [Wait., "Oil the thread if it still drags."]
  - {step: z, do: Put the drum out., end: done}
"""
    found = [(f.rule, f.pos.line, f.pos.column) for f in findings(piece) if f.rule in RULES]
    assert found == [("vague", 6, 7), ("condition-last", 7, 37)]


def test_why_and_because_are_free() -> None:
    """Background and reasons are prose: conditions and vague words may stand there as they like."""
    more = "    why: Adjust it properly if the wire overlaps; loosen it and then lift it.\n"
    assert told("Turn the knob to its middle.", more) == set()


def test_a_sentence_ends_at_its_stop_and_not_in_a_number() -> None:
    """`0.5 mm` and `no. 12` do not end a sentence; a stop, an exclamation and a question mark do."""
    text = "Lay a 0.5 mm feeler by lug no. 12. Does it hold? Wait!  Then go on"
    assert list(sentences(text)) == [
        (0, "Lay a 0.5 mm feeler by lug no. 12"),
        (35, "Does it hold"),
        (49, "Wait"),
        (56, "Then go on"),
    ]


@pytest.mark.parametrize(
    ("clause", "verb"),
    [
        ("Loosen the rod", "loosen"),
        ("then slowly tighten it", "tighten"),
        ("Next, press here", "press"),
        ("Do not press here", ""),
        ("Leave it", ""),
        ("Drill nothing", ""),
        ("Tape holds it", "tape"),  # a noun that is a verb as well is taken for one: no list of words knows better
        ("Press is what holds it", ""),
        ("Screw's thread", ""),
        ("", ""),
        ("3 mm", ""),
    ],
)
def test_action_of_a_clause_is_its_first_verb(clause: str, verb: str) -> None:
    """A clause begins with an action where its first word, after then or an adverb, is a verb of the bench."""
    assert action_of(clause) == verb
