"""A job in hand: opened, gone on with, and whole whatever the disk, the people or the library do meanwhile."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from benchwalk.errors import Failure, Refused
from benchwalk.job.disk import OsDisk
from benchwalk.job.log import HeldElsewhere, NotConfirmed, NothingKept
from benchwalk.job.owner import owner
from benchwalk.job.people import People, Person
from benchwalk.job.shop import Shop
from benchwalk.library import Library
from benchwalk.session import GUEST, Session, called, require_approval, runs_of
from benchwalk.sums import compute
from benchwalk.walk import acts
from shop_helpers import (
    APPRENTICE,
    FLAGSHIP,
    MORNING,
    PINS,
    SENIOR,
    Clock,
    approve_for,
    bare,
    begin,
    drive,
    events,
    flagship,
    fresh_shop,
    make_shop,
    resume,
)
from walk_helpers import GAP, INNER, OUTER, REST, RESTED, SNIP, TIED, linked, procedure


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with three people."""
    return fresh_shop(tmp_path)


class Failing(OsDisk):
    """The real disk; once `broken` is set every write of the log fails, or the next sync."""

    def __init__(self, what: str, error: int = errno.ENOSPC) -> None:
        self.what, self.error, self.broken = what, error, False
        self.write: Callable[[int, bytes], int] = self._write  # type: ignore[assignment]
        self.fsync: Callable[[int], None] = self._fsync  # type: ignore[assignment]

    def _write(self, fd: int, data: bytes) -> int:
        if self.broken and self.what == "write":
            raise OSError(self.error, os.strerror(self.error))
        return os.write(fd, data)

    def _fsync(self, fd: int) -> None:
        if self.broken and self.what == "fsync":
            self.broken = False
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        os.fsync(fd)


# --- opening ---------------------------------------------------------------------------------------------------------


def test_job_pins_its_texts_and_its_owner_apart(shop: Shop) -> None:
    """A job keeps the texts it is worked to by hash, and the owner beside the log, which holds only a hash of it."""
    session = begin(shop, kind="customer", owner={"name": "Alder School"}, salt=b"s" * 16, note={"tag": "17"})
    session.close()
    opened = events(shop, session.state.job)[0]
    assert opened["what"] == "opened" and opened["kind"] == "customer" and opened["note"] == {"tag": "17"}
    kept = {path.stem for path in session.folder.texts.iterdir()}
    assert kept == set(opened["texts"].values()) and len(kept) == 3
    assert (owner(session.folder) or {})["name"] == "Alder School"
    assert "Alder" not in session.folder.log.read_text(encoding="utf-8")


def test_customers_job_needs_exactly_what_was_approved(shop: Shop) -> None:
    """Without an approval of this revision and of what it runs, a procedure is practised and not used."""
    book = linked(OUTER, INNER, SNIP)
    with pytest.raises(Refused, match="it is not approved in this shop; a second person approves it"):
        begin(shop, book, kind="customer", drum={})
    assert shop.jobs() == []
    approve_for(shop, book)
    begin(shop, book, kind="customer", drum={}).close()
    changed = linked(OUTER, INNER.replace(b"Trim the cord.", b"Trim it."), SNIP)
    with pytest.raises(Refused, match="what it runs was changed since it was approved"):
        require_approval(shop, changed)
    assert set(runs_of(book)) == {"tie-side", "snip-strand"}


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"drum": {"diameter": "huge"}}, "is not a length"),
        ({"drum": {"diameter": "1 mm"}}, "cannot be"),
        ({"given": {"side": "butt"}}, "takes no 'side'"),
        ({"job": "../up"}, "cannot be a job's id"),
    ],
)
def test_job_that_cannot_be_opened_leaves_nothing(shop: Shop, more: dict[str, Any], said: str) -> None:
    """When opening is refused no folder of a job is left behind, and the next job has the first number."""
    with pytest.raises(Refused, match=said):
        begin(shop, **more)
    assert list(shop.jobs_folder.iterdir()) == []
    with begin(shop) as session:
        assert session.state.job == "J-0001"


def test_job_with_a_name_of_its_own_is_opened_once(shop: Shop) -> None:
    """A job may be given its id; the same id is not given twice, and the first job stays as it is."""
    begin(shop, job="K-7").close()
    with pytest.raises(Refused, match="there is a job K-7 already"):
        begin(shop, job="K-7")
    assert len(events(shop, "K-7")) == 1


