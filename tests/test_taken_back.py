"""What can be taken back by a command: an approval, and what is kept of a drum's owner."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from benchwalk.job import people
from benchwalk.job.approvals import approvals
from benchwalk.job.shop import Shop
from benchwalk.session import Session
from shop_helpers import (
    FLAGSHIP,
    MORNING,
    PINS,
    SENIOR,
    approve_for,
    begin,
    command,
    document,
    events,
    flagship,
    fresh_shop,
    tree,
)

OWNER = {"name": "A. Player", "contact": "at the mill"}


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with three people and an approved flagship."""
    return fresh_shop(tmp_path)


@pytest.fixture
def seated(monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody sits at the terminal and knows the senior's PIN."""
    monkeypatch.setattr(people, "read_pin", lambda prompt: PINS[SENIOR])


def taken_in(shop: Shop) -> str:
    """A customer's job with its owner's facts."""
    with begin(shop, kind="customer", owner=OWNER, salt=b"0123456789abcdef") as session:
        return session.state.job


# --- approvals -------------------------------------------------------------------------------------------------------


def test_an_approval_is_taken_back_with_a_reason(shop: Shop, seated: None) -> None:
    """Withdrawn by PIN and reason, the revision begins no new customer's job, and the log keeps both events."""
    ran = command("approve", FLAGSHIP, "--withdraw", "--who", "Mara", "--reason", "cords creep", shop=shop.root)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert ran.stdout == f"{FLAGSHIP} revision 1 is no longer approved; Mara Quill took it back: cords creep\n"
    assert approvals(shop) == []
    assert "not approved in this shop" in command("intake", FLAGSHIP, "--who", "Tam", shop=shop.root).stderr
    approve_for(shop, flagship())
    assert len(approvals(shop)) == 1


def test_the_reason_is_asked_where_it_is_not_given(shop: Shop, seated: None) -> None:
    """Without --reason it is asked; an empty one is not taken, and nothing is withdrawn without one."""
    words = ("approve", FLAGSHIP, "--withdraw", "--who", "Mara")
    ran = command(*words, shop=shop.root)
    assert ran.returncode == 2 and "Why is the approval taken back?" in ran.stderr and len(approvals(shop)) == 1
    ran = command(*words, shop=shop.root, input="\n  \ncords creep\n")
    assert ran.returncode == 0 and ran.stdout.endswith("took it back: cords creep\n")


def test_a_revision_that_the_library_has_no_more_is_taken_back_by_its_number(shop: Shop, seated: None) -> None:
    """With --revision the procedure itself is not needed; one that is not approved is refused with those that are."""
    again = ("approve", FLAGSHIP, "--withdraw", "--who", "Mara", "--reason", "x", "--revision")
    ran = command(*again, "2", shop=shop.root)
    assert ran.returncode == 1 and "approved is revision 1" in ran.stderr
    assert command(*again, "1", shop=shop.root).returncode == 0
    ran = command("approve", "no-such", *again[2:], "1", shop=shop.root)
    assert ran.returncode == 1 and "Revision 1 of 'no-such' is not approved" in ran.stderr


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("approve", FLAGSHIP, "--withdraw", "--who", "Mara", "--reason", "x"), 2, "never from a pipe or a file"),
        (("approve", FLAGSHIP, "--withdraw", "--who", "Mara", "--reason", "a\tb"), 1, "more than one line, or a tab"),
        (("approve", FLAGSHIP, "--withdraw", "--who", "Zoe", "--reason", "x"), 1, "'Zoe' is nobody in this shop"),
        (("approve", FLAGSHIP, "--withdraw", "--who", "Mara", "--author", "x"), 2, "--author belongs to an approval"),
        (("approve", FLAGSHIP, "--who", "Mara", "--reason", "x"), 2, "belong to --withdraw"),
        (("approve", "tie-one-side", "--withdraw", "--who", "Mara"), 1, "is not approved, so nothing can be taken"),
        (("approve", "nothing", "--withdraw", "--who", "Mara"), 2, "no procedure"),
    ],
)
def test_what_cannot_be_taken_back_is_refused(shop: Shop, words: tuple[str, ...], code: int, said: str) -> None:
    """A refusal is one sentence with its code, and the approval stands."""
    before = tree(shop.root)
    ran = command(*words, shop=shop.root)
    assert ran.returncode == code and said in ran.stderr and ran.stdout == ""
    assert tree(shop.root) == before


