"""The practice drum in somebody's hands: orders, what is heard, what is skipped, how it ends, line by line."""

from __future__ import annotations

import json
import math
import os
import signal
import sys
from pathlib import Path
from typing import Any

import pexpect
import pytest

from benchwalk.errors import BenchwalkError, Misread, Refused
from benchwalk.practice import kept
from benchwalk.practice.drum import Drum, random_drum
from benchwalk.practice.hidden import Hidden
from benchwalk.practice.lesson import Lesson
from benchwalk.practice.orders import HELP, obey
from benchwalk.practice.speaker import Speaker
from benchwalk.practice.telling import finish
from benchwalk.sums import compute
from shop_helpers import command


def lesson(rods: int = 6, seed: int = 3, **hidden: object) -> Lesson:
    """A lesson on a drum with what is said hidden in its batter head."""
    return Lesson.begin(Drum(rods=rods, hidden=Hidden(**hidden), seed=seed))  # type: ignore[arg-type]


def do(learner: Lesson, *orders: str) -> list[str]:
    """What is said to several orders."""
    return [line for order in orders for line in obey(learner, order, compute)]


@pytest.mark.parametrize(
    ("order", "turned"),
    [
        ("turn 3 1.5", {3: 1.5}),
        ("turn 3 -1 1/2", {3: -1.5}),
        ("turn 1 1 1/2", {1: 1.5}),
        ("turn all 1 1/2", dict.fromkeys(range(1, 7), 1.5)),
        ("turn 1 3 1/2", {1: 0.5, 3: 0.5}),
        ("turn 2 5 1/8", {2: 0.125, 5: 0.125}),
        ("turn 2 5 -1/16", {2: -0.0625, 5: -0.0625}),
        ("turn 1 90 deg", {1: 0.25}),
        ("turn 2 1 -45 deg", {2: -0.125, 1: -0.125}),
    ],
)
def test_amounts_of_two_words_are_amounts(order: str, turned: dict[int, float]) -> None:
    """Whole and part, or a number and its unit, are one amount; what stands before them are the rods."""
    learner = lesson()
    before = learner.drum.counted(learner.head)
    do(learner, order)
    after = learner.drum.counted(learner.head)
    moved = {rod: after[rod - 1] - before[rod - 1] for rod in range(1, 7)}
    assert {rod: turn for rod, turn in moved.items() if turn} == pytest.approx(turned)


def test_advice_begins_anew_where_every_rod_was_backed_off() -> None:
    """After backing off, the rounds and turns of before count no more: brought up again, there is advice."""
    learner = lesson()
    do(learner, "damp", "tap", "loosen", "turn all 1", "press", "turn all 1", "press", "tap")
    for rod in range(1, 7):
        while rod not in learner.now:
            do(learner, f"tap {rod}")
    assert not any("No advice" in line for line in do(learner, "advice"))


def test_rod_is_turned_no_farther_than_a_film_or_its_lug_bears() -> None:
    """However often it is turned, a rod stays within 4 turns above and 2 below finger-tight; at most one is refused,
    and then nothing is turned. Backing off what is at finger-tight already turns nothing."""
    learner = lesson()
    do(learner, "loosen")
    turned = learner.turns
    do(learner, "loosen")
    assert learner.turns == turned
    do(learner, "turn 1 0.1", "turn 1 0.2", "turn 1 -0.3", "loosen")  # floats: that leaves no round nought
    for order, says in (("turn all 2", "rod 1 would be 6 turns above"), ("turn 3 -2", "rod 3 would be 4 turns below")):
        do(learner, *[order] * (2 if "all" in order else 3))
        before = json.dumps(learner.state())
        with pytest.raises(Refused, match=says):
            do(learner, order)
        assert json.dumps(learner.state()) == before


