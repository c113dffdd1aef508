"""Plain mode: each question has its prompt and help, each act can be typed, and nothing is lost on the way out."""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from benchwalk.daybook import lines
from benchwalk.daybook.points import PAGES
from benchwalk.job.people import Person, add_person, check_pin
from benchwalk.job.shop import Shop
from benchwalk.plain import commands, points
from benchwalk.plain.commands import COMMANDS, help_lines
from benchwalk.plain.points import POINTS
from benchwalk.plain.stopping import Broken, Stopped
from benchwalk.plain.walk import PlainWalk
from benchwalk.session import Session
from benchwalk.walk import acts, phase
from benchwalk.walk.phase import AUTOMATIC, Now
from shop_helpers import (
    APPRENTICE,
    MORNING,
    PINS,
    SENIOR,
    Clock,
    Typed,
    approve_for,
    bare,
    begin,
    drive,
    events,
    fresh_shop,
    make_shop,
    pin_of,
    reach_hold,
    walked,
    without_hashes,
)
from shop_helpers import resume as taken_up
from test_decide import declare_moves
from walk_helpers import GAP, INNER, OUTER, REST, RESTED, RODS, SNIP, TIED, linked, procedure

PLAYED = acts.Sign("senior", "practice")
STUCK = procedure(
    """
readings:
  knob: {ask: Turns of the knob, unit: turns, possible: 0 .. 40, optional: {because: a seized knob is not forced}}
steps:
  - step: count
    record: [knob]
    branches:
      - {when: knob > 3 turns, because: "Far: {{ knob }}", go: finish}
      - {when: knob <= 3 turns, because: Near, go: finish}
  - step: finish
    do: Tidy up.
    end: done
""",
    id="count-knob",
)
"""A step whose branches leave a reading that was left out without a way on."""


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with three people."""
    return fresh_shop(tmp_path)


# --- every kind of question ------------------------------------------------------------------------------------------


def kinds_asked() -> set[str]:
    """Every kind of `Now` that is made anywhere in phase.py and waits for a person, read from its source."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(Path(phase.__file__).read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("Now", "at"):
            found |= {
                n.value for n in ast.walk(node.args[0]) if isinstance(n, ast.Constant) and isinstance(n.value, str)
            }
        if isinstance(node, ast.Return) and isinstance(node.value, ast.Tuple):
            first = node.value.elts[0]
            found |= {first.value} if isinstance(first, ast.Constant) and isinstance(first.value, str) else set()
    return found - AUTOMATIC


def test_every_kind_of_question_has_its_prompt() -> None:
    """No question the walk can come to is without a prompt and a help text; no prompt is for a question nobody asks."""
    asked = kinds_asked()
    assert {"do", "reading", "hold"} < asked
    assert asked == set(POINTS) | {"unopened", "released"}
    assert all(point.help.endswith((".", "first.")) for point in POINTS.values())
    told = re.split(r",\s+(?:or )?", re.search(r"is one of: (.*?), or one of", Now.__doc__ or "", re.DOTALL)[1])  # type: ignore[index]
    assert {word.strip() for word in told} == asked


def _fact(shop: Shop) -> Session:
    session = begin(shop, linked(RODS), drum={})
    session.do(acts.Ready())
    return session


def _to(book: bytes, until: str, *others: bytes, **typed: str) -> Callable[[Shop], Session]:
    def opened(shop: Shop) -> Session:
        given = {"side": "butt", "target": "2 .. 6"} if book is INNER else {}
        drum = {"rods": "6"} if book is RODS else {}
        session = begin(shop, linked(book, *others), drum=drum, given=given)
        drive(session, until, **typed)
        return session

    return opened


def _then(opened: Callable[[Shop], Session], *more: Callable[[Session], Any]) -> Callable[[Shop], Session]:
    def gone_on(shop: Shop) -> Session:
        session = opened(shop)
        for each in more:
            decision = each(session)
            assert decision.refusal is None, decision.refusal
        return session

    return gone_on


def _corrected(session: Session) -> Any:
    first = next(n for n, entry in session.state.entries.items() if entry.name in ("gap", "clear"))
    return session.do(acts.Correct(first, "12" if "gap" in _names(session) else "341", "misread"))


def _names(session: Session) -> set[str]:
    return {entry.name for entry in session.state.entries.values() if not session.state.visits[entry.visit - 1].path}


REACHED: dict[str, Callable[[Shop], Session]] = {
    "ready": lambda shop: begin(shop, linked(GAP), drum={}),
    "fact": _fact,
    "recheck": _then(_to(GAP, "@look", gap="4"), lambda s: s.do(acts.Pause("as it is")), lambda s: s.do(acts.Resume())),
    "hazard": _to(REST, "hazard"),
    "do": _to(GAP, "do"),
    "way": _to(INNER, "way", way="long"),
    "each": _to(RODS, "@turn", runs="free"),
    "choose": _to(INNER, "choose"),
    "reading": _to(GAP, "@look", gap="4"),
    "wait": _to(REST, "wait", **RESTED),
    "hold": _to(OUTER, "hold", INNER, SNIP, **TIED),
    "stuck": _to(STUCK, "stuck", knob=""),
    "diverged": _then(_to(GAP, "@look", gap="4"), _corrected),
    "handover": _then(_to(GAP, "@look", gap="4"), lambda s: s.do(acts.HandOver(SENIOR, "it lies on the pad"))),
    "problem": _then(_to(GAP, "@look", gap="4"), lambda s: s.do(acts.Problem("there is no gap"))),
    "paused": _then(_to(GAP, "@look", gap="4"), lambda s: s.do(acts.Pause("it lies on the pad"))),
    "account": _to(REST, "account", **RESTED),
    "sign-again": _then(
        _to(OUTER, "ended", INNER, SNIP, **TIED),
        lambda s: s.do(acts.Account()) if s.now().kind == "account" else _ok(s),
        _corrected,
    ),
    "ended": _to(GAP, "ended", gap="4", lie="all"),
}


def _ok(session: Session) -> Any:
    return session.do(acts.Note("nothing"))


def test_every_kind_of_question_is_reached_by_these_tests() -> None:
    """The tests below stand before every kind of question there is."""
    assert set(REACHED) == set(POINTS)


