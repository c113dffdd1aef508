"""Plain mode: what a bare word means, what is said back, and what is asked before anything else."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchwalk.job.shop import Shop
from benchwalk.walk import acts
from shop_helpers import APPRENTICE, SENIOR, Clock, approve_for, begin, drive, events, fresh_shop, resume
from test_plain import LONE, typed_at
from walk_helpers import GAP, linked, procedure

SWARF = procedure(
    """
readings:
  swarf: {ask: What shows, choices: {clear: no swarf shows, some: some swarf shows}}
  rest: {ask: Anything else, choices: {none: nothing else, dent: a dent}}
steps:
  - step: brush
    do: Brush the hole.
    record: [swarf, rest]
  - step: finish
    end: done
""",
    id="brush-hole",
)


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with three people."""
    return fresh_shop(tmp_path)


@pytest.mark.parametrize("word", ["no", "n", "NO", "not yet"])
def test_no_at_an_action_is_never_the_beginning_of_a_choice(shop: Shop, word: str) -> None:
    """`no` at an action with a reading says not yet, although a choice begins with that word; nothing is noted."""
    session = begin(shop, linked(SWARF), drum={})
    drive(session, "do")
    typed_at(session, word)
    whats = [e["what"] for e in events(shop, session.state.job)]
    assert "not_yet" in whats and "read" not in whats


def test_no_alone_is_no_choice_where_nothing_waits_to_be_done(shop: Shop) -> None:
    """At a reading after the action, a bare `no` is refused with how to choose; the number and the words are taken."""
    session = begin(shop, linked(SWARF), drum={})
    drive(session, "do")
    talk = typed_at(session, "1", "n", "nothing")
    assert "'n' alone is none of the choices; type a number, 1 to 2." in talk.flat
    read = [e["value"] for e in events(shop, session.state.job) if e["what"] == "read"]
    assert read == ["clear", "none"]


def test_choice_called_no_is_named_by_its_number(shop: Shop) -> None:
    """Where a choice is called `no` itself, the word still says not yet, and the number of that choice is told."""
    book = procedure(
        "readings:\n  moves: {ask: Does it move, choices: {'yes': 'yes', 'no': 'no'}}\nsteps:\n"
        "  - step: push\n    do: Push it.\n    record: [moves]\n  - step: finish\n    end: done\n",
        id="push-it",
    )
    session = begin(shop, linked(book), drum={})
    drive(session, "do")
    talk = typed_at(session, "no", "2")
    assert "If you meant the choice 'no', type its number, 2." in talk.flat
    assert [e["value"] for e in events(shop, session.state.job) if e["what"] == "read"] == ["no"]


# --- getting ready ---------------------------------------------------------------------------------------------------


def needing(body: str, id: str, tools: str, before: str) -> bytes:
    """A procedure that needs these tools, and this before it begins."""
    return procedure(body, id=id, tools=f"[{tools}]").replace(b"before: none", f"before: [{before}]".encode())


def test_all_that_is_confirmed_at_the_start_is_said(shop: Shop) -> None:
    """The tools of all that is run are said once each, and what must be so before, by the title of each."""
    cut = "steps:\n  - step: cut\n    do: Cut it.\n    end: done\n"
    inner = needing(cut, "cut-cord", "snips, rule", "The cord is dry")
    book = linked(
        needing(
            "steps:\n  - step: tie\n    run: {procedure: cut-cord, as: cut}\n  - step: finish\n    end: done\n",
            "tie-cord",
            "rule, lamp",
            "The drum is on the pad",
        ),
        inner,
    )
    session = begin(shop, book, drum={})
    talk = typed_at(session, "")
    assert "Tools: rule; lamp; snips." in talk.flat
    assert "Before you begin: The drum is on the pad." in talk.flat
    assert "Before Cut cord: The cord is dry." in talk.flat
    needs = next(e for e in events(shop, session.state.job) if e["what"] == "readied")["needs"]
    confirmed = {each for kinds in needs.values() for found in kinds.values() for each in found}
    assert confirmed and all(each in talk.flat for each in confirmed)