@pytest.mark.parametrize(
    ("order", "says"),
    [
        ("", "is nothing to do with a drum"),
        ("strike 3", "is nothing to do with a drum; help lists what is"),
        ("tap 7", '"7" is no rod of this drum; it has rods 1 to 6'),
        ("tap two", '"two" is no rod of this drum'),
        ("tap 2 2", "a rod stands there twice"),
        ("turn 3", "which rods, and how far?"),
        ("turn 3 far", "is not a number of turns"),
        ("turn 3 5", "more than a hand turns a rod at once"),
        ("turn 0 1/8", '"0" is no rod'),
        ("turn 3 0", "less than a hundredth of a turn is none that a hand makes"),
        ("turn 3 0.0000001", "less than a hundredth of a turn"),
        ("turn 3 deg", "which rods, and how far?"),
        ("turn 3 1 1/2", "may be 1 1/2 turns, or rod 1 too by 1/2; type 1.5, or put rod 1 first"),
        ("press hard", "the word alone will do"),
        ("snares", "snares on, or snares off?"),
        ("rest 2 days", "is no unit that fits here"),
        ("rest 25 h", "a drum rests here for up to 24 hours"),
        ("advice", "tap beside rods 1, 2, 3, 4, 5 and 6 too"),
    ],
)
def test_what_is_no_order_is_refused_with_what_would_be(order: str, says: str) -> None:
    """Nothing happens to the drum, and one sentence says what was found and what is wanted."""
    learner = lesson()
    before = json.dumps(learner.state())
    with pytest.raises(BenchwalkError) as refused:
        do(learner, order)
    assert says in refused.value.message
    assert json.dumps(learner.state()) == before


def test_every_order_that_help_lists_can_be_given() -> None:
    """Help names only orders that work, as they are written there."""
    learner = lesson()
    for line in HELP:
        for order in line.partition(":")[0].split(", "):
            if order not in ("done", "notes"):
                do(learner, "damp", "over", "soft", "press", "tap")
                assert do(learner, order), order
        for order in [word.strip() for word in line.partition(":")[2].split(";")[1:] if ": " in word]:
            assert do(learner, order.partition(":")[0].removesuffix(" alone")), order


def whole_round(learner: Lesson) -> None:
    """Tap beside every rod, and again where a tap gave no sure note."""
    do(learner, "tap")
    for _ in range(4):
        missing = [rod for rod in range(1, learner.drum.rods + 1) if rod not in learner.now]
        do(learner, *(f"tap {rod}" for rod in missing))


@pytest.mark.parametrize("rods", [6, 8, 10])
def test_who_follows_the_advice_evens_the_notes(rods: int) -> None:
    """Whole rounds, the advised turns and a film pressed home bring the notes of a head whose pairs lay apart within
    the careful grade, as a perfect hand would find them, and the advice then stops by itself."""
    learner = lesson(rods, oval=0.25, oval_rod=2)
    assert learner.spread() > 12
    for _ in range(6):
        whole_round(learner)
        found = compute("rod-advice", learner.given())
        assert isinstance(found, dict), found
        if found["stop"] != "turn":
            break
        learner.turn({int(rod): float(turn) for rod, turn in found["moves"].items() if turn})
        do(learner, "press")
    assert found["stop"] in ("even", "pitch-done")
    assert learner.spread() <= 6


def test_a_head_that_is_tight_on_one_side_sounds_even_and_is_told() -> None:
    """The same drum without it sounds as even; the advice says what it cannot see, the gauge and the end show it."""
    learner = lesson(lopsided=0.3, lopsided_rod=1)
    whole_round(learner)
    found = compute("rod-advice", learner.given())
    assert isinstance(found, dict)
    assert found["cannot_see"].startswith("one-side")
    assert abs(learner.spread() - lesson().spread()) < 6
    depths = learner.drum.hoop_depths("batter")
    assert abs(depths[0] - depths[3]) > 0.3
    assert any("one side was high and one low" in line for line in finish(learner))


@pytest.mark.parametrize("rods", [6, 7])
def test_advice_says_where_the_notes_lie_farther_apart_than_rods_can_make_them(rods: int) -> None:
    """A burr lifts one rod's note: beside what the sum believes stands how far apart the notes were tapped, and that no
    turn cures it. Without a burr nothing is said of it. The end names opposite rods only where there are some."""
    strays = "That is what rods can make; as tapped just now they lie "
    learner = lesson(rods, burr_rod=4, burr=22.0)
    whole_round(learner)
    said = do(learner, "advice")
    tapped = [note.hz for note in learner.now.values()]
    apart = 1200 * math.log2(max(tapped) / min(tapped))
    assert said[1].startswith(f"{strays}{apart:.1f} cents apart.") and said[1].endswith("no turn cures it.")
    assert ("opposites disagree there" in " ".join(finish(learner))) is (rods % 2 == 0)
    learner = lesson(rods)
    whole_round(learner)
    assert strays not in " ".join(do(learner, "advice"))