@pytest.mark.parametrize("kind", REACHED)
def test_help_at_every_kind_of_question(shop: Shop, kind: str) -> None:
    """`?` says how to answer here and which commands make sense here, and changes nothing in the log but leaving."""
    session = REACHED[kind](shop)
    assert session.now().kind == kind
    before = session.state.n
    typed = iter(["?", None])
    code, talk = walked(session, answer=lambda prompt: next(typed))
    assert code == 0
    assert "/leave [HOW IT STANDS]: put the work down" in talk.flat
    assert "/note TEXT: write a note into the job" in talk.flat
    assert talk.prompts[0] == talk.prompts[1], "the question comes again after the help"
    assert {e["what"] for e in events(shop, session.state.job)[before:]} <= {"paused", "resumed"}


@pytest.mark.parametrize("kind", REACHED)
def test_every_command_offered_at_a_question_is_taken_there(shop: Shop, kind: str) -> None:
    """A command that the help names at a question is never met with 'no command here'."""
    session = REACHED[kind](shop)
    talk = Typed(lambda prompt: None)
    walk = PlainWalk(session, talk)
    here = session.now()
    offered = [line.split(":")[0].split()[0].removeprefix("/") for line in help_lines(walk, here) if line[0] == "/"]
    assert offered == [name for name, command in COMMANDS.items() if command.fits(walk, here)]
    assert "leave" in offered and "log" in offered
    session.close()


@pytest.mark.parametrize("kind", REACHED)
def test_closed_input_at_every_question_loses_nothing(shop: Shop, kind: str) -> None:
    """When the input ends, work is put down, the log verifies, and the job goes on at the same place."""
    session = REACHED[kind](shop)
    job, before = session.state.job, session.state
    code, talk = walked(session, answer=lambda prompt: None)
    assert code == 0
    assert "The input has ended." in talk.flat and f"--job {job} --plain" in talk.flat
    _goes_on_at_the_same_place(shop, job, kind, before.entries)


@pytest.mark.parametrize("kind", REACHED)
def test_ctrl_c_at_every_question_loses_nothing(shop: Shop, kind: str) -> None:
    """The first ctrl+c says how to go on, the second puts the work down and ends with 130; nothing is lost."""
    session = REACHED[kind](shop)
    job, before = session.state.job, session.state

    def pressed(prompt: str) -> str:
        raise Broken

    code, talk = walked(session, answer=pressed)
    assert code == 130
    assert talk.flat.count("Nothing is lost. Go on here, or press ctrl+c again") == 1
    assert len(talk.prompts) == 2
    _goes_on_at_the_same_place(shop, job, kind, before.entries)


@pytest.mark.parametrize("kind", REACHED)
def test_a_kill_at_every_question_loses_nothing(shop: Shop, kind: str) -> None:
    """SIGTERM at a prompt puts the work down and ends with 128 and its number; nothing is lost."""
    session = REACHED[kind](shop)
    job, before = session.state.job, session.state

    def struck(prompt: str) -> str:
        raise Stopped(15)

    code, _talk = walked(session, answer=struck)
    assert code == 143
    _goes_on_at_the_same_place(shop, job, kind, before.entries)


def _goes_on_at_the_same_place(shop: Shop, job: str, kind: str, entries: Any) -> None:
    with taken_up(shop, job) as again:
        assert again.state.entries == entries
        if again.now().kind == "paused" and kind != "paused":
            again.do(acts.Resume())
        if again.now().kind == "recheck" and kind != "recheck":
            again.do(acts.CheckPlace())
        # the hazards of a step are read anew by whoever takes it up
        assert again.now().kind in (kind, "hazard")
    events(shop, job)


def test_an_answer_after_ctrl_c_starts_the_count_anew(shop: Shop) -> None:
    """Only two ctrl+c in a row put the work down: an answer between them counts as going on."""
    session = begin(shop, linked(GAP), drum={})
    typed: Iterator[Any] = iter([Broken(), "?", Broken(), "", "/leave", "so"])

    def answer(prompt: str) -> str:
        line = next(typed)
        if isinstance(line, Exception):
            raise line
        return str(line)

    code, talk = walked(session, answer=answer)
    assert code == 0
    assert talk.flat.count("press ctrl+c again") == 2


# --- the whole walk --------------------------------------------------------------------------------------------------


def test_flagship_is_walked_to_its_end(shop: Shop) -> None:
    """The whole re-tie can be typed from the first question to the closed practice job, and the log is as rehearsed."""
    code, talk = walked(begin(shop))
    assert code == 0
    assert "The job is released." in talk.flat
    found = events(shop, "J-0001")
    assert [e["what"] for e in found][-1] == "job_released"
    assert next(e for e in found if e["what"] == "ended")["outcome"] == "done"


def test_terse_and_full_keep_the_same_record(tmp_path: Path) -> None:
    """The terse level says less and asks for fewer words; the events are the same but for their times."""
    logs, talks = [], []
    for terse in (False, True):
        shop = fresh_shop(tmp_path / str(terse))
        _code, talk = walked(begin(shop), terse=terse)
        logs.append(bare(events(shop, "J-0001")))
        talks.append(talk)
    assert logs[0] == logs[1]
    full, terse_talk = talks
    assert len(terse_talk.flat) < 0.8 * len(full.said)
    assert len(terse_talk.lines) < len(full.lines)
    hazards = [line for line in full.said.splitlines() if line.startswith(("WARNING", "CAUTION", "NOTICE"))]
    assert hazards == [x for x in terse_talk.said.splitlines() if x.startswith(("WARNING", "CAUTION", "NOTICE"))]


def test_lines_fit_a_terminal_and_hold_no_drawing(shop: Shop) -> None:
    """No line is wider than 80 cells, nothing is drawn with boxes, and nothing but line feeds moves the cursor."""
    _code, talk = walked(begin(shop))
    prompts_and_answers = 80 + max(len(line) for line in talk.lines)
    for line in talk.said.splitlines():
        assert len(line) <= prompts_and_answers
    said = [line for line in talk.said.splitlines() if not any(line.endswith(x) for x in talk.lines if x)]
    assert max(map(len, said)) <= 80
    assert not set(talk.said) & set(map(chr, range(0x2500, 0x2600)))
    assert all(char == "\n" or char.isprintable() for char in talk.said)
    assert "!" not in talk.said