def test_what_is_missing_is_said_back_and_stands_on_the_pages(shop: Shop) -> None:
    """What is typed instead of Enter is said back and agreed to before it counts; the pages tell it."""
    session = begin(shop, linked(SWARF), drum={})
    talk = typed_at(session, "the lamp, it is daylight", "no", "the lamp; it is daylight", "", "/log all")
    assert talk.flat.count("Going on without: the lamp") == 2
    readied = [e for e in events(shop, session.state.job) if e["what"] == "readied"]
    assert [e["waived"] for e in readied] == ["the lamp; it is daylight"]
    assert "Went on without: the lamp; it is daylight (Tam Reyes, 2026-03-02 09:00)" in talk.flat


@pytest.mark.parametrize("word", ["yes", "no", "Y", "ok.", "not yet", "yy", "nnn"])
def test_bare_words_are_not_taken_as_what_is_missing(shop: Shop, word: str) -> None:
    """A bare yes or no at the start, its key pressed more than once too, is refused with what is expected, and nothing
    is confirmed."""
    session = begin(shop, linked(SWARF), drum={})
    talk = typed_at(session, word)
    assert f"'{word}' does not say what is missing; Enter alone says that all is at hand." in talk.flat
    assert not session.state.readied


# --- the count at the end --------------------------------------------------------------------------------------------

COUNTED = procedure("steps:\n  - step: wipe\n    do: Wipe it.\n    end: done\n", id="wipe-drum", tools="[small pliers]")


def test_what_is_missing_at_the_count_keeps_the_job_open(shop: Shop) -> None:
    """What is missing is noted and told, the count stays open, and once it is found the job goes on."""
    session = begin(shop, linked(COUNTED), drum={})
    drive(session, "account")
    talk = typed_at(session, "close", "missing", "", "missing the small pliers", "", "/log all", "all", "")
    stays = "The job stays open until it is found, or a senior lets it close."
    assert f"Missing so far: the small pliers. {stays}" in talk.flat
    assert "Missing at the count, Tam Reyes, 2026-03-02 09:00: the small pliers" in talk.flat
    counted = [(e["missing"], e["sign"]) for e in events(shop, session.state.job) if e["what"] == "accounted"]
    assert counted == [("the small pliers", None), ("", None)]
    assert session.state.released


def test_a_senior_lets_the_job_close_with_something_missing(shop: Shop) -> None:
    """Whoever may release the job signs that it closes without what is missing, and the pages say so."""
    session = begin(shop, linked(COUNTED), drum={})
    drive(session, "account")
    assert session.do(acts.Account(sign=acts.Sign("senior", "practice"))).refusal is not None, "nothing is missing yet"
    talk = typed_at(session, "missing the small pliers", "close", "play", "/log all", "")
    assert "The job may close with this missing: the small pliers." in talk.flat
    assert "the small pliers; the job may close with it; senior" in talk.flat
    assert session.state.released


def test_a_customers_job_closes_with_something_missing_by_a_seniors_pin_only(shop: Shop) -> None:
    """On a customer's job an apprentice's sign-off is turned away, and nothing is closed."""
    session = begin(shop, linked(COUNTED), drum={})
    drive(session, "account")
    session.do(acts.Account(missing="the small pliers"))
    for sign in (acts.Sign(APPRENTICE, "pin"), acts.Sign("nobody", "pin")):
        assert session.do(acts.Account(sign=sign)).refusal is not None
    assert session.now().kind == "account"
    assert session.do(acts.Account(sign=acts.Sign(SENIOR, "pin"))).refusal is None
    assert session.now().kind == "ended"


# --- side questions, help, and yes or no -----------------------------------------------------------------------------


def test_help_is_short_and_tells_of_the_rest(shop: Shop) -> None:
    """`?` says the answer and the commonest commands; `??` says every command that makes sense here."""
    session = begin(shop, linked(GAP), drum={})
    drive(session, "@look", gap="4")
    short, whole = typed_at(session, "?"), typed_at(resume(shop, session.state.job), "", "", "??")
    assert "/fix [NUMBER]: " in short.flat and "/hand" not in short.flat and "Type ?? for all" in short.flat
    assert "/hand [NAME]: " in whole.flat and "/problem [TEXT]: " in whole.flat


def test_a_wrong_number_in_a_side_question_is_asked_again(shop: Shop) -> None:
    """A number that is none of the list never answers the step: it is asked again until answered or left with Enter."""
    session = begin(shop, linked(GAP), drum={})
    drive(session, "@look", gap="4")
    talk = typed_at(session, "/other 9", "9", "1", "", "/back 99", "1", "")
    assert talk.flat.count("9 is none of the choices; type a number, 1 to 4.") == 1
    assert "There is no stop 99; the walk has come to stop 2." in talk.flat
    assert [e["name"] for e in events(shop, session.state.job) if e["what"] == "read"] == ["gap"]