def test_what_a_hand_skips_is_counted_and_told_at_the_end_only() -> None:
    """Turning before every rod was tapped, tapping before the film was pressed, a microphone that stays, a head that
    rings: each is told with how often, once the lesson is over."""
    learner = lesson()
    said = do(learner, "tap 1", "turn 1 1/8", "tap 1", "press", "fixed", "tap 2", "over", "free", "tap 3")
    assert not any("not pressed home:" in line or "left some out" in line for line in said)
    told = "\n".join(finish(learner))
    assert "1 tap on a film that was not pressed home" in told
    assert "1 time rods were turned after a round that left some out" in told
    assert "1 tap with the microphone elsewhere than over the rod" in told
    assert "1 tap while the other head was free to ring" in told
    assert "on a film that was not" not in "\n".join(finish(lesson()))


def test_notes_from_before_the_pad_was_moved_do_not_count() -> None:
    """A round with the other head free and one with it damped are never one round."""
    learner = lesson()
    do(learner, "free", "tap all")
    assert "tap every rod again" in do(learner, "damp")[-1]
    assert learner.now == {} and do(learner, "damp") == [f"The {learner.other} head rests on the pad."]
    do(learner, "tap 1")
    assert list(learner.now) == [1]


def test_a_drum_that_was_turned_over_says_where_its_pad_lies() -> None:
    """The pad stays where it was: turned over, it lies on the head before you, and that is said until it is moved."""
    learner = lesson()
    assert learner.drum.damped("snare-side")
    assert do(learner, "snare-side")[0].endswith(" The pad lies on it, and the batter head is free to ring.")
    assert "pad" not in do(learner, "damp", "snare-side")[1]


@pytest.mark.parametrize("head", ["batter", "snare-side"])
def test_a_head_that_was_loosened_until_it_has_no_note_is_told_as_that(head: str) -> None:
    """A drum that came with both heads let down, one laid before you and the lesson ended: it says that there is no
    note, and that there was none when you began with that head."""
    learner = Lesson.begin(Drum(rods=6, seed=3), up=-0.5)
    do(learner, "snare-side", head)
    assert math.isnan(learner.spread()) and learner.began[head] is None
    again = Lesson.from_state(json.loads(json.dumps(learner.state())))
    told = finish(again)
    assert told[1] == f"The {head} head is too loose to have a note; it had none when you began."
    assert do(again, "tap 1")[0].startswith("Rod 1: no note. ")


def test_how_far_apart_the_notes_were_is_told_of_the_beginning_of_work_on_that_head() -> None:
    """Turning the drum over and back in between changes nothing of it, nor does being kept and read again."""
    learner = lesson(oval=0.25, oval_rod=2)
    began = learner.spread()
    do(learner, "turn 1 4 1/4", "press", "snare-side", "batter")
    assert learner.spread() != pytest.approx(began, abs=1)
    again = Lesson.from_state(json.loads(json.dumps(learner.state())))
    assert f"they were {began:.1f} cents apart when you began" in "\n".join(finish(again))


def test_the_end_tells_of_each_head_that_was_worked_on() -> None:
    """A drum that was turned over is told with both heads, the one before you first; else with the one alone."""
    learner = lesson(oval=0.25, oval_rod=2)
    assert [head in "\n".join(finish(learner)[1:3]) for head in ("batter head", "snare-side head")] == [True, False]
    do(learner, "turn 1 4 1/4", "press")
    evened = learner.spread()
    do(learner, "snare-side")
    told = finish(learner)
    assert told[1].startswith("The notes of the snare-side head are ") and told[2].startswith("The rods pull from ")
    assert told[3].startswith(f"The notes of the batter head are {evened:.1f} cents apart")
    assert told[4].startswith("The rods pull from ") and not told[5].startswith("The rods pull from ")


@pytest.mark.parametrize("rod", [1, 2])
def test_what_is_advised_can_be_typed_as_it_is_told(rod: int) -> None:
    """Behind the words stand the orders for it: typed one after the other, they turn the rods as the sum advises."""
    learner = lesson(8, oval=0.25, oval_rod=rod)
    whole_round(learner)
    moves = compute("rod-advice", learner.given())["moves"]
    told = [each.removeprefix("Typed: ") for each in do(learner, "advice") if each.startswith("Typed: ")]
    before = learner.drum.counted(learner.head)
    do(learner, *told)
    turned = [after - was for after, was in zip(learner.drum.counted(learner.head), before, strict=True)]
    assert any(turned) and turned == pytest.approx([float(moves[str(n)]) for n in range(1, 9)])