def test_full_disk_at_the_first_event_leaves_no_job(shop: Shop) -> None:
    """When not even the first event can be written, the failure is said and no empty job stays in the list."""

    class Late(Failing):
        def _write(self, fd: int, data: bytes) -> int:
            self.broken = data.startswith(b'{"v"')
            return super()._write(fd, data)

    disk = Late("write")
    with pytest.raises(NothingKept, match="no space is left on the disk"):
        begin(shop, disk=disk)
    assert shop.jobs() == []


# --- going on --------------------------------------------------------------------------------------------------------


def test_job_is_walked_to_its_own_texts_whatever_becomes_of_the_library(shop: Shop) -> None:
    """A procedure that changes in the shop after a job was opened does not change that job."""
    path = shop.procedures / "look-over.yaml"
    path.write_bytes(GAP)
    session = begin(shop, Library.of(shop.root).get("look-over"), drum={})
    drive(session, "@look", gap="4")
    session.close()
    path.write_bytes(GAP.replace(b"Some lift", b"None lies"))
    with resume(shop, session.state.job) as again:
        assert again.now().reading.choices == {"all": "All touch", "some": "Some lift"}
    path.unlink()
    resume(shop, session.state.job).close()


def test_text_that_was_changed_or_is_gone_is_a_failure(shop: Shop) -> None:
    """A job whose own copy of the procedure is not what was kept cannot be gone on with, and says which file."""
    session = begin(shop, linked(GAP), drum={})
    session.close()
    (text,) = session.folder.texts.iterdir()
    data = text.read_bytes()
    text.write_bytes(data + b"# more\n")
    with pytest.raises(Failure, match="was changed after it was kept"):
        resume(shop, session.state.job)
    text.unlink()
    with pytest.raises(Failure, match="cannot be read: it is not there"):
        resume(shop, session.state.job)
    text.write_bytes(data)
    resume(shop, session.state.job).close()


@pytest.mark.parametrize("cut", range(1, 14))
def test_log_cut_at_any_event_goes_on(shop: Shop, cut: int) -> None:
    """Cut after any event, a job goes on by itself to where it asks, and from there to the same end."""
    session = begin(shop, linked(OUTER, INNER, SNIP), drum={})
    drive(session, "hold", **TIED)
    session.close()
    whole = events(shop, session.state.job)
    lines = session.folder.log.read_bytes().splitlines(keepends=True)
    session.folder.log.write_bytes(b"".join(lines[:cut]))
    with resume(shop, session.state.job) as again:
        drive(again, "hold", **TIED)
    assert bare(events(shop, session.state.job)) == bare(whole)


def test_job_is_held_by_one_session(shop: Shop) -> None:
    """A second session of the same job is refused and told who holds it; closing gives it up."""
    with begin(shop) as session, pytest.raises(HeldElsewhere, match=f"{APPRENTICE} on .* since "):
        resume(shop, session.state.job)
    resume(shop, session.state.job, SENIOR).close()


def test_job_without_a_log_is_said_so(shop: Shop) -> None:
    """A job's folder in which nothing was ever written is a failure in a sentence, not an empty walk."""
    (shop.jobs_folder / "J-0007").mkdir(parents=True)
    with pytest.raises(Failure, match="job J-0007 was never opened: nothing is in its log"):
        resume(shop, "J-0007")
    (shop.jobs_folder / "J-0007" / "log.jsonl").touch()
    with pytest.raises(Failure, match="job J-0007 was never opened: nothing is in its log"):
        resume(shop, "J-0007")
    with pytest.raises(Refused, match="there is no job J-0009 in this shop"):
        resume(shop, "J-0009")


def test_session_that_fails_to_begin_gives_the_job_up(shop: Shop) -> None:
    """When taking a job up fails halfway, the next one can."""
    session = begin(shop, linked(GAP), drum={})
    session.close()
    people = shop.root / "people.yaml"
    data = people.read_bytes()
    people.write_bytes(b"people: [")
    with pytest.raises(Failure, match="the people's file cannot be understood"):
        resume(shop, session.state.job)
    people.write_bytes(data)
    resume(shop, session.state.job).close()


# --- the disk --------------------------------------------------------------------------------------------------------


