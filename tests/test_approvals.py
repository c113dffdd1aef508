"""Approvals: by a second person with the role and a PIN, of exactly one content, in a log of their own."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from benchwalk.errors import Failure, Refused
from benchwalk.job import pins
from benchwalk.job.approvals import Approval, approvals, approvals_file, approve, is_approved, withdraw
from benchwalk.job.log import DamagedLog, read
from benchwalk.job.people import Person, Signed, add_person, check_pin, edit_person, set_pin
from benchwalk.job.shop import Shop
from test_log import remade

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
SALT = bytes(range(16))
PINS = {"ada": "271828", "bo": "314159", "cy": "161803"}
CONTENT, OTHER = "a" * 64, "b" * 64
RUNS = {"check-over": "2/" + "c" * 64}


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shop:
    """A shop with two seniors, Ada and Cy, and a technician, Bo."""
    monkeypatch.setattr(pins, "_COST", 1 << 4)
    return staffed(Shop.create(tmp_path / "shop", "The back room"))


def staffed(made: Shop) -> Shop:
    """The shop with its three people and their PINs."""
    add_person(made, Person("ada", "Ada Quill", ("senior",)), NOW)
    add_person(made, Person("cy", "Cy Marrow", ("senior",)), NOW)
    add_person(made, Person("bo", "Bo Ferris", ("technician",)), NOW)
    for name in ("bo", "ada"):
        set_pin(made, name, PINS[name], SALT, NOW)
    set_pin(made, "cy", PINS["cy"], SALT, NOW, by=pin(made, "ada"))
    return made


def pin(shop: Shop, name: str) -> Signed:
    """The token of a person who gave the right PIN."""
    return check_pin(shop, name, PINS[name], NOW)


def approved(shop: Shop, by: str = "ada", author: str = "bo", revision: str = "3", content: str = CONTENT) -> Approval:
    """Approve the re-tie procedure."""
    return approve(shop, "retie", revision, content, RUNS, author, pin(shop, by), NOW)


def test_nothing_is_approved_before_it_is(shop: Shop) -> None:
    """A shop without approvals has none, and asking makes no file."""
    assert is_approved(shop, "retie", "3", CONTENT) is None and approvals(shop) == []
    assert not Path(approvals_file(shop)).exists()


def test_approval_holds_for_exactly_this_revision_and_content(shop: Shop) -> None:
    """An approval shows who, when, what for and what it runs; another id, revision or content is not approved."""
    made = approved(shop)
    found = is_approved(shop, "retie", "3", CONTENT)
    assert found == made
    assert (made.who, made.name, made.at, made.meaning) == ("ada", "Ada Quill", "2026-11-25T09:00:00+00:00", "approved")
    assert (made.author, dict(made.runs), made.same_hand, made.n) == ("Bo Ferris", RUNS, False, 1)
    for other in (("retie", "4", CONTENT), ("retie", "3", OTHER), ("retie-2", "3", CONTENT)):
        assert is_approved(shop, *other) is None
    [event] = read(approvals_file(shop), strict=True).events
    assert list(event)[:5] == ["v", "n", "at", "who", "what"] and event["what"] == "approved"


@pytest.mark.parametrize("author", ["ada", "Ada Quill", "ada quill", " ADA  ", "Ada  Quill", "Ad", "Quill"])
def test_author_may_not_approve(shop: Shop, author: str) -> None:
    """Who wrote a procedure does not approve it, under their id or their name, however it is written."""
    with pytest.raises(Refused, match="Ada Quill wrote this procedure; a second person must approve it"):
        approved(shop, "ada", author)
    assert approved(shop, "cy", author).who == "cy"


def test_author_is_kept_by_id_or_marked_as_not_of_this_shop(shop: Shop) -> None:
    """An author who works here is kept with their id, however short the name was; anybody else is marked as such."""
    here, elsewhere = approved(shop, author="Ferris"), approved(shop, author="Ines Okafor", revision="4")
    assert (here.author, here.author_id, here.written_by) == ("Bo Ferris", "bo", "Bo Ferris")
    assert (elsewhere.author_id, elsewhere.written_by) == ("", "Ines Okafor (not of this shop)")
    assert [a.author_id for a in approvals(shop)] == ["bo", ""]


def test_author_of_whom_two_could_be_meant_is_asked_for(shop: Shop) -> None:
    """A name that fits two people of the shop approves nothing."""
    add_person(shop, Person("bo-2", "Bo Lark", ("technician",)), NOW, pin(shop, "ada"))
    with pytest.raises(Refused, match="'B' is more than one person in this shop"):
        approved(shop, author="B")
    assert approvals(shop) == []


def test_approver_needs_the_role_and_a_fresh_pin(shop: Shop) -> None:
    """Without the shop's approving role, or with a PIN given too long ago, nothing is approved."""
    with pytest.raises(Refused, match="Bo Ferris is no senior"):
        approved(shop, "bo", "ada")
    token = pin(shop, "ada")
    with pytest.raises(Refused, match="too long since"):
        approve(shop, "retie", "3", CONTENT, RUNS, "bo", token, NOW + timedelta(minutes=6))
    edit_person(shop, "ada", NOW, pin(shop, "cy"), roles=["technician"])
    with pytest.raises(Refused, match="is no senior"):
        approve(shop, "retie", "3", CONTENT, RUNS, "bo", token, NOW)
    assert approvals(shop) == []