def test_a_rod_number_of_thousands_of_digits_is_no_rod() -> None:
    """However long the number, it is refused in one short sentence."""
    with pytest.raises(Misread, match="is no rod of this drum; it has rods 1 to 6") as refused:
        do(lesson(), "tap " + "9" * 5000)
    assert len(refused.value.message) < 100


def test_a_lesson_is_kept_as_it_stands(tmp_path: Path) -> None:
    """A lesson that is kept and read again goes on as it would have gone on."""
    learner = kept.lesson_of(tmp_path, "J-0001", 6)
    do(learner, "tap", "turn 2 1/8", "press", "fixed", "tap 2")
    kept.keep(tmp_path, learner)
    again = kept.lesson_of(tmp_path, "J-0001", 6)
    assert again.state() == learner.state()
    assert do(again, "tap 3", "notes") == do(learner, "tap 3", "notes")


def test_the_drum_of_every_job_can_be_read_again(tmp_path: Path) -> None:
    """Whatever the id of the job, and so the seed of its drum, what was kept is taken as it was."""
    for number in range(1, 30):
        learner = kept.lesson_of(tmp_path, f"J-{number:04}", 5 + number % 8)
        kept.keep(tmp_path, learner)
        assert kept.lesson_of(tmp_path, "", learner.drum.rods).state() == learner.state()
        (tmp_path / kept.FILE).unlink()


def test_a_job_always_has_the_same_drum(tmp_path: Path) -> None:
    """The drum of a job comes of its id; what is hidden lies in the head that is worked on."""
    first, other = (kept.lesson_of(tmp_path, "J-0001", 8, "snare-side") for _ in range(2))
    assert first.state() == other.state()
    assert first.head == first.drum.hidden.head == "snare-side"
    assert kept.lesson_of(tmp_path, "J-0002", 8).drum.seed != first.drum.seed


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("{", "it is not JSON"),
        ("[]", "this is not the state of a lesson"),
        ('{"drum": 5}', r"this is not the state of a practice drum.*; delete practice-drum\.json for a new one"),
        ('{"head": "batter"}', "this is not the state of a lesson"),
    ],
)
def test_a_damaged_lesson_is_named(tmp_path: Path, text: str, says: str) -> None:
    """A file that holds no lesson is refused in one sentence."""
    (tmp_path / kept.FILE).write_text(text)
    with pytest.raises(Refused, match=says):
        kept.lesson_of(tmp_path, "J-0001", 6)


_WRONG: list[tuple[str, Any]] = [
    ("taps", "many"),
    ("taps", -1),
    ("slack", 1e308),
    ("began", []),
    ("mic", "under"),
    ("force", 3),
    ("head", None),
    ("rounds", [{"99": {"typed": "220 Hz", "hz": 220}}]),
    ("rounds", []),
    ("rounds/0/1/hz", [220]),
    ("rounds/0/1/hz", -220),
    ("rounds/0/1/typed", 220),
    ("rounds/0/1/typed", "\x1b[31m220 Hz"),
    ("rounds/0/1/second", "high"),
    ("turned/0", {"1": "far"}),
    ("slips/rang", True),
    ("drum/rods", 6.5),
    ("drum/rods", "\x1b[31m"),
    ("drum/seed", [1]),
    ("drum/diameter_mm", 1e308),
    ("drum/snares", "on"),
    ("drum/hidden/burr", "much"),
    ("drum/hidden/split", {}),
    ("drum/hidden/head", "top"),
    ("drum/heads/batter/arrived/2", 1e308),
    ("drum/heads/batter/crept/2", "x" * 5000),
    ("drum/heads/batter/pressed", 6),
]