def test_act_that_was_not_kept_did_not_happen(shop: Shop) -> None:
    """On a full disk an act is said not to be kept, the state stays as it was, and goes on once there is room."""
    disk = Failing("write")
    with begin(shop, linked(GAP), drum={}, disk=disk) as session:
        drive(session, "@measure")
        before, kept = session.state, len(session.events)
        disk.broken = True
        with pytest.raises(NothingKept, match="nothing of this act was kept: no space is left on the disk"):
            session.do(acts.Record("4"))
        assert session.state is before and len(session.events) == kept
        disk.broken = False
        session.do(acts.Record("4"))
        assert session.now().kind == "reading"
    assert [e["what"] for e in events(shop, session.state.job)].count("read") == 1


def test_act_that_was_not_confirmed_ends_the_work(shop: Shop) -> None:
    """After a sync that failed nothing more is written, and the state does not pretend that the act was kept."""
    disk = Failing("fsync")
    with begin(shop, linked(GAP), drum={}, disk=disk) as session:
        drive(session, "@measure")
        before = session.state
        disk.broken = True
        with pytest.raises(NotConfirmed, match="written but was never confirmed"):
            session.do(acts.Record("4"))
        with pytest.raises(NotConfirmed):
            session.do(acts.Note("and on"))
        assert session.state is before
    with resume(shop, session.state.job) as again:
        assert "written again and is confirmed now" in again.log.notices[0]


def test_events_of_a_session_are_those_of_its_log(shop: Shop) -> None:
    """What a session holds as its events is, hash by hash, what its log holds; after going on as well."""
    with begin(shop, linked(REST), drum={}) as session:
        drive(session, "wait", **RESTED)
    assert session.events == events(shop, session.state.job)
    with resume(shop, session.state.job) as again:
        again.do(acts.Note("later"))
        assert again.events == events(shop, session.state.job)


# --- people ----------------------------------------------------------------------------------------------------------


def everybody(*names: str) -> People:
    """People of these names; their ids are made from them."""
    people = [Person(name.lower().replace(" ", "-"), name, ("technician",)) for name in names]
    return People({person.id: person for person in people})


def test_people_are_called_by_name_id_or_beginning() -> None:
    """A person is found by name or id in any case, or by its beginning where that is clear."""
    people = everybody("Ann Alder", "Anna Ash", "Bo Birch")
    assert called(people, "bo").id == "bo-birch"
    assert called(people, "  ANN   alder ").id == "ann-alder"
    assert called(people, "anna").id == "anna-ash"
    with pytest.raises(Refused, match="'ann' is more than one person in this shop"):
        called(people, "ann")
    for nobody in ("", "zoe", "irch"):
        with pytest.raises(Refused, match="is nobody in this shop; here work: Ann Alder, Anna Ash, Bo Birch"):
            called(people, nobody)
    with pytest.raises(Refused, match="here work: nobody yet"):
        called(People({}), "bo")


def test_person_who_was_added_meanwhile_is_known(shop: Shop) -> None:
    """Somebody added at another terminal can be handed work without starting anew."""
    from benchwalk.job.people import add_person, check_pin

    with begin(shop, linked(GAP), drum={}) as session:
        drive(session, "@measure")
        clock = Clock(MORNING)
        signed = check_pin(shop, SENIOR, PINS[SENIOR], clock())
        add_person(shop, Person("cy-cedar", "Cy Cedar", ("technician",)), clock(), signed)
        to = session.person_called("Cy")
        assert session.do(acts.HandOver(to, "it lies on the pad")).refusal is None


def test_take_on_changes_who_sits_here_only_where_it_is_allowed(shop: Shop) -> None:
    """A person whom the work was not handed to does not become the one who acts here."""
    with begin(shop, linked(GAP), drum={}) as session:
        drive(session, "@measure")
        session.do(acts.HandOver(SENIOR, "mind the lacquer"))
        with pytest.raises(Refused, match="the work was handed to Mara Quill"):
            session.take_on("ines-okafor")
        assert session.who == APPRENTICE
        session.take_on(SENIOR)
        assert session.who == session.state.person == SENIOR


