"""People and PINs: who may do what, and how slowly a wrong PIN is looked at."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pexpect
import pytest

from benchwalk.errors import Failure, Refused
from benchwalk.job import pins
from benchwalk.job.log import DamagedLog, read
from benchwalk.job.people import (
    Person,
    PinRefused,
    Signed,
    add_person,
    check_pin,
    edit_person,
    load_people,
    set_pin,
)
from benchwalk.job.shop import Shop
from benchwalk.job.signing import LONGEST_WAIT, waiting
from house import PATIENCE

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
SALT = bytes(range(16))
PIN, OTHER, WRONG = "271828", "314159", "161803"


@pytest.fixture(autouse=True)
def quick_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hash PINs with little memory, so that tests are quick; the real cost has a test of its own."""
    monkeypatch.setattr(pins, "_COST", 1 << 4)


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with a senior, Ada, and a technician, Bo, both with PINs."""
    made = Shop.create(tmp_path / "shop", "The back room")
    add_person(made, Person("ada", "Ada Quill", ("senior", "technician")), NOW)
    set_pin(made, "ada", PIN, SALT, NOW)
    ada = check_pin(made, "ada", PIN, NOW)
    add_person(made, Person("bo", "Bo O'Ferris", ("technician",)), NOW, ada)
    set_pin(made, "bo", OTHER, SALT, NOW, by=ada)
    return made


def at(seconds: float) -> datetime:
    """So many seconds after NOW."""
    return NOW + timedelta(seconds=seconds)


def wait_after(shop: Shop, now: datetime, who: str = "bo") -> float:
    """The wait in seconds that a wrong PIN brings at a moment."""
    with pytest.raises(PinRefused) as refusal:
        check_pin(shop, who, WRONG, now)
    return refusal.value.wait.total_seconds()


# --- who there is --------------------------------------------------------------------------------------------------


def test_people_read_back_as_added(shop: Shop) -> None:
    """People come back with their id, name as typed and roles; PINs only as hashes."""
    people = load_people(shop)
    assert [(p.id, p.name, p.roles) for p in people.by_id.values()] == [
        ("ada", "Ada Quill", ("senior", "technician")),
        ("bo", "Bo O'Ferris", ("technician",)),
    ]
    assert [p.id for p in people.with_role("technician")] == ["ada", "bo"]
    text = (shop.root / "people.yaml").read_text()
    assert PIN not in text and OTHER not in text and "scrypt:" in text
    assert PIN not in (shop.root / "people.jsonl").read_text()


def test_file_that_others_can_read_is_told_on_reading_and_mended_on_writing(shop: Shop) -> None:
    """people.yaml is closed to others by every change; where it was opened to them, reading says so and leaves it."""
    path = shop.root / "people.yaml"
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert load_people(shop).notices == ()
    os.chmod(path, 0o644)
    for _ in range(2):
        assert load_people(shop).notices == (
            "people.yaml can be read by others on this machine; `chmod 600` closes it, and so does the next change "
            "with `benchwalk people`",
        )
        assert stat.S_IMODE(path.stat().st_mode) == 0o644
    signed = check_pin(shop, "ada", PIN, NOW)
    assert stat.S_IMODE(path.stat().st_mode) == 0o644, "looking at a PIN writes another file"
    edit_person(shop, "bo", NOW, signed, called="Bo")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600 and load_people(shop).notices == ()


def test_editing_keeps_what_was_written_by_hand(shop: Shop) -> None:
    """A comment or an order somebody gave the file by hand outlives changes by the program."""
    path = shop.root / "people.yaml"
    path.write_text("# the crew\n" + path.read_text().replace("  bo:", "  # Tuesdays only\n  bo:"))
    ada = check_pin(shop, "ada", PIN, NOW)
    edit_person(shop, "bo", NOW, ada, called='Bo "Sticks" Ferris: yes # no', roles=["technician", "painter"])
    add_person(shop, Person("cy", "Cy", ("apprentice",)), NOW, ada)
    text = path.read_text()
    assert text.startswith("# the crew\n") and "  # Tuesdays only\n  bo:" in text
    people = load_people(shop)
    assert people.get("bo").name == 'Bo "Sticks" Ferris: yes # no'
    assert people.get("bo").roles == ("technician", "painter")
    assert list(people.by_id) == ["ada", "bo", "cy"]
    assert check_pin(shop, "bo", OTHER, NOW).person.id == "bo"


@pytest.mark.parametrize(
    ("person", "why"),
    [
        (Person("Ada!", "A", ("x",)), "cannot be a person's id"),
        (Person("../x", "A", ("x",)), "cannot be a person's id"),
        (Person("cy", " ", ("x",)), "the name is empty"),
        (Person("cy", "A\nB", ("x",)), "more than one line"),
        (Person("cy", "A\x1b[2J", ("x",)), "an escape character"),
        (Person("cy", "A\u202eB", ("x",)), "turns the reading direction"),
        (Person("cy", "A" * 201, ("x",)), "at most 200 are kept"),
        (Person("cy", "Cy", ()), "at least one role"),
        (Person("cy", "Cy", ("Big Boss",)), "cannot be a role"),
        (Person("bo", "Bo", ("x",)), "somebody with the id bo already"),
    ],
)
def test_what_cannot_be_a_person_is_refused(shop: Shop, person: Person, why: str) -> None:
    """A bad id, name or role is refused with its reason, and neither the file nor the log changes."""
    before = [(shop.root / name).read_bytes() for name in ("people.yaml", "people.jsonl")]
    with pytest.raises(Refused, match=why):
        add_person(shop, person, NOW, check_pin(shop, "ada", PIN, NOW))
    assert [(shop.root / name).read_bytes() for name in ("people.yaml", "people.jsonl")] == before


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("people: [", "cannot be understood"),
        ("folk:\n  ada: {name: A, roles: [x]}\n", "'people' with"),
        ("people: ada\n", "'people' with"),
        ("people:\n  ada: {roles: [x]}\n", "'name' is missing"),
        ("people:\n  ada: {name: A, roles: x}\n", "are a list"),
        ("people:\n  ada: {name: A, roles: [x], age: 9}\n", "'age' says nothing of a person"),
        ("people:\n  Ada B: {name: A, roles: [x]}\n", "cannot be a person's id"),
        ("people:\n  ada: senior\n", "needs a 'name' and 'roles'"),
    ],
)
def test_broken_file_is_one_sentence_with_its_place(shop: Shop, text: str, why: str) -> None:
    """A people.yaml that cannot be used is told in one sentence that names the file."""
    (shop.root / "people.yaml").write_text(text)
    with pytest.raises(Failure, match=why) as failure:
        load_people(shop)
    assert str(failure.value).startswith(str(shop.root / "people.yaml"))
    assert "\n" not in str(failure.value)


def test_only_a_senior_adds_changes_and_sets_once_one_has_a_pin(shop: Shop) -> None:
    """Nobody makes themselves or another a senior: without a senior's PIN nothing about people can be changed."""
    bo = check_pin(shop, "bo", OTHER, NOW)
    for by, why in ((None, "a senior must give their PIN"), (bo, "Bo O'Ferris is no senior")):
        with pytest.raises(Refused, match=why):
            add_person(shop, Person("cy", "Cy", ("senior",)), NOW, by)
        with pytest.raises(Refused, match=why):
            edit_person(shop, "bo", NOW, by, roles=["senior"])
        with pytest.raises(Refused, match=why):
            set_pin(shop, "ada", "808017", SALT, NOW, by=by)
    old = check_pin(shop, "ada", PIN, NOW)
    with pytest.raises(Refused, match="too long since"):
        add_person(shop, Person("cy", "Cy", ("senior",)), at(301), old)
    with pytest.raises(Refused, match="too long since"):
        edit_person(shop, "bo", at(-1), old, called="B")
    with pytest.raises(Refused, match="only senior with a PIN"):
        edit_person(shop, "ada", NOW, old, roles=["technician"])
    assert list(load_people(shop).by_id) == ["ada", "bo"]


