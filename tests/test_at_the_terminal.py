"""What commands say at a terminal: the rules of a PIN before it is typed, what is signed, and what came of a job."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchwalk.job.people import load_people
from benchwalk.job.pins import RULES, fault
from benchwalk.job.shop import Shop
from benchwalk.walk import acts
from screen_helpers import RealTerminal
from shop_helpers import PINS, SENIOR, begin, command, drive, events, fresh_shop
from walk_helpers import GAP, linked


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with three people."""
    return fresh_shop(tmp_path)


def said(terminal: RealTerminal) -> str:
    """All that was said, in one line."""
    return " ".join(terminal.raw.split())


def adding(shop: Shop) -> RealTerminal:
    """Bo Quist is being added, and asked for a PIN."""
    terminal = RealTerminal(
        "--shop", str(shop.root), "people", "add", "Bo Quist", "--role", "apprentice", "--by", "Mara"
    )
    terminal.until("PIN of Mara Quill, who allows it")
    terminal.press(*PINS[SENIOR], "enter")
    terminal.until("The new PIN")
    return terminal


def test_rules_of_a_pin_are_told_before_it_is_typed(shop: Shop) -> None:
    """Whoever is added hears all the rules at once, before the first PIN; one that breaks one of them is refused."""
    terminal = adding(shop)
    assert RULES in said(terminal)
    terminal.press(*"222222", "enter")
    terminal.until("one digit over and over is the first")
    terminal.press(*"591837", "enter")
    terminal.until("The same once more")
    terminal.press(*"591837", "enter")
    terminal.until("The PIN is set.")
    assert terminal.end() == 0 and load_people(shop).get("bo-quist").pin
    assert "591837" not in terminal.raw


def test_a_pin_that_was_not_set_says_the_command_with_the_name(shop: Shop) -> None:
    """After three PINs that cannot be, the person is there without one, and what is said can be typed as it stands."""
    terminal = adding(shop)
    for pin, why in (("222222", "over and over"), ("12a", "digits 0 to 9 alone"), ("123", "digits or more")):
        terminal.press(*pin, "enter")
        terminal.until(why)
    terminal.until("try again with")
    assert terminal.end() == 1 and "`benchwalk people pin bo-quist`" in said(terminal)


@pytest.mark.parametrize("pin", ["12345", "1234567890" * 4, "12345a", "111111", "345678", "987654", "121212", "374374"])
def test_rules_of_a_pin_leave_nothing_out(pin: str) -> None:
    """Each sort of PIN that is refused is one that the rules speak of."""
    assert fault(pin) is not None
    parts = {
        "12345": "6 to 32 digits",
        "1234567890" * 4: "6 to 32 digits",
        "12345a": "0 to 9 alone",
        "111111": "not one digit over and over",
        "345678": "not counting up or down",
        "987654": "not counting up or down",
    }
    assert parts.get(pin, "not two or three digits repeated") in RULES


def test_approving_says_what_is_signed_and_what_goes_on(shop: Shop) -> None:
    """Before the PIN stands what is signed, and before the seconds that the check takes, that it is checked."""
    terminal = RealTerminal("--shop", str(shop.root), "approve", "tie-one-side", "--who", "Mara")
    terminal.until("PIN of Mara Quill")
    assert "You sign: tie-one-side revision 1 as approved." in said(terminal)
    terminal.press(*PINS[SENIOR], "enter")
    terminal.until("is approved by Mara Quill", 60)
    assert terminal.end() == 0
    text = said(terminal)
    assert text.index("First it is checked and its examples are walked") < text.index("is approved by")


@pytest.fixture
def finished(shop: Shop) -> str:
    """The head of a practice job that is released."""
    with begin(shop, linked(GAP), drum={}) as session:
        drive(session, "ended", gap="4", lie="all")
        session.do(acts.ReleaseJob(acts.Sign("senior", "practice"), head=session.head))
    return str(events(shop, "J-0001")[-1]["hash"])


def test_finished_job_says_what_came_of_it(shop: Shop, finished: str) -> None:
    """Walking a job that is finished says how it ended, who released it, and the head of its log; nothing changes."""
    before = shop.job("J-0001").log.read_bytes()
    ran = command("walk", "--job", "J-0001", "--who", "tam", "--plain", shop=shop.root)
    lines = ran.stdout.splitlines()
    assert ran.returncode == 0 and lines[0] == "Job J-0001 is finished." and lines[1].startswith("Ended done, ")
    assert any(line.startswith("Released: checked and released, by ") for line in lines)
    assert f"to be written down where the log is not: {finished[:16]}" in ran.stdout
    assert lines[-1].endswith("report J-0001")
    assert shop.job("J-0001").log.read_bytes() == before


def test_end_of_a_walk_on_the_full_screen_says_what_came_of_it(shop: Shop, finished: str) -> None:
    """The screen of a finished job shows the head of its log; the terminal says afterwards what was done."""
    terminal = RealTerminal("--shop", str(shop.root), "walk", "--job", "J-0001", "--who", "tam")
    terminal.until("The job is released.")
    terminal.until(finished[:16])
    terminal.press("f10")
    assert terminal.end() == 0 and terminal.whole
    told = said(terminal).rpartition("Job J-0001 is finished.")[2]
    assert "Ended done" in told and "Released: " in told and finished[:16] in told and "report J-0001" in told
