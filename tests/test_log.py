"""The log of a job: what a line is, what an append promises, and how it reads back."""

from __future__ import annotations

import hashlib
import json
import os
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchwalk.errors import Failure, Refused
from benchwalk.job import line as lines
from benchwalk.job.disk import OsDisk
from benchwalk.job.log import (
    LIFTS,
    DamagedLog,
    HeadNotFound,
    Holder,
    JobLog,
    LogChanged,
    NewerLog,
    read,
    verify,
)

NOW = datetime(2026, 11, 25, 9, 53, 46, tzinfo=UTC)
ADA = Holder.here("ada", NOW)


def body(n: int, what: str = "noted", **fields: Any) -> dict[str, Any]:
    """The body of event `n`, as the core would hand it over."""
    return {"v": 1, "n": n, "at": "2026-11-25T09:53:46+00:00", "who": "ada", "what": what, **fields}


def written(path: Path, count: int) -> list[dict[str, Any]]:
    """Write a log of `count` events, one act each; the events as they stand in it."""
    with JobLog.open(path, ADA) as log:
        return [log.append([body(log.next_n, text=f"event {log.next_n}")])[0] for _ in range(count)]


def remade(path: Path, changed: list[dict[str, Any]]) -> None:
    """Write a log whose hashes are all right, whatever its events are: anybody who can write the folder can."""
    before, made = "0" * 64, b""
    for event in changed:
        head = json.dumps({**event, "before": before}, separators=(",", ":"), ensure_ascii=False).encode()[:-1]
        before = hashlib.sha256(head).hexdigest()
        made += head + b',"hash":"' + before.encode() + b'"}\n'
    path.write_bytes(made)


class Unsynced(OsDisk):
    """The real disk without syncs, for tests of many openings in which no power is cut."""

    fsync = staticmethod(lambda fd: None)


class Counting(OsDisk):
    """The real disk, which counts what is asked of it."""

    def __init__(self) -> None:
        self.calls: list[str] = []

    def write(self, fd: int, data: bytes) -> int:
        self.calls.append("write")
        return os.write(fd, data)

    def fsync(self, fd: int) -> None:
        self.calls.append("fsync")
        os.fsync(fd)


# --- a line --------------------------------------------------------------------------------------------------------


def test_line_is_what_a_second_program_would_compute(tmp_path: Path) -> None:
    """A line's bytes and hash are those that `json` and `hashlib` give from the description alone."""
    path = tmp_path / "log.jsonl"
    with JobLog.open(path, ADA) as log:
        log.append([body(1, "read", typed="6,35 mm", place=None, odd=False, covers=[1, 2])])
    head = (
        '{"v":1,"n":1,"at":"2026-11-25T09:53:46+00:00","who":"ada","what":"read","typed":"6,35 mm","place":null,'
        '"odd":false,"covers":[1,2],"before":"' + "0" * 64 + '"'
    )
    wanted = hashlib.sha256(head.encode()).hexdigest()
    assert path.read_bytes() == f'{head},"hash":"{wanted}"}}\n'.encode()