def test_every_change_is_an_event(shop: Shop) -> None:
    """Whoever is added, changed or given a PIN stands in the people's log, with who did it."""
    edit_person(shop, "bo", NOW, check_pin(shop, "ada", PIN, NOW), called="Bo")
    events = read(shop.root / "people.jsonl", strict=True).events
    assert [(e["what"], e["who"], e["person"]) for e in events] == [
        ("person_added", "ada", "ada"),
        ("pin_set", "ada", "ada"),
        ("person_added", "ada", "bo"),
        ("pin_set", "ada", "bo"),
        ("person_changed", "ada", "bo"),
    ]


# --- PINs ----------------------------------------------------------------------------------------------------------


def test_right_pin_makes_a_token_and_nothing_else_does(shop: Shop) -> None:
    """Only the right PIN gives a Signed; it names the person and lasts five minutes by a clock that goes forward."""
    token = check_pin(shop, "bo", OTHER, NOW)
    assert (token.person.id, token.person.roles, token.at) == ("bo", ("technician",), NOW)
    assert [token.holds(at(s)) for s in (-1, 0, 300, 301)] == [False, True, True, False]
    with pytest.raises(PinRefused, match="not the PIN of Bo"):
        check_pin(shop, "bo", PIN, NOW)
    with pytest.raises(TypeError):
        Signed(token.person, NOW, object())
    for nobody in ("cy", 'x"y', ""):
        with pytest.raises(Refused, match="nobody with the id"):
            check_pin(shop, nobody, PIN, NOW)