@pytest.mark.parametrize(("where", "wrong"), _WRONG, ids=[f"{where}={str(wrong)[:12]!r}" for where, wrong in _WRONG])
def test_no_value_of_a_kept_drum_is_taken_unless_it_can_be_one(tmp_path: Path, where: str, wrong: object) -> None:
    """Wherever a wrong kind or an absurd number stands in the file, it is refused when it is read, in a sentence that
    says what to do; nothing goes wrong later, at a tap or at the end."""
    learner = lesson()
    do(learner, "tap 1")
    state = json.loads(json.dumps(learner.state()))
    *path, last = (int(part) if part.isdecimal() and part in "02" else part for part in where.split("/"))
    part = state
    for name in path:
        part = part[name]
    part[last] = wrong
    (tmp_path / kept.FILE).write_text(json.dumps(state))
    with pytest.raises(Refused) as refused:
        kept.lesson_of(tmp_path, "J-0001", 6)
    message = refused.value.message
    assert message.endswith("; delete practice-drum.json for a new one")
    assert message.isprintable() and len(message) < 260


def test_a_kept_drum_that_is_no_file_or_endless_is_not_read(tmp_path: Path) -> None:
    """A pipe in its place would never answer, and a file of gigabytes would fill the memory: both are refused."""
    path = tmp_path / kept.FILE
    os.mkfifo(path)
    with pytest.raises(Refused, match="it is no file, or too large"):
        kept.lesson_of(tmp_path, "J-0001", 6)
    path.unlink()
    with path.open("wb") as file:
        file.truncate(1 << 36)
    with pytest.raises(Refused, match="it is no file, or too large"):
        kept.lesson_of(tmp_path, "J-0001", 6)


def test_another_number_of_rods_is_another_drum(tmp_path: Path) -> None:
    """A kept drum is not taken for one of other rods."""
    kept.keep(tmp_path, kept.lesson_of(tmp_path, "J-0001", 6))
    with pytest.raises(Refused, match=r"has 6 rods; delete practice-drum\.json for a new one"):
        kept.lesson_of(tmp_path, "J-0001", 8)


def test_without_a_loudspeaker_it_is_said_once() -> None:
    """Where nothing can sound the reason is a sentence, and playing again is no harm."""
    speaker = Speaker()
    sound = random_drum(rods=6, seed=1).tap("batter", 1).sound(8000, 0.1)
    speaker.play(sound, 8000)
    if not speaker.silent:
        pytest.skip("this machine has a loudspeaker")
    assert speaker.silent.endswith("taps are shown alone.")
    speaker.play(sound, 8000)
    speaker.close()


# --- line by line ---


def test_a_lesson_line_by_line_ends_with_what_was_hidden() -> None:
    """Orders through a pipe are answered line by line, the same seed is the same drum, and nothing is a traceback."""
    typed = "help\ntap 1\nturn 9 1/8\n\nnonsense\x1b[2J\ndone\n"
    ran = [command("practise", "--plain", "--seed", "5", "--silent", input=typed) for _ in range(2)]
    assert ran[0].stdout == ran[1].stdout
    assert (ran[0].returncode, ran[0].stderr) == (0, "")
    assert "Rod 1: " in ran[0].stdout
    assert '"9" is no rod of this drum' in ran[0].stdout
    assert "On the batter head finger-tight was not the same" in ran[0].stdout
    assert "The same drum again: --rods 6 --level plain --seed 5" in ran[0].stdout
    assert "\x1b" not in ran[0].stdout


def test_a_closed_input_ends_the_lesson_with_its_truth() -> None:
    """Where nobody answers any more, what was hidden is told and the end is a plain one."""
    ran = command("practise", "--plain", "--seed", "1", "--silent")
    assert ran.returncode == 0
    assert "0 taps, 0 turns of a rod." in ran.stdout


def test_ctrl_c_ends_the_lesson_at_a_terminal() -> None:
    """Ctrl+C at the prompt tells what was hidden and leaves the terminal."""
    line = ["-m", "benchwalk", "practise", "--plain", "--seed", "1", "--silent"]
    child = pexpect.spawn(sys.executable, line, timeout=60, encoding="utf-8")
    child.expect("> ")
    child.kill(signal.SIGINT)
    child.expect("finger-tight was not the same")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0


def test_a_drum_that_cannot_be_had_is_a_matter_of_usage() -> None:
    """A number of rods or a level that no practice drum has ends with 2 and a sentence."""
    for wrong in (["--rods", "4"], ["--level", "cruel"], ["--seed", "-1"]):
        ran = command("practise", "--plain", *wrong)
        assert ran.returncode == 2, ran.stderr
        assert "Traceback" not in ran.stderr