@given(
    st.dictionaries(
        st.sampled_from(["typed", "note", "place", "list"]),
        st.recursive(
            st.none()
            | st.booleans()
            | st.integers(-(2**53), 2**53)
            | st.text(st.characters(exclude_categories=["Cs"])),
            lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text("abc"), inner, max_size=3),
            max_leaves=6,
        ),
    )
)
def test_line_keeps_every_value(fields: dict[str, Any]) -> None:
    """Whatever text, whole number or nesting stands in an event comes back as it was, from one line."""
    line, digest = lines.seal(body(1, **fields), 1, lines.FIRST)
    assert line.count(b"\n") == 1 and line.endswith(b"\n")
    back = json.loads(line)
    assert back.pop("hash") == digest.decode() and back.pop("before") == "0" * 64
    assert back == body(1, **fields)


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        (body(1, value=6.35), "'value' is the fraction 6.35"),
        (body(1, places=[{"value": 0.1}]), "'places.value' is the fraction 0.1"),
        (body(2), "numbered 2, and the next number here is 1"),
        ({**body(1), "n": True}, "'n' is True"),
        ({**body(1), "n": "1"}, "'n' is '1'"),
        ({**body(1), "at": "2026-11-25T09:53:46"}, "a date, a time and an offset are expected"),
        ({**body(1), "at": "25.11.2026"}, "a date, a time and an offset are expected"),
        ({**body(1), "who": ""}, "'who' is ''"),
        ({**body(1), "who": 'a"da'}, "may not stand there"),
        ({**body(1), "what": None}, "'what' is None"),
        ({"n": 1, "v": 1, "at": body(1)["at"], "who": "ada", "what": "noted"}, "do not open with v, n, at, who, what"),
        ({k: v for k, v in body(1).items() if k != "who"}, "no 'who'"),
        (body(1, hash="x"), "brings its own 'hash'"),
        (body(1, before="x"), "brings its own 'before'"),
        (body(1, text="\ud800"), "half of a character"),
        (body(1, count=2**70), "write it as text"),
        (body(1, when=NOW), "is a datetime"),
        (body(1, inner={1: "x"}), "the key 1, which is no text"),
        (body(1, text="x" * 1_000_001), "a line holds 1000000"),
        ({**body(1), "v": 2}, "in version 2, and version 1 is written"),
        ({}, "no 'v'"),
    ],
)
def test_what_is_no_event_is_refused_and_nothing_is_written(tmp_path: Path, wrong: dict[str, Any], why: str) -> None:
    """A body that cannot be an event is refused with its reason, together with the whole act, and the log goes on."""
    path = tmp_path / "log.jsonl"
    with JobLog.open(path, ADA) as log:
        with pytest.raises(Refused) as refusal:
            log.append([wrong])
        assert why in str(refusal.value)
        if wrong.get("n") == 1 and wrong["n"] is not True:
            with pytest.raises(Refused):
                log.append([body(1), {**wrong, "n": 2}])
        assert path.read_bytes() == b""
        log.append([body(1)])
    assert len(read(path).events) == 1


def test_time_without_offset_cannot_be_stamped() -> None:
    """A moment that does not say its offset is not written down as if it did."""
    moment = datetime(2026, 3, 29, 2, 30, tzinfo=timezone(timedelta(hours=-3)))
    assert lines.stamp(moment) == "2026-03-29T02:30:00-03:00"
    with pytest.raises(ValueError, match="offset"):
        lines.stamp(datetime(2026, 3, 29))


# --- appending -----------------------------------------------------------------------------------------------------


def test_append_answers_with_events_as_read(tmp_path: Path) -> None:
    """What append answers with is, to the letter, what reading the log gives, and the head is the last line's hash."""
    path = tmp_path / "log.jsonl"
    with JobLog.open(path, ADA) as log:
        kept = log.append([body(1, text="Ä"), body(2, covers=[1])]) + log.append([body(3)])
        assert log.append([]) == []
        assert (log.head, log.next_n) == (kept[-1]["hash"], 4)
    reading = read(path)
    assert reading.events == kept
    assert [list(event) for event in reading.events] == [list(event) for event in kept]
    assert (reading.head, reading.torn, reading.size) == (kept[-1]["hash"], None, path.stat().st_size)


def test_an_act_is_one_write_and_one_sync(tmp_path: Path) -> None:
    """All events of one act reach the disk in a single write and a single sync, in this order."""
    disk = Counting()
    with JobLog.open(tmp_path / "log.jsonl", ADA, disk=disk) as log:
        disk.calls.clear()
        log.append([body(n) for n in range(1, 8)])
        assert disk.calls == ["write", "fsync"]