@pytest.mark.parametrize(
    "pin",
    [
        "",
        "12345",
        "12345a",
        "\uff11\uff12\uff13\uff14\uff15\uff16",
        "1" * 33,
        "000000",
        "7777777",
        "123456",
        "654321",
        "0123456789",
        "890123",
        "121212",
        "123123",
    ],
)
def test_weak_pins_are_refused_when_set(shop: Shop, pin: str) -> None:
    """Too short, not digits, one digit, counting or repeating: refused, without the PIN in the sentence."""
    with pytest.raises(Refused) as refusal:
        set_pin(shop, "bo", pin, SALT, NOW, old=OTHER)
    assert not pin or pin not in str(refusal.value)
    assert check_pin(shop, "bo", OTHER, NOW)


@pytest.mark.parametrize("pin", ["271828", "112358", "1234567891", "12345678901234567890123456789013", "998877"])
def test_other_pins_are_taken(pin: str) -> None:
    """Six digits or more with no plain pattern will do."""
    assert pins.fault(pin) is None


def test_new_pin_needs_the_old_one_or_a_senior(shop: Shop) -> None:
    """A PIN is changed by who knows it, or by a senior; then only the new one is right."""
    set_pin(shop, "bo", "808017", SALT, NOW, old=OTHER)
    assert check_pin(shop, "bo", "808017", NOW)
    with pytest.raises(PinRefused):
        set_pin(shop, "bo", OTHER, SALT, NOW, old=OTHER)
    set_pin(shop, "bo", OTHER, SALT, NOW, by=check_pin(shop, "ada", PIN, NOW))
    assert check_pin(shop, "bo", OTHER, NOW)
    with pytest.raises(PinRefused):
        check_pin(shop, "bo", "808017", NOW)