def test_only_who_may_approve_takes_back(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """An apprentice's right PIN withdraws nothing."""
    monkeypatch.setattr(people, "read_pin", lambda prompt: PINS["tam-reyes"])
    ran = command("approve", FLAGSHIP, "--withdraw", "--who", "Tam", "--reason", "x", shop=shop.root)
    assert ran.returncode == 1 and "only a senior approves" in ran.stderr and len(approvals(shop)) == 1


# --- the owner's facts -----------------------------------------------------------------------------------------------


def test_the_owner_is_forgotten_once_the_job_is_named_twice(shop: Shop) -> None:
    """The facts are gone, the log says when and by whom, and everything else of the job stands and audits."""
    job = taken_in(shop)
    ran = command("intake", "--forget", job, "--who", "Mara", shop=shop.root, input=f"{job}\n")
    assert ran.returncode == 0 and "name and contact of job J-0001 are removed" in ran.stdout
    assert not shop.job(job).owner.exists()
    last = events(shop, job)[-1]
    assert (last["what"], last["who"]) == ("owner_removed", SENIOR)
    shown = command("show", job, shop=shop.root).stdout
    assert f"Owner's facts removed {last['at'][:16].replace('T', ' ')} by Mara Quill" in shown
    assert "A. Player" not in shown and "A. Player" not in command("jobs", shop=shop.root).stdout
    data = document(command("show", job, "--json", shop=shop.root).stdout)
    assert data["owner"] == "removed" and data["owner_removed"] == {"at": last["at"], "who": SENIOR}
    assert command("audit", job, shop=shop.root).returncode == 0
    ran = command("intake", "--forget", job, "--who", "Mara", shop=shop.root, input=f"{job}\n")
    assert ran.returncode == 1 and "keeps nothing of its owner" in ran.stderr


def test_json_says_what_was_removed(shop: Shop) -> None:
    """With --json one document on stdout names job, what was removed, who and when."""
    job = taken_in(shop)
    ran = command("intake", "--forget", job, "--who", "Mara", "--json", shop=shop.root, input=f"{job}\n")
    data = document(ran.stdout)
    assert (data["job"], data["removed"], data["by"]) == (job, ["name", "contact"], SENIOR)
    assert data["at"] == events(shop, job)[-1]["at"]


@pytest.mark.parametrize(("typed", "code"), [("", 2), ("yes\n", 1), ("J-0002\n", 1)])
def test_nothing_is_removed_unless_the_number_is_typed(shop: Shop, typed: str, code: int) -> None:
    """Anything but the job's own number removes nothing and writes nothing."""
    job = taken_in(shop)
    before = tree(shop.root)
    ran = command("intake", "--forget", job, "--who", "Mara", shop=shop.root, input=typed)
    assert ran.returncode == code and tree(shop.root) == before


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("intake",), 2, "Name the procedure"),
        (("intake", FLAGSHIP, "--forget", "J-0001"), 2, "--forget stands alone"),
        (("intake", "--forget", "J-0001", "--owner", "x"), 2, "--forget stands alone"),
        (("intake", "--forget", "J-9999", "--who", "Mara"), 1, "there is no job J-9999"),
        (("intake", "--forget", "J-0001", "--who", "Zoe"), 1, "'Zoe' is nobody in this shop"),
    ],
)
def test_what_cannot_be_forgotten_is_refused(shop: Shop, words: tuple[str, ...], code: int, said: str) -> None:
    """A refusal is one sentence with its code."""
    taken_in(shop)
    ran = command(*words, shop=shop.root)
    assert ran.returncode == code and said.lower() in ran.stderr.lower() and ran.stdout == ""


def test_facts_removed_by_hand_are_told_as_such(shop: Shop) -> None:
    """Where the file was deleted beside the log, the pages say that nobody knows when and by whom."""
    job = taken_in(shop)
    assert document(command("show", job, "--json", shop=shop.root).stdout)["owner"] == "kept"
    shop.job(job).owner.unlink()
    assert "when and by whom it does not say" in command("show", job, shop=shop.root).stdout
    with begin(shop) as session:
        other = session.state.job
    assert document(command("show", other, "--json", shop=shop.root).stdout)["owner"] == "none"
    assert "removed" not in command("show", other, shop=shop.root).stdout


def test_facts_are_gone_even_where_the_log_cannot_say_so(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """The facts go before the note of it: a log that takes no more keeps nobody's name."""
    job = taken_in(shop)

    def full(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    with Session.resume(shop, job, SENIOR, lambda: MORNING, lambda *_: {}) as session:
        monkeypatch.setattr(session.log, "append", full)
        with pytest.raises(OSError, match="No space"):
            session.forget_owner()
    assert not shop.job(job).owner.exists()