def test_what_cannot_be_is_said_before_reasons_are_asked(shop: Shop) -> None:
    """Handing to whoever has the work, or going back to no stop, is refused before anybody is asked why."""
    session = begin(shop, linked(GAP), drum={})
    drive(session, "@look", gap="4")
    talk = typed_at(session, "/hand tam", "", "/back 99", "")
    assert "The work cannot be handed to the one who has it." in talk.flat
    assert not any(prompt.startswith(("How does the drum stand, and", "Why do you go back")) for prompt in talk.prompts)


def test_the_same_value_again_is_a_yes(shop: Shop) -> None:
    """Typing the value a second time notes it, also one outside what is possible, which is not judged."""
    session = begin(shop, linked(GAP), drum={})
    drive(session, "do")
    talk = typed_at(session, "30", "30")
    assert "Understood: 30 mm. That lies outside what is possible here" in talk.flat
    assert [(e["typed"], e["odd"]) for e in events(shop, session.state.job) if e["what"] == "read"] == [("30", True)]
    session = begin(shop, linked(GAP), drum={})
    drive(session, "do")
    typed_at(session, "4 mm", "4  MM")
    assert [e["typed"] for e in events(shop, session.state.job) if e["what"] == "read"] == ["4 mm"]


def test_only_a_yes_or_a_no_answers_such_a_question(shop: Shop) -> None:
    """Any other word is asked again, and is neither of them."""
    session = begin(shop, linked(GAP), drum={}, clock=(clock := Clock()))
    drive(session, "do")
    clock.wait(minutes=5)
    session.state.visits[0].at = clock().isoformat()
    talk = typed_at(session, "/late 9:01 4", "", "perhaps", "no")
    assert "Yes or no is the answer here." in talk.flat and "Not noted." in talk.flat
    talk = typed_at(resume(shop, session.state.job), "", "", "/other", "1")
    assert "read" not in [e["what"] for e in events(shop, session.state.job)]


def test_a_wrong_pin_is_asked_again_three_times(shop: Shop) -> None:
    """A wrong PIN in a look is asked again at once; after the third it is left, and nothing is signed."""
    session = begin(shop, linked(LONE), drum={}, kind="practice")
    session.close()
    approve_for(shop, linked(LONE))
    session = begin(shop, linked(LONE), drum={}, kind="customer")
    drive(session, "hold", gap="4", lie="all")
    asked: list[str] = []

    def wrong(prompt: str) -> str:
        asked.append(prompt)
        return "204817"

    talk = typed_at(session, "Mara", pins=wrong)
    assert len(asked) == 3 and session.state.signs == []
    assert talk.flat.count("This is not the PIN of Mara Quill") == 3


def test_who_may_look_on_hears_that_nothing_waits_for_it(shop: Shop) -> None:
    """Where somebody is told and may look, it is said that no key waits for them, and that a note tells who looked on
    and as what; the log keeps it."""
    book = procedure(
        "steps:\n  - step: wipe\n    do: Wipe it.\n"
        "    witness: {by: senior, because: It is the first one., signs: seen wiped}\n"
        "  - step: finish\n    end: done\n",
        id="wipe-it",
    )
    session = begin(shop, linked(book), drum={})
    talk = typed_at(session, "", "")
    told = "A senior may look on here: It is the first one. No key waits for it; say who did in a note (seen wiped)."
    assert told in talk.flat
    assert next(e for e in events(shop, session.state.job) if e["what"] == "told")["meaning"] == "seen wiped"


def test_a_correction_says_that_the_sign_off_is_asked_for_at_the_end(shop: Shop) -> None:
    """A sign-off that a correction makes void is told with when it is asked for again."""
    session = begin(shop, linked(LONE), drum={})
    drive(session, "hold", gap="4", lie="all")
    drive(session, "account" if session.state.ended else "ended")
    first = next(n for n, entry in session.state.entries.items() if entry.name == "gap")
    talk = typed_at(session, f"/fix {first}", "5", "", "misread")
    assert "a reading it covers was corrected. It is asked for again at the end." in talk.flat