def test_every_step_says_its_place_its_reason_and_its_action(shop: Shop) -> None:
    """Each stop is told by number and name, with the reason of the branch that led there, and what to do."""
    session = begin(shop)
    _code, talk = walked(session)
    for visit in session.state.visits:
        step = session.books(visit.text).steps[visit.step]
        if step.run is None:
            under = f"{visit.path}: " if visit.path else ""
            assert f"\nStop {visit.number}, {under}{visit.step.replace('-', ' ')}.\n" in talk.said
    assert "Why you are here: Plates on cords." in talk.flat
    assert "Worked out, room: room 8 mm, gap wanted on each side 2.5 to 5.5 mm, spacer 4 mm." in talk.flat
    assert "Found: Cords tied anew. Gap 4 mm at the butt side" in talk.flat


# --- readings --------------------------------------------------------------------------------------------------------


def at_gap(shop: Shop, *typed: str, terse: bool = False) -> tuple[Typed, list[dict[str, Any]]]:
    """GAP walked with these lines from its first step on; what was said, and the readings noted."""
    session = _to(GAP, "do")(shop)
    given = iter([*typed, None])
    _code, talk = walked(session, terse=terse, answer=lambda prompt: next(given))
    return talk, [e for e in events(shop, session.state.job) if e["what"] == "read"]


def test_value_is_said_back_before_it_counts(shop: Shop) -> None:
    """A value in another unit is said back with its judgement, and noted as typed once that was confirmed."""
    talk, read = at_gap(shop, "1/8 in", "")
    assert "Understood: 3.175 mm (typed 1/8 in); within." in talk.flat
    assert [(e["typed"], e["value"]) for e in read] == [("1/8 in", "3.175")]


def test_value_that_was_not_meant_is_not_noted(shop: Shop) -> None:
    """`no` at the confirmation notes nothing; another value typed there takes its place."""
    talk, read = at_gap(shop, "44", "no", "14", "4", "")
    assert "Not noted." in talk.flat
    assert [e["typed"] for e in read] == ["4"]


def test_value_outside_the_possible_needs_a_yes(shop: Shop) -> None:
    """A value outside what is possible is asked about, and Enter alone does not note it."""
    talk, read = at_gap(shop, "30", "", "30", "yes")
    assert talk.flat.count("That lies outside what is possible here (0 to 20 mm). Look again.") == 2
    assert [(e["typed"], e["odd"]) for e in read] == [("30", True)]


@pytest.mark.parametrize("rubbish", ["four", "4 kg", "1,000", "", "9" * 500, "4 mm 5"])
def test_rubbish_is_refused_and_asked_again(shop: Shop, rubbish: str) -> None:
    """What cannot be understood is said in a sentence and asked again; nothing is noted."""
    talk, read = at_gap(shop, rubbish)
    assert read == []
    assert len(talk.prompts) == 2 and talk.prompts[0] == talk.prompts[1]


def test_terse_asks_again_only_where_something_is_off(shop: Shop) -> None:
    """Tersely, a plain value within what is wanted is noted at once; one that is not, or in another unit, is not."""
    talk, read = at_gap(shop, "4", terse=True)
    assert [e["typed"] for e in read] == ["4"]
    assert "Enter to note it" not in talk.flat
    talk, read = at_gap(shop, "9", terse=True)
    assert read == [] and "Understood: 9 mm; above by 3 mm." in talk.flat
    talk, read = at_gap(shop, "1/8 in", terse=True)
    assert read == [] and talk.prompts[-1] == "Enter to note it, or type it again:"


def test_choice_is_taken_by_number_or_by_word_and_said_back(shop: Shop) -> None:
    """A choice is noted by its number or the beginning of its words, and what was noted is said."""
    for typed in ("2", "some", "Some l", "SOME LIFT"):
        session = _to(GAP, "@look", gap="4")(shop)
        talk = typed_at(session, typed)
        assert "Noted: Some lift; not what is wanted." in talk.flat
    session = _to(GAP, "@look", gap="4")(shop)
    given = iter(["3", "0", "s o", None])
    _code, talk = walked(session, answer=lambda prompt: next(given))
    assert "3 is none of the choices; type a number, 1 to 2." in talk.flat
    assert "'s o' is none of the choices; type a number, 1 to 2." in talk.flat
    assert "1 All touch (wanted)\n2 Some lift\n" in talk.said


def test_no_at_an_action_says_what_to_try(shop: Shop) -> None:
    """`no` says not yet, at a plain action and where a reading is asked at once, and tells what to try."""
    session = _to(REST, "do")(shop)
    given = iter(["no", None])
    _code, talk = walked(session, answer=lambda prompt: next(given))
    assert "Try this: Try again." in talk.flat
    assert "not_yet" in [e["what"] for e in events(shop, session.state.job)]
    talk, read = at_gap(shop, "no")
    assert "Try this: Take the time it needs; /why tells more" in talk.flat and read == []


def test_an_action_done_rod_by_rod_is_not_confirmed_as_a_whole_first(shop: Shop) -> None:
    """Enter at an action that is confirmed place by place begins with its first place; else it says it is done."""
    session = _to(RODS, "@oil", runs="binds")(shop)
    page = PAGES["do"](session.state, session.now(), session.bench)
    assert page.press == (("walk.next", "begins with rod 1"), ("walk.not_yet", "if not yet"))
    given = iter(["", "", None])
    _code, talk = walked(session, answer=lambda prompt: next(given))
    assert "Enter begins with rod 1, no if not yet:" in talk.flat and "Enter when rod 1 is done" in talk.flat
    assert "Enter when it is done" not in talk.flat
    again = _to(GAP, "@set-again", gap="1")(shop)
    assert PAGES["do"](again.state, again.now(), again.bench).press[0] == ("walk.next", "when it is done")