def test_shop_names_the_role_that_approves(shop: Shop) -> None:
    """The approving role is the shop's to choose."""
    path = shop.root / "shop.yaml"
    path.write_text(path.read_text().replace("approve_role: senior", "approve_role: technician"))
    again = Shop.open(shop.root)
    with pytest.raises(Refused, match="Ada Quill is no technician"):
        approved(again, "ada", "cy")
    assert approved(again, "bo", "cy").who == "bo"


def test_shop_of_one_approves_by_the_same_hand_and_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a shop of one person the author may approve, and the approval says that it was the same hand."""
    monkeypatch.setattr(pins, "_COST", 1 << 4)
    made = staffed(Shop.create(tmp_path / "one", "One", one_person=True))
    assert approved(made, "ada", "ada").same_hand is True
    assert approved(made, "ada", "bo").same_hand is False


def test_withdrawn_approval_counts_no_more_and_stays_on_record(shop: Shop) -> None:
    """Taking an approval back needs the role and a reason, ends it for that revision, and hides nothing."""
    approved(shop)
    approved(shop, revision="4", content=OTHER)
    with pytest.raises(Refused, match="the reason is empty"):
        withdraw(shop, "retie", "3", " ", pin(shop, "cy"), NOW)
    with pytest.raises(Refused, match="is no senior"):
        withdraw(shop, "retie", "3", "cord slips", pin(shop, "bo"), NOW)
    with pytest.raises(Refused, match="is not approved"):
        withdraw(shop, "retie", "9", "cord slips", pin(shop, "cy"), NOW)
    withdraw(shop, "retie", "3", "cord slips", pin(shop, "cy"), NOW)
    assert is_approved(shop, "retie", "3", CONTENT) is None
    assert is_approved(shop, "retie", "4", OTHER) is not None
    assert [e["what"] for e in read(approvals_file(shop)).events] == ["approved", "approved", "withdrawn"]
    assert approved(shop).n == 4 and is_approved(shop, "retie", "3", CONTENT) is not None


@pytest.mark.parametrize(
    ("field", "value", "why"),
    [
        ("procedure", "", "id is empty"),
        ("revision", "1\n2", "more than one line"),
        ("content", "abc", "is no hash"),
        ("author", " ", "author is empty"),
    ],
)
def test_what_cannot_be_approved_is_refused(shop: Shop, field: str, value: str, why: str) -> None:
    """An approval without a proper id, revision, hash or author is refused and not kept."""
    given = {"procedure": "retie", "revision": "3", "content": CONTENT, "author": "bo", field: value}
    with pytest.raises(Refused, match=why):
        approve(
            shop, given["procedure"], given["revision"], given["content"], RUNS, given["author"], pin(shop, "ada"), NOW
        )
    assert approvals(shop) == []


def test_tampered_approvals_approve_nothing(shop: Shop) -> None:
    """With any line of the approvals changed, nothing counts as approved, and the line is named."""
    approved(shop)
    approved(shop, revision="4", content=OTHER)
    path = Path(approvals_file(shop))
    path.write_bytes(path.read_bytes().replace(OTHER.encode(), CONTENT.encode()))
    with pytest.raises(DamagedLog) as damage:
        is_approved(shop, "retie", "3", CONTENT)
    assert damage.value.line == 2


def test_approval_that_lacks_a_field_is_named(shop: Shop) -> None:
    """An event called approved that does not say all an approval says is told, not taken for one."""
    approved(shop)
    path = Path(approvals_file(shop))
    [event] = read(path).events
    remade(path, [{k: v for k, v in event.items() if k not in ("content", "before", "hash")}])
    with pytest.raises(Failure, match="approval 1 says nothing of 'content'"):
        approvals(shop)