def test_taking_on_a_customers_work_needs_the_pin_just_given(shop: Shop) -> None:
    """Where the incoming person has a PIN the session itself asks that it was given, lately, once, and by them."""
    clock = Clock()
    with begin(shop, kind="customer", clock=clock) as session:
        drive(session, "@mechanism")
        session.do(acts.HandOver(SENIOR, "mind the lacquer"))
        session.prove("ines-okafor", PINS["ines-okafor"])
        with pytest.raises(Refused, match="Mara Quill has a PIN, and gives it to take this work on"):
            session.take_on(SENIOR)
        session.prove(SENIOR, PINS[SENIOR])
        clock.wait(minutes=6)
        with pytest.raises(Refused, match="Mara Quill has a PIN"):
            session.take_on(SENIOR)
        assert session.who == APPRENTICE
        session.prove(SENIOR, PINS[SENIOR])
        session.take_on(SENIOR)
        assert session.who == SENIOR and session.events[-1]["how"] == "pin"


def test_guest_practises_in_a_shop_without_people(tmp_path: Path) -> None:
    """Where nobody is known yet a guest practises, and can go on with what was put down."""
    shop = make_shop(tmp_path / "shop", people=False)
    with begin(shop, linked(GAP), drum={}, who=GUEST) as session:
        assert session.names[GUEST] == "a guest"
        drive(session, "@measure")
        session.do(acts.Pause("later"))
    with resume(shop, session.state.job, GUEST) as again:
        assert again.do(acts.Resume()).refusal is None


def test_wrong_pins_are_throttled_by_the_log(shop: Shop) -> None:
    """After three wrong PINs in a row even the right one has to wait, and the wait is worked out from the log."""
    clock = Clock()
    with begin(shop, linked(GAP), drum={}, clock=clock) as session:
        for _ in range(3):
            with pytest.raises(Refused, match="this is not the PIN of Mara Quill"):
                session.prove(SENIOR, "204817")
        with pytest.raises(Refused, match=r"3 wrong PINs in a row for Mara Quill; try again in \d+ s"):
            session.prove(SENIOR, PINS[SENIOR])
        clock.wait(seconds=31)
        session.prove(SENIOR, PINS[SENIOR])


def test_file_is_kept_only_where_it_can_be_read(shop: Shop, tmp_path: Path) -> None:
    """A picture is kept by its hash; what is no file and a name too long are refused in the same sentence."""
    picture = tmp_path / "a.PNG"
    picture.write_bytes(b"\x89PNG picture")
    with begin(shop, linked(GAP), drum={}) as session:
        assert session.keep("On paper, no. 3") is None
        name = session.keep(str(picture))
        assert name is not None and (session.folder.files / name).read_bytes() == b"\x89PNG picture"
        assert session.kept == "a.PNG, 12 bytes"
        for typed in (str(tmp_path / "none.png"), "x" * 5000, "a\0b", "~nobody/x.png"):
            with pytest.raises(Refused, match="to be read; or write: on paper"):
                session.keep(typed)


def test_flagship_can_be_opened_from_what_is_shipped(shop: Shop) -> None:
    """The flagship and all it runs are sound, and a session of it stands before its first question."""
    assert flagship().id == FLAGSHIP
    with Session.begin(shop, flagship(), APPRENTICE, Clock(), compute, kind="practice") as session:
        assert session.now().kind == "ready"
        session.do(acts.Ready())
        assert (session.now().kind, session.now().name) == ("fact", "diameter")


def test_take_over_is_logged(shop: Shop) -> None:
    """A job held on another machine is taken over with a reason only, and the log says from whom."""
    session = begin(shop, linked(GAP), drum={})
    session.close()
    note = session.folder.path / "writer.json"
    note.write_text('{"who":"cy","host":"far-bench","machine":"00","pid":7,"since":"2026-03-01T09:00:00+00:00"}')
    with pytest.raises(HeldElsewhere, match="cy on far-bench"):
        resume(shop, session.state.job)
    with Session.resume(shop, session.state.job, APPRENTICE, Clock(), compute, take_over="its bench is gone"):
        pass
    taken = events(shop, session.state.job)[-1]
    assert (
        taken["what"] == "lock_taken_over" and taken["reason"] == "its bench is gone" and "far-bench" in taken["holder"]
    )


def test_procedure_that_asks_nothing_ends_at_once(shop: Shop) -> None:
    """A session of a procedure that asks nothing of anybody stands at its end as soon as it is ready."""
    book = linked(procedure("steps:\n  - step: over\n    end: stopped\n", id="over-at-once"))
    with begin(shop, book, drum={}) as session:
        session.do(acts.Ready())
        assert session.now().kind == "ended"