def test_action_is_said_once(shop: Shop) -> None:
    """After a mistyped answer only the prompt comes again; /again and ? bring the action back."""
    talk, _read = at_gap(shop, "x", "y", "z")
    assert talk.flat.count("Do: Measure the gap.") == 1
    assert talk.prompts == ["Type it in mm:"] * 4
    talk, _read = at_gap(shop, "x", "/again", "?")
    assert talk.flat.count("Do: Measure the gap.") == 3


def test_picture_is_kept_with_the_job(shop: Shop, tmp_path: Path) -> None:
    """A picture's file is copied into the job by its hash; what is no file is refused, and a word for paper is kept."""
    picture = tmp_path / "both ends.png"
    picture.write_bytes(b"\x89PNG picture")
    book = linked(
        procedure(
            "readings:\n  seen: {ask: The old cord, kind: picture}\nsteps:\n"
            "  - step: look\n    record: [seen]\n  - step: finish\n    end: done\n",
            id="look-once",
        )
    )
    session = begin(shop, book, drum={})
    given = iter(["", str(tmp_path), str(tmp_path / "none.png"), "n" * 5000, str(picture), "", "/log all"])
    _code, talk = walked(session, answer=lambda prompt: next(given, None))
    assert talk.flat.count("to be read; or write: on paper, no. 12.") == 2
    assert "is a folder; the path of one file is expected" in talk.flat
    assert "Kept with the job: both ends.png, 12 bytes." in talk.flat
    read = next(e for e in events(shop, "J-0001") if e["what"] == "read")
    assert (session.folder.files / read["value"]).read_bytes() == b"\x89PNG picture"


# --- the commands ----------------------------------------------------------------------------------------------------


def typed_at(session: Session, *typed: str | None, **more: Any) -> Typed:
    """These lines typed in a walk, then the input ends."""
    given = iter([*typed, None, None])
    _code, talk = walked(session, answer=lambda prompt: next(given), **more)
    return talk


def whats(shop: Shop, session: Session) -> list[str]:
    """The kinds of event in a session's log."""
    return [e["what"] for e in events(shop, session.state.job)]


def test_unknown_command_is_refused_with_a_hint(shop: Shop) -> None:
    """A command that does not exist is said, with the one that was probably meant."""
    talk = typed_at(_to(GAP, "do")(shop), "/nte hello", "/rout", "/\x1b[2J", "/")
    assert "/nte is no command here; did you mean /note?" in talk.flat
    assert "/rout is no command here; did you mean /route?" in talk.flat
    assert "/ is no command here; type ? to hear what can be done here." in talk.flat


def test_note_is_written_from_its_line_or_asked(shop: Shop) -> None:
    """/note writes the text that follows it, or asks for it; an empty one is refused."""
    session = _to(GAP, "do")(shop)
    talk = typed_at(session, "/note  the lacquer is thin  ", "/note", "asked for", "/note", "")
    assert talk.flat.count("Noted.") == 2 and "The note is empty." in talk.flat
    assert [n[4] for n in session.state.notes] == ["the lacquer is thin", "asked for"]


def test_why_route_log_again_terse_change_nothing(shop: Shop) -> None:
    """The commands that only tell leave no trace in the log."""
    session = _to(OUTER, "hold", INNER, SNIP, **TIED)(shop)
    before = session.state.n
    talk = typed_at(session, "/why", "/route", "/log", "/log all", "/again", "/terse", "/terse", "?")
    assert "Somebody looks here because: Two looks" in talk.flat
    assert "Stops so far: 1 measure, 2 tie butt, 3 butt: tie, " in talk.flat
    assert "The last 5 of " in talk.flat and "Stop 1, measure; " in talk.flat
    assert "Fewer words from here." in talk.flat and "All words from here." in talk.flat
    assert whats(shop, session)[before:] == ["paused"], "nothing but the end of the input"


def test_fix_corrects_the_last_reading_or_the_one_with_that_number(shop: Shop) -> None:
    """/fix keeps the old value, says back what was understood, and what rests on it is gone through again."""
    session = _to(OUTER, "@tie-far", INNER, SNIP, **TIED)(shop)
    clear = next(n for n, e in session.state.entries.items() if e.name == "clear")
    talk = typed_at(session, f"/fix {clear}", "341 mm", "", "the rule slipped", "/fix", "", "/fix 9999", "/fix x")
    assert "It stands: Clear length: 340 mm" in talk.flat and "Understood: 341 mm." in talk.flat
    assert "Corrected; the old value stays in the log." in talk.flat
    assert "Worked out again, room: room 9 mm" in talk.flat
    assert "Left as it is." in talk.flat
    assert "No reading has the number 9999; it stands after the reading in /log." in talk.flat
    entry = session.state.entries[clear]
    assert (entry.typed, entry.before[0][0]) == ("341 mm", "340")
    assert "corrected, before: 340" in typed_at(taken_up(shop, session.state.job), "/log all").said


def test_fix_needs_a_reason_and_takes_choices_and_facts(shop: Shop) -> None:
    """A correction without a reason is asked for it once more; left without one, nothing is changed and what was typed
    is said. Choices are corrected by number, facts of the drum by their number."""
    session = begin(shop, linked(RODS), drum={"rods": "6", "diameter": "13 in"})
    session.do(acts.Ready())
    typed_at(session, "/note at the first step")
    session = _to(GAP, "@look", gap="4")(shop)
    talk = typed_at(session, "2", "/fix", "1", "", "", "/fix", "1", "", "I looked again")
    assert talk.flat.count("Say why the value is corrected") == 2
    assert talk.flat.count("Left as it is; ") == 1
    lie = next(e for e in session.state.entries.values() if e.name == "lie")
    assert lie.value == "all"
    session = _fact(shop)
    talk = typed_at(session, "6", "/log all", "/fix 3", "8", "it has eight")
    assert "Drum: rods 6 [3]." in talk.flat
    assert "It stands: rods 6." in talk.flat


def test_back_goes_back_and_says_what_no_longer_counts(shop: Shop) -> None:
    """/back lists the last stops, asks why, and tells how many readings no longer count."""
    session = _to(GAP, "@look", gap="4")(shop)
    talk = typed_at(session, "/back", "1", "measured at the wrong plate", "/back", "", "/back 77", "why not", "/back x")
    assert "1 measure\n2 look\n" in talk.said
    assert "Back at stop 1. 1 reading no longer counts; they stay in the log." in talk.flat
    assert "There is no stop 77; the walk has come to stop 3." in talk.flat
    assert "'x' is not the number of a stop." in talk.flat
    assert [(v.step, v.struck) for v in session.state.visits] == [("measure", True), ("look", True), ("measure", False)]