def test_own_pin_needs_a_fresh_token_and_nobody_overwrites_one(tmp_path: Path) -> None:
    """A token given too long ago changes no PIN, and even before any senior has one, a PIN that is there stays."""
    made = Shop.create(tmp_path / "new", "N")
    add_person(made, Person("bo", "Bo", ("technician",)), NOW)
    set_pin(made, "bo", OTHER, SALT, NOW)
    with pytest.raises(Refused, match="Bo has a PIN already"):
        set_pin(made, "bo", "808017", SALT, NOW)
    token = check_pin(made, "bo", OTHER, NOW)
    with pytest.raises(Refused, match="too long since"):
        set_pin(made, "bo", "808017", SALT, at(301), by=token)
    assert check_pin(made, "bo", OTHER, NOW)
    set_pin(made, "bo", "808017", SALT, at(300), by=token)
    assert check_pin(made, "bo", "808017", NOW)


def test_hash_is_memory_hard_and_carries_its_parameters(monkeypatch: pytest.MonkeyPatch) -> None:
    """The kept text names scrypt, its cost, the salt and the key; the cost really used takes 32 MiB or more."""
    monkeypatch.undo()
    kept = pins.hashed(PIN, SALT)
    way, cost, block, lanes, salt, key = kept.split(":")
    assert (way, salt, len(key)) == ("scrypt", SALT.hex(), 64)
    assert 128 * int(cost) * int(block) * int(lanes) >= 32 * 2**20
    assert pins.fits(PIN, kept) and not pins.fits(OTHER, kept)
    assert pins.hashed(PIN, bytes(16)) != kept
    with pytest.raises(ValueError, match="too short"):
        pins.hashed(PIN, b"short")


def test_scrypt_is_the_published_one() -> None:
    """The key is scrypt's: RFC 7914 section 12, second vector (from memory), through the same call."""
    key = pins._key("password", b"NaCl", 1024, 8, 16)
    assert key.hex() == "fdbabe1c9d3472007856e7190d01e9fe7c6ad7cbc8237830e77376634b373162"


@pytest.mark.parametrize(
    "kept", ["", "plain:271828", "scrypt:x:8:1:00:00", "scrypt:1073741824:8:1:00:" + "0" * 64, "scrypt:16:8:1:00:00"]
)
def test_kept_hash_that_is_none_lets_nobody_in(kept: str) -> None:
    """A hash that was edited into something else, or to eat all memory, is refused with a way out."""
    with pytest.raises(Refused, match="a senior must set a new one"):
        pins.fits(PIN, kept)


# --- waiting -------------------------------------------------------------------------------------------------------


def test_waits_double_from_thirty_seconds_to_an_hour(shop: Shop) -> None:
    """Three wrong PINs in a row bring 30 s, each further one twice as long, up to an hour; the right one resets."""
    now, waits = NOW, []
    for _ in range(13):
        waits.append(wait_after(shop, now))
        now += timedelta(seconds=waits[-1])
    assert waits == [0, 0, 30, 60, 120, 240, 480, 960, 1920, 3600, 3600, 3600, 3600]
    assert waiting(10_000, NOW, NOW) == LONGEST_WAIT
    assert check_pin(shop, "bo", OTHER, now)
    assert [wait_after(shop, now) for _ in range(3)] == [0, 0, 30]


def test_during_the_wait_even_the_right_pin_is_not_looked_at(shop: Shop) -> None:
    """A try during the wait is refused unseen, is no further wrong one, and other people are not made to wait."""
    assert [wait_after(shop, NOW) for _ in range(3)][-1] == 30
    events = len(read(shop.root / "people.jsonl").events)
    for seconds in (0, 10, 29.9):
        with pytest.raises(PinRefused, match="3 wrong PINs in a row for Bo O'Ferris; try again in") as refusal:
            check_pin(shop, "bo", OTHER, at(seconds))
        assert refusal.value.wait == timedelta(seconds=30 - seconds)
    assert len(read(shop.root / "people.jsonl").events) == events
    assert check_pin(shop, "ada", PIN, NOW)
    assert check_pin(shop, "bo", OTHER, at(30))