def test_new_log_and_its_name_are_synced_before_anything_is_written(tmp_path: Path) -> None:
    """Opening a log that is not there makes the file and syncs it and its folder."""
    synced: list[str] = []

    class Watching(OsDisk):
        def fsync(self, fd: int) -> None:
            synced.append(os.readlink(f"/proc/self/fd/{fd}") if os.path.isdir("/proc/self/fd") else "?")
            os.fsync(fd)

    path = tmp_path / "log.jsonl"
    with JobLog.open(path, ADA, disk=Watching()):
        pass
    if "?" not in synced:
        assert os.fspath(path) in synced
        assert synced[-1] == os.fspath(tmp_path)
    assert read(path).events == [] and read(path).head == "0" * 64


def test_log_is_reopened_where_it_ended(tmp_path: Path) -> None:
    """Opening a log again gives what it holds, and the chain goes on from there."""
    path = tmp_path / "log.jsonl"
    first = written(path, 3)
    with JobLog.open(path, ADA) as log:
        assert log.opened.events == first and log.notices == []
        log.append([body(4)])
    assert [event["n"] for event in read(path).events] == [1, 2, 3, 4]


def test_closed_log_takes_nothing(tmp_path: Path) -> None:
    """After close, which may be called twice, an append says so and the note of the writer is gone."""
    log = JobLog.open(tmp_path / "log.jsonl", ADA)
    log.close()
    log.close()
    with pytest.raises(Failure, match="closed"):
        log.append([body(1)])
    assert os.listdir(tmp_path) == ["log.jsonl"]


@pytest.mark.parametrize("how", ["longer", "shorter", "same size", "touched", "replaced", "removed", "moved aside"])
def test_foreign_hand_stops_the_writer(tmp_path: Path, how: str) -> None:
    """When the file is not as this writer left it, the next act is refused before anything is written, for good."""
    path = tmp_path / "log.jsonl"
    written(path, 2)
    with JobLog.open(path, ADA) as log:
        log.append([body(3)])
        whole = path.read_bytes()
        if how == "longer":
            path.write_bytes(whole + b"x")
        elif how == "shorter":
            path.write_bytes(whole[:-1])
        elif how == "same size":
            os.utime(path, ns=(0, path.stat().st_mtime_ns - 20_000_000))  # the kernel's clock ticks in milliseconds
            with open(path, "r+b") as file:
                file.write(b"[")
        elif how == "touched":
            os.utime(path, (0, 0))
        elif how == "replaced":
            (tmp_path / "new").write_bytes(whole)
            os.replace(tmp_path / "new", path)
        elif how == "removed":
            path.unlink()
        else:
            os.replace(path, tmp_path / "aside")
            path.write_bytes(whole)
        before = path.read_bytes() if path.exists() else None
        when = "it is not in the log" if how == "moved aside" else "before this act; nothing of it was written"
        for _ in range(2):
            with pytest.raises(LogChanged, match="somebody else changed the log") as changed:
                log.append([body(4)])
            assert when in str(changed.value)
        assert (path.read_bytes() if path.exists() else None) == before


def test_missing_folder_and_unreadable_log_are_one_sentence(tmp_path: Path) -> None:
    """A folder that is not there and a log that is a folder are said in a sentence with the path."""
    with pytest.raises(Failure, match="there is no folder"):
        JobLog.open(tmp_path / "gone" / "log.jsonl", ADA)
    (tmp_path / "log.jsonl").mkdir()
    with pytest.raises(Failure, match="opened for writing: it is a folder"):
        JobLog.open(tmp_path / "log.jsonl", ADA)
    with pytest.raises(Failure, match="cannot be read"):
        read(tmp_path / "log.jsonl")
    with pytest.raises(Failure, match="it is not there"):
        read(tmp_path / "no.jsonl")


# --- the head kept outside -----------------------------------------------------------------------------------------