def test_late_entry_carries_its_time(shop: Shop) -> None:
    """/late takes an hour of today or a full time, says time and value back, and refuses the future and rubbish."""
    session = _to(GAP, "do")(shop)
    session.clock.wait(minutes=30)  # type: ignore[attr-defined]
    talk = typed_at(session, "/late", "/late soon 4", "/late 23:59 4", "/late 8:30 4", "/late 9:20 4 mm", "")
    assert "Write the time it was taken and the value, as in /late 9:30 4 mm." in talk.flat
    assert "'soon' is not a time, such as 9:30 or 2026-11-25T09:30." in talk.flat
    assert "A late entry cannot be from the future." in talk.flat
    assert "A late entry cannot be from before the job, which was opened 2026-03-02 09:00." in talk.flat
    assert "Taken 2026-03-02 09:20. Understood: 4 mm; within." in talk.flat
    late = [e["late_at"] for e in events(shop, session.state.job) if e["what"] == "read"]
    assert late == ["2026-03-02T09:20:00+00:00"]


def test_late_entry_from_before_its_stop_is_asked_about(shop: Shop) -> None:
    """A time before the walk came to the stop is noted only where it is said to be so."""
    clock = Clock()
    session = begin(shop, linked(GAP), drum={}, clock=clock)
    clock.wait(minutes=30)
    drive(session, "do")
    clock.wait(minutes=30)
    talk = typed_at(session, "/late 9:10 4 mm", "", "no", "/late 9:10 4 mm", "", "yes")
    assert "2026-03-02 09:10 is before the walk came to this stop (2026-03-02 09:30)" in talk.flat
    assert "Not noted." in talk.flat
    late = [e["late_at"] for e in events(shop, session.state.job) if e["what"] == "read"]
    assert late == ["2026-03-02T09:10:00+00:00"]


def test_none_leaves_out_what_may_be_left_out(shop: Shop) -> None:
    """/none leaves an optional reading out, and is refused elsewhere."""
    session = _to(REST, "do")(shop)
    talk = typed_at(session, "/none it is seized")
    assert "Left out." in talk.flat
    left = next(e for e in events(shop, session.state.job) if e["what"] == "left_out")
    assert (left["why"], left["allowed"]) == ("it is seized", "a seized knob is not forced")
    assert "It may be left out: a seized knob is not forced." in talk.flat
    session = _to(REST, "do")(shop)
    talk = typed_at(session, "/none", "", "/log all")
    assert "Left out, no reason given." in talk.flat
    told = "Turns of the knob: left out (no reason given); the procedure allows it: a seized knob is not forced"
    assert told in talk.flat
    talk = typed_at(_to(GAP, "do")(shop), "/none")
    assert "This reading cannot be left out" in talk.flat