def test_clock_that_goes_back_frees_nobody(shop: Shop) -> None:
    """Set the clock back, before or between the wrong PINs: the wait still runs from the latest time in the log."""
    wait_after(shop, NOW)
    wait_after(shop, at(-86400))
    assert wait_after(shop, at(-3600)) == 3630
    for seconds in (-86400, -3600, -1, 0, 29):
        with pytest.raises(PinRefused, match="try again in"):
            check_pin(shop, "bo", OTHER, at(seconds))
    assert check_pin(shop, "bo", OTHER, at(30))


def test_wait_outlives_the_program_and_a_senior_ends_it(shop: Shop) -> None:
    """The wait is in the log, not in memory: another process meets it too; a new PIN by a senior ends it."""
    for _ in range(3):
        wait_after(shop, NOW)
    code = (
        "import sys; from datetime import datetime; from benchwalk.job.shop import Shop;"
        "from benchwalk.job.people import check_pin;"
        "check_pin(Shop.open(sys.argv[1]), 'bo', sys.argv[2], datetime.fromisoformat(sys.argv[3]))"
    )
    command = [sys.executable, "-c", code, str(shop.root), OTHER, at(5).isoformat()]
    ran = subprocess.run(command, capture_output=True, text=True)
    assert "PinRefused: 3 wrong PINs in a row for Bo O'Ferris; try again in 25 s" in ran.stderr
    set_pin(shop, "bo", "808017", SALT, at(5), by=check_pin(shop, "ada", PIN, at(5)))
    assert check_pin(shop, "bo", "808017", at(5))


def test_refusals_cannot_be_taken_out_of_the_log_unseen(shop: Shop) -> None:
    """With a line of the people's log changed, no PIN is accepted at all, and the line is named."""
    for _ in range(3):
        wait_after(shop, NOW)
    path = shop.root / "people.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:-2] + lines[-1:]))
    with pytest.raises(DamagedLog) as damage:
        check_pin(shop, "bo", OTHER, at(1000))
    assert damage.value.line == len(lines) - 1


def test_refusal_that_cannot_be_logged_is_no_verdict(shop: Shop) -> None:
    """Where the log cannot be written, a PIN gets no answer, right or wrong."""
    (shop.root / "people.jsonl").unlink()
    (shop.root / "people.jsonl").mkdir()
    for pin in (OTHER, WRONG):
        with pytest.raises(Failure, match="opened for writing"):
            check_pin(shop, "bo", pin, NOW)


def test_person_without_a_pin_signs_nothing(shop: Shop) -> None:
    """Somebody who has no PIN yet is told to set one; nothing they type is right."""
    add_person(shop, Person("cy", "Cy", ("apprentice",)), NOW, check_pin(shop, "ada", PIN, NOW))
    with pytest.raises(PinRefused, match="Cy has no PIN yet"):
        check_pin(shop, "cy", "", NOW)


# --- asking --------------------------------------------------------------------------------------------------------

ASK = "from benchwalk.job.people import read_pin; print('got', len(read_pin('PIN: ')))"


def test_pin_is_never_taken_from_a_pipe() -> None:
    """A PIN on a pipe or from a file is refused in a sentence, and not echoed."""
    for source in (subprocess.PIPE, subprocess.DEVNULL):
        child = subprocess.Popen(
            [sys.executable, "-c", ASK], stdin=source, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )
        out, err = child.communicate(f"{PIN}\n" if source == subprocess.PIPE else None)
        assert "UsageError: a PIN is only taken from a person at a terminal" in err and "got" not in out
        assert PIN not in out + err


def test_pin_typed_at_a_terminal_is_not_shown() -> None:
    """At a real terminal the PIN is asked for, taken, and nothing of it appears on the screen."""
    child = pexpect.spawn(sys.executable, ["-c", ASK], encoding="utf-8", timeout=PATIENCE)
    child.expect("PIN: ")
    child.sendline(PIN)
    child.expect("got 6")
    shown = child.before + child.after
    child.expect(pexpect.EOF)
    assert PIN not in shown + (child.before or "")