def test_lines_missing_at_the_end_show_only_against_a_head_kept_outside(tmp_path: Path) -> None:
    """A log cut at the end of a line reads as sound; only a head kept elsewhere shows what is missing."""
    path = tmp_path / "log.jsonl"
    events = written(path, 5)
    cut = path.read_bytes().splitlines(keepends=True)
    for left in range(5):
        path.write_bytes(b"".join(cut[:left]))
        assert len(read(path).events) == left
        with pytest.raises(HeadNotFound, match="lines are missing at its end"):
            verify(path, events[-1]["hash"])
    path.write_bytes(b"".join(cut))
    assert verify(path, events[-1]["hash"])[1] == 5
    assert verify(path, events[2]["hash"][:16].upper())[1] == 3, "an older sheet's short head is found further up"
    assert verify(path, "0" * 64)[1] == 0
    with pytest.raises(Failure, match="is no head"):
        verify(path, "abc")


def test_chain_made_anew_shows_only_against_a_head_kept_outside(tmp_path: Path) -> None:
    """Somebody who can write the folder can make all hashes anew; the head on the owner's sheet tells."""
    path = tmp_path / "log.jsonl"
    head = written(path, 3)[-1]["hash"]
    remade(path, [body(n, text="another story") for n in (1, 2, 3)])
    assert len(read(path, strict=True).events) == 3
    with pytest.raises(HeadNotFound, match="made anew"):
        verify(path, head)


# --- versions ------------------------------------------------------------------------------------------------------


def test_old_events_are_lifted_step_by_step(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An event written two versions ago reads as the version of today, and keeps its number and hashes."""
    path = tmp_path / "log.jsonl"
    with JobLog.open(path, ADA) as log:
        old = log.append([body(1, "weighed", grams="12"), body(2)])
    monkeypatch.setitem(LIFTS, ("weighed", 1), lambda e: {**e, "weight": e["grams"], "n": 99})
    monkeypatch.setitem(LIFTS, ("weighed", 2), lambda e: {**{k: v for k, v in e.items() if k != "grams"}, "unit": "g"})
    lifted, other = read(path).events
    assert {k: lifted[k] for k in ("v", "n", "weight", "unit")} == {"v": 3, "n": 1, "weight": "12", "unit": "g"}
    assert "grams" not in lifted and lifted["hash"] == old[0]["hash"] and other == old[1]
    with JobLog.open(path, ADA) as log:
        with pytest.raises(Refused, match="version 1, and version 3 is written"):
            log.append([body(3, "weighed")])
        log.append([{**body(3, "weighed", weight="1"), "v": 3}])
    assert [event["v"] for event in read(path).events] == [3, 1, 3]


def test_event_of_a_later_benchwalk_is_said_plainly(tmp_path: Path) -> None:
    """A log with an event newer than this program is not half read: the sentence names line, kind and versions."""
    path = tmp_path / "log.jsonl"
    remade(path, [body(1), {**body(2, "weighed"), "v": 4}])
    with pytest.raises(NewerLog, match="'weighed' in version 4, and this Benchwalk knows it up to version 1") as said:
        read(path)
    assert said.value.line == 2
    with pytest.raises(NewerLog):
        JobLog.open(path, ADA)


def test_gap_in_the_steps_is_said_plainly(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A version that can no longer be lifted is named instead of being read wrongly."""
    path = tmp_path / "log.jsonl"
    remade(path, [body(1, "weighed")])
    monkeypatch.setitem(LIFTS, ("weighed", 2), dict)
    with pytest.raises(DamagedLog, match="version 1, which this Benchwalk no longer reads"):
        read(path)


def test_clock_set_back_leaves_the_order(tmp_path: Path) -> None:
    """Events are in the order of their numbers, whatever their times say."""
    path = tmp_path / "log.jsonl"
    times = ["2026-10-25T02:59:59+02:00", "2026-10-25T02:00:00+01:00", "2020-01-01T00:00:00-00:00"]
    with JobLog.open(path, ADA) as log:
        for n, at in enumerate(times, 1):
            log.append([{**body(n), "at": at}])
    assert [event["at"] for event in read(path).events] == times