def test_another_place_than_the_one_asked_is_noted_by_hand(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """/at notes another place than the one asked where a sum names the places, and is refused elsewhere."""
    declare_moves(monkeypatch)
    book = linked(
        procedure(
            """
drum: [rods]
readings:
  note: {ask: Note at the rod, kind: note, per: rod, possible: 40 .. 1200}
  turned: {ask: Turns, unit: turns, per: rod, possible: -1 .. 1, where: advice.moves, elsewhere: 0}
sums:
  advice: {use: moves-for-tests, with: {notes: every note, turned: every turned}}
steps:
  - step: sound
    record: [note]
    work_out: [advice]
  - step: turn
    record: [turned]
  - step: finish
    end: done
""",
            id="turn-some-rods",
        )
    )
    named = {"1": Fraction(0), "2": Fraction(1, 8), "3": Fraction(0)}
    answer = {"moves": named}
    session = Session.begin(
        shop, book, APPRENTICE, Clock(), lambda name, given: answer, kind="practice", drum={"rods": "3"}
    )
    drive(session, "@turn", note="220")
    talk = typed_at(session, "??", "/at", "/at 9 1/8", "", "/at 3 1/16", "", "1/8", "", "/at 1 2")
    assert "/at PLACE VALUE: note this reading at another place" in talk.flat
    assert "Write the place and the value where a reading is asked, as in /at 4 1/8." in talk.flat
    assert "'9' is no place of this reading." in talk.flat
    turned = {e["place"]: e["typed"] for e in events(shop, session.state.job) if e.get("name") == "turned"}
    assert turned == {"1": "0", "2": "1/8", "3": "1/16"}
    assert "/at" not in "".join(help_lines(PlainWalk(session, talk), session.now()))


def test_happened_tells_what_is_foreseen_and_takes_it(shop: Shop) -> None:
    """/happened lists the events that can happen here, by number or word; elsewhere it says there are none."""
    session = _to(OUTER, "@tie", INNER, SNIP, **TIED)(shop)
    talk = typed_at(session, "/happened", "", "/happened", "9", "/happened 1")
    assert "1 The cord breaks\n2 A strand bends\n" in talk.said
    assert "9 is none of the choices; type a number, 1 to 2." in talk.flat
    assert "happened" in whats(shop, session)
    talk = typed_at(_to(GAP, "do")(shop), "/happened")
    assert "Nothing is foreseen at this step" in talk.flat


def test_skip_needs_the_role_and_a_reason(shop: Shop) -> None:
    """/skip says who may and why, takes a reason and the sign-off, and is refused where a step cannot be skipped."""
    session = _to(REST, "@rest", **RESTED)(shop)
    talk = typed_at(session, "/skip", "", "/skip the owner waits", "", "/skip", "the owner waits", "play")
    assert "A senior may skip it: the owner waits." in talk.flat and "Skipped." in talk.flat
    assert session.state.visits[1].skipped
    assert "This step cannot be skipped" in typed_at(_to(GAP, "do")(shop), "/skip").said


def test_problem_stops_the_work_until_it_is_settled(shop: Shop) -> None:
    """/problem is kept in the job, and the walk rests until somebody says how it was settled."""
    session = _to(GAP, "@look", gap="4")(shop)
    talk = typed_at(session, "/problem", "", "/problem there is no gap", "/fix", "", "the step was read wrongly", "1")
    assert "A problem was reported at look: there is no gap" in talk.flat
    assert "Noted: All touch; as wanted." in talk.flat
    assert whats(shop, session).count("problem_settled") == 1


def test_a_command_typed_into_a_command_takes_its_place(shop: Shop) -> None:
    """Where a command asks for more, another command leaves it: nothing of the first is kept."""
    session = _to(GAP, "@look", gap="4")(shop)
    talk = typed_at(session, "/problem", "/route", "/note", "?", "/fix", "/leave it lies there")
    assert "Stops so far: 1 measure, 2 look." in talk.flat
    assert "Another command instead leaves this one." in talk.flat
    assert {"problem", "noted", "corrected"} & set(whats(shop, session)) == set()
    assert session.state.paused == "it lies there"


def test_other_takes_another_branch_with_reason_and_signature(shop: Shop) -> None:
    """/other offers the branch just taken and those here, needs a reason and the shop's role, and keeps both."""
    session = _to(GAP, "@look", gap="4")(shop)
    talk = typed_at(session, "/other", "", "/other", "9", "/other", "2", "", "/other", "2", "it looks wrong", "play")
    assert "1 From measure (just left), to look: The gap is good\n" in talk.said
    assert "2 From measure (just left), to set again: The gap is 4 mm\n" in talk.said
    assert "3 From look (here), to finish: All touch\n" in talk.said
    assert "9 is none of the choices; type a number, 1 to 4." in talk.flat
    assert "A reason is needed; nothing was changed." in talk.flat
    assert session.state.visits[session.state.visit - 1].step == "set-again"


def test_stuck_goes_on_by_hand(shop: Shop) -> None:
    """Where no branch fits, one is taken by number, with a reason and the senior."""
    session = _to(STUCK, "stuck", knob="")(shop)
    talk = typed_at(session, "", "1", "it is seized", "play")
    assert "None of the branches fits what was noted. A senior says how to go on." in talk.flat
    assert "1 From count (here), to finish: Far: not noted\n" in talk.said
    assert session.state.visits[-1].step == "finish"


def test_diverged_walk_goes_back_or_is_accepted(shop: Shop) -> None:
    """A corrected value that leads elsewhere stops the walk: back to that stop, or accepted with a reason."""
    talk = typed_at(session := REACHED["diverged"](shop), "hm", "back")
    assert "Type the word back or the word accept." in talk.flat
    assert session.state.visits[session.state.visit - 1].step == "measure"
    session = REACHED["diverged"](shop)
    talk = typed_at(session, "accept", "", "accept", "it holds all the same", "play", "1")
    assert "accepted" in whats(shop, session) and session.state.ended is not None


def test_sign_off_made_void_is_given_again(shop: Shop) -> None:
    """A sign-off that a correction made void is asked for again by its role, with what was corrected, old and new."""
    session = REACHED["sign-again"](shop)
    talk = typed_at(session, "", "no", "play", "release", "", "")
    assert "The sign-off at senior look no longer stands" in talk.flat
    assert "Corrected since: Clear length: 341 mm" in talk.flat and "corrected, before: 340" in talk.flat
    assert "Enter alone does not pass a look. Type the word play." in talk.flat
    assert "Only the word play passes a look." in talk.flat
    assert "Signed again: " in talk.flat and session.state.released


def test_sign_off_made_void_can_be_refused(shop: Shop) -> None:
    """Refused at the second look, the sign-off stays void and the job open, until the work goes back over it."""
    session = REACHED["sign-again"](shop)
    talk = typed_at(session, "play", "refuse", "it does not lie flat")
    assert "The sign-off stays void until that is put right" in talk.flat
    assert session.state.released is None and session.state.open_signs() and session.state.signs[-1].kind == "refused"
    with taken_up(shop, session.state.job) as again:
        hold = again.state.open_signs()[0].visit
        if again.now().kind == "paused":
            again.do(acts.Resume())
        assert again.do(acts.GoBack(hold, "to put it right")).refusal is None
        assert again.state.open_signs() == []


def test_refusal_without_a_branch_says_that_work_stays(shop: Shop) -> None:
    """Where no branch says where a refusal leads, it is said that work stays here and what can be done."""
    book = LONE.replace(b"when: hold is released", b"when: otherwise").replace(
        b"      - {when: hold is refused, because: Not right, go: measure, at_most: 1, then: finish}\n", b""
    )
    session = begin(shop, linked(book), drum={})
    drive(session, "hold", gap="4", lie="all")
    talk = typed_at(session, "play", "refuse", "")
    assert "Refused. Work stays here until it is put right: go back to an earlier stop" in talk.flat
    assert session.now().kind == "paused" and session.state.visits[session.state.visit - 1].step == "second-look"


def test_look_is_shown_what_it_covers(shop: Shop) -> None:
    """Above the prompt of a look stand the readings it covers, with their judgement."""
    session = begin(shop, linked(LONE), drum={})
    drive(session, "hold", gap="7", lie="all")
    talk = typed_at(session, "/leave")
    assert "Gap, at butt side and strainer side: 7 mm; above by 1 mm" in talk.flat
    assert talk.said.index("How do the snares lie: All touch") < talk.said.index("Type play to play the senior")


def test_hold_is_refused_for_a_named_reason_with_a_word(shop: Shop) -> None:
    """A look is refused for one of the reasons the procedure names; the word about it stands in the record."""
    session = _to(REST, "hold", **RESTED)(shop)
    talk = typed_at(session, "", "play", "hm", "refuse", "2", "the lever is on")
    assert "Enter alone does not pass a look." in talk.flat
    assert "1 too cold\n2 lever on\n" in talk.said and "Type the word release or the word refuse." in talk.flat
    sign = session.state.signs[-1]
    assert (sign.kind, sign.note) == ("refused", "the lever is on")


def test_wait_is_not_cut_short_but_in_practice(shop: Shop) -> None:
    """Enter before the time is up is refused with the minutes left; practice may jump; after the time Enter goes on."""
    clock = Clock()
    session = begin(shop, linked(REST), drum={}, clock=clock)
    drive(session, "wait", **RESTED)
    talk = typed_at(session, "", "jump")
    assert "The time is not up: 30 min left" in talk.flat and "Stop 3, show." not in talk.flat
    assert session.state.visits[1].waited is not None
    session = begin(shop, linked(REST), drum={}, clock=clock)
    drive(session, "wait", **RESTED)
    clock.wait(minutes=31)
    assert "The time is up (since " in typed_at(session, "").said
    assert session.state.visits[1].waited is not None


# --- people ----------------------------------------------------------------------------------------------------------


def test_work_is_handed_over_and_taken_on(shop: Shop) -> None:
    """/hand asks for the person and a word; only that person, or who had it, takes the work on."""
    session = _to(GAP, "@look", gap="4")(shop)
    talk = typed_at(session, "/hand nobody", "/hand", "Mara", "mind the lacquer", "Ines", "mara quill", "", "1")
    assert "'nobody' is nobody in this shop; here work: " in talk.flat
    assert "This work was handed to Mara Quill: mind the lacquer" in talk.flat
    assert "The work was handed to Mara Quill." in talk.flat, "Ines may not take it on"
    assert session.state.person == SENIOR and session.who == SENIOR
    assert events(shop, session.state.job)[-1]["who"] == SENIOR


def test_handed_over_work_is_found_by_the_other(shop: Shop) -> None:
    """Who was handed work and opens it takes it on with Enter; who had it may take it back by name."""
    session = REACHED["handover"](shop)
    session.close()
    again = taken_up(shop, session.state.job, SENIOR)
    typed_at(again, "", "", "1")
    assert again.state.person == SENIOR and again.state.ended is not None
    session = REACHED["handover"](shop)
    typed_at(session, "tam reyes", "")
    assert session.state.person == APPRENTICE and session.state.handed_to is None


def handed(shop: Shop) -> Session:
    """A customer's job that the apprentice handed to the senior."""
    session = begin(shop, kind="customer", note={"instrument": "Snare drum"})
    drive(session, "@mechanism")
    assert session.do(acts.HandOver(SENIOR, "mind the lacquer")).refusal is None
    return session


def test_a_customers_work_is_taken_on_by_pin(shop: Shop) -> None:
    """Whoever has a PIN gives it to take work on: a wrong one changes nothing, and the log says that it was by PIN."""
    session = handed(shop)
    pins = iter(["204817"])
    talk = typed_at(session, "Ines", "Mara Quill", pins=lambda prompt: next(pins, None) or pin_of(prompt))
    assert "This is not the PIN of Mara Quill." in talk.flat, "and it is asked again at once"
    assert "The work was handed to Mara Quill." in talk.flat, "Ines may not take it on, and is not asked for a PIN"
    assert session.state.person == session.who == SENIOR
    taken = next(e for e in reversed(session.events) if e["what"] == "taken_on")
    assert (taken["who"], taken["how"]) == (SENIOR, "pin")
    told = typed_at(taken_up(shop, session.state.job), "/log all").flat
    assert "Taken on by Mara Quill, 2026-03-02 09:00, by PIN" in told


def test_a_customers_work_is_not_taken_on_through_a_pipe_where_there_is_a_pin(shop: Shop) -> None:
    """A PIN never comes from a pipe: that is said, and the work stays handed over, whoever opens it."""
    session = handed(shop)
    talk = typed_at(session, "Mara Quill", "381604")
    assert "A PIN is typed at a terminal and never comes from a pipe" in talk.flat
    assert session.state.handed_to == SENIOR and session.who == APPRENTICE
    again = taken_up(shop, session.state.job, SENIOR)
    talk = typed_at(again, "")
    assert "A PIN is typed at a terminal" in talk.flat and again.state.handed_to == SENIOR


def test_work_is_taken_on_by_name_where_there_is_no_pin(shop: Shop) -> None:
    """Who has no PIN goes by name, in practice everybody does, and the log and the pages say so."""
    by = check_pin(shop, SENIOR, PINS[SENIOR], MORNING)
    add_person(shop, Person("nils-berg", "Nils Berg", ("technician",)), MORNING, by)
    session = begin(shop, kind="customer", note={"instrument": "Snare drum"})
    drive(session, "@mechanism")
    session.do(acts.HandOver("nils-berg", "mind the lacquer"))
    typed_at(session, "Nils Berg", "", "/log all")
    taken = next(e for e in reversed(session.events) if e["what"] == "taken_on")
    assert (taken["who"], taken["how"], session.who) == ("nils-berg", "name", "nils-berg")
    practice = REACHED["handover"](shop)
    typed_at(practice, "Mara Quill")
    assert practice.who == SENIOR
    assert next(e for e in reversed(practice.events) if e["what"] == "taken_on")["how"] == "name"


def test_work_left_lying_is_taken_over_with_a_word(shop: Shop) -> None:
    """Somebody else's work that was not put down is theirs until whoever finds it says how the drum stands."""
    session = _to(GAP, "@look", gap="4")(shop)
    session.close()
    other = taken_up(shop, session.state.job, SENIOR)
    before = other.state.n
    talk = typed_at(other, "", "/leave")
    assert "Tam Reyes has this work in hand and did not put it down." in talk.flat
    assert other.state.n == before, "looking at it and leaving changes nothing"
    other = taken_up(shop, session.state.job, SENIOR)
    typed_at(other, "it lies on the pad, untied", "", "1")
    assert other.state.person == SENIOR and other.state.ended is not None
    assert "it lies on the pad, untied" in "\n".join(
        typed_at(taken_up(shop, session.state.job, SENIOR), "/log all").said.splitlines()
    )


def test_work_broken_off_is_taken_up_with_a_look_at_the_drum(shop: Shop) -> None:
    """One's own work that was broken off (by a kill, a power cut) begins with a look at the drum."""
    session = _to(GAP, "@look", gap="4")(shop)
    session.close()
    again = taken_up(shop, session.state.job)
    talk = typed_at(again, "the snares are off", "1")
    assert "The work was broken off without being put down." in talk.flat
    assert "Look at the drum: is it as the log says? Last noted: Gap: 4 mm; within [" in talk.flat
    found = [e for e in events(shop, session.state.job) if e["what"] in ("resumed", "place_checked")]
    assert [e["what"] for e in found] == ["resumed", "place_checked"] and found[1]["said"] == "the snares are off"


def test_leaving_inside_a_stage_asks_how_the_drum_stands(shop: Shop) -> None:
    """Between stages /leave puts the work down at once; inside one it asks for a word, which is told on coming back."""
    talk = typed_at(_to(GAP, "do")(shop), "/leave")
    assert "How does the drum stand?" not in talk.flat
    book = procedure(
        "readings:\n  seen: {ask: Seen, kind: words}\nsteps:\n  - step: a\n    stage: {id: s, title: S}\n"
        "    do: Look.\n  - step: b\n    do: Look again.\n  - step: c\n    end: done\n",
        id="two-looks",
    )
    session = begin(shop, linked(book), drum={})
    drive(session, "@b")
    talk = typed_at(session, "/leave", "", "one end is tied")
    assert talk.flat.count("How does the drum stand?") == 2
    talk = typed_at(taken_up(shop, session.state.job), "", "")
    assert "The work was put down at b: one end is tied." in talk.flat


def test_quit_and_exit_mean_leave(shop: Shop) -> None:
    """What people type to get out gets them out, with the work put down."""
    for word in ("/quit", "/exit", "/pause", "/LEAVE"):
        session = _to(GAP, "do")(shop)
        assert "All that was noted is kept in job" in typed_at(session, word).said
        assert session.state.paused is not None


# --- a customer's job ------------------------------------------------------------------------------------------------


def test_pin_never_comes_from_a_pipe(shop: Shop) -> None:
    """Through a pipe a look cannot be passed: it is said, nothing is signed, and the work is put down whole."""
    session = begin(shop, kind="customer", note={"instrument": "Snare drum"})
    reach_hold(session)
    talk = typed_at(session, "Mara Quill", "381604", "/leave waits for Mara")
    assert "A PIN is typed at a terminal and never comes from a pipe; this waits, and /leave puts it down." in talk.flat
    assert session.state.signs == [] and session.state.paused == "waits for Mara"


def test_look_is_given_by_another_person_with_their_pin(shop: Shop) -> None:
    """A wrong PIN and the wrong role are turned away; the senior's PIN passes, and the job is released."""
    session = begin(shop, kind="customer")
    reach_hold(session)
    pins = iter(["204817", "915267"])
    given = iter(["Nobody", "Mara", "tam", "Mara", "release", "fine work", "1", "", "all", "Tam", "Mara Quill", None])
    talk = typed_at(session, *given, pins=lambda prompt: next(pins, None) or pin_of(prompt))
    assert "'Nobody' is nobody in this shop" in talk.flat
    assert "This is not the PIN of Mara Quill." in talk.flat
    assert "This sign-off is a senior's; Tam Reyes is not one." in talk.flat
    assert "Signed: checked." in talk.flat and session.state.released
    assert f"  {session.head[:16]}\n" in talk.said
    log = (session.folder.log).read_text(encoding="utf-8")
    assert not any(pin in without_hashes(log + talk.said) for pin in ("381604", "915267", "204817"))
    assert whats(shop, session).count("turned_away") >= 1


LONE = procedure(
    """
readings:
  gap: {ask: Gap, unit: mm, possible: 0 .. 20, wanted: 3 .. 6, per: [butt side, strainer side]}
  lie: {ask: How do the snares lie, choices: {all: All touch, some: Some lift}}
steps:
  - step: measure
    record: [gap, lie]
  - step: second-look
    hold: {by: senior, signs: checked, covers: [gap, lie], because: Two looks}
    branches:
      - {when: hold is released, because: Seen twice, go: finish}
      - {when: hold is refused, because: Not right, go: measure, at_most: 1, then: finish}
  - step: finish
    end: done
""",
    id="look-twice",
)


def test_one_person_measures_again_for_a_second_look(tmp_path: Path) -> None:
    """In a shop of one the same hand looks later, measuring anew what the look covers without seeing the values."""
    shop = make_shop(tmp_path / "shop", approved=False, one_person=True)
    approve_for(shop, linked(LONE))
    clock = Clock()
    session = begin(shop, linked(LONE), kind="customer", drum={}, who=SENIOR, clock=clock)
    drive(session, "hold", gap="4", lie="all")
    early = ["Mara", "4", "5", "release", ""]
    late = ["Mara", "4.5", "9", "release", "", "Mara", "4.5", "5", "release", "", "Mara"]
    typed = iter([*early, "late", *late, None])

    def answer(prompt: str) -> str | None:
        line = next(typed)
        if line == "late":
            clock.wait(minutes=11)
            return next(typed)
        return line

    _code, talk = walked(session, answer=answer, pins=pin_of)
    assert "The second look comes 10 min after the first" in talk.flat
    assert talk.flat.count("Measure again, without looking at the first values.") == 3
    assert "Gap, at butt side:" in talk.prompts and "Gap, at strainer side:" in talk.prompts
    assert "The second look at 'Gap, at strainer side' does not agree with the first" in talk.flat
    released = next(e for e in events(shop, session.state.job) if e["what"] == "released")
    assert released["sign"]["policy"] == "second look by the same hand"
    assert released["sign"]["again"] == {"gap at butt side": "4.5", "gap at strainer side": "5"}


# --- the words -------------------------------------------------------------------------------------------------------


def test_words_are_short_and_calm() -> None:
    """Help texts and command texts are in the present tense, without exclamation marks, and fit two lines."""
    texts = [point.help for point in POINTS.values()] + [command.does for command in COMMANDS.values()]
    for text in texts:
        assert "!" not in text and "please" not in text.lower() and len(text) <= 150, text
    assert lines.SPOKEN == {"danger": "DANGER", "warning": "WARNING", "caution": "CAUTION", "notice": "NOTICE"}


def test_points_and_commands_are_documented_by_docstring() -> None:
    """The modules of plain mode say what they are for."""
    assert points.__doc__ and commands.__doc__
