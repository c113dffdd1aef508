"""One writer at a time: real processes, real locks, a real kill."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, replace
from pathlib import Path

import pytest

from benchwalk.errors import Failure
from benchwalk.job.lock import Holder, look, note_path
from benchwalk.job.log import HeldElsewhere, JobLog, LogChanged, read
from test_log import ADA, NOW, body, written

RACER = """
import json, sys
from benchwalk.job.log import HeldElsewhere, Holder, JobLog
sys.path.insert(0, sys.argv[2])
from test_log import NOW, Unsynced, body
me = Holder.here(sys.argv[3], NOW)
print("ready", flush=True)
for order in sys.stdin:
    n = int(order)
    try:
        with JobLog.open(sys.argv[1], me, disk=Unsynced()) as log:
            if log.next_n == n:
                log.append([body(n) | {"who": me.who}])
                told = "wrote"
            else:
                told = "done already"
    except HeldElsewhere as held:
        told = str(held)
    print(json.dumps(told), flush=True)
"""

HOLDING = """
import sys
from benchwalk.job.log import Holder, JobLog
sys.path.insert(0, sys.argv[2])
from test_log import NOW, body
log = JobLog.open(sys.argv[1], Holder.here("bo", NOW))
log.append([body(log.next_n)])
print("held", flush=True)
sys.stdin.read()
"""


@contextmanager
def process(code: str, *arguments: str) -> Iterator[subprocess.Popen[str]]:
    """A Python process running `code`, ended afterwards whatever happens."""
    command = [sys.executable, "-c", code, *arguments]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as child:
        try:
            yield child
        finally:
            child.kill()


def said(child: subprocess.Popen[str]) -> str:
    """The next line a process says."""
    assert child.stdout is not None
    return child.stdout.readline().strip()


def test_five_hundred_races_of_two_processes(tmp_path: Path) -> None:
    """Two processes race for each of 500 events: each number stands once, and the loser is told who is writing."""
    path, here = tmp_path / "log.jsonl", str(Path(__file__).parent)
    told: dict[str, int] = {}
    with process(RACER, str(path), here, "ada") as one, process(RACER, str(path), here, "bo") as two:
        racers = (one, two)
        assert [said(child) for child in racers] == ["ready", "ready"]
        for n in range(1, 501):
            for child in racers:
                assert child.stdin is not None
                child.stdin.write(f"{n}\n")
                child.stdin.flush()
            answers = [json.loads(said(child)) for child in racers]
            assert answers.count("wrote") == 1, answers
            [other] = [answer for answer in answers if answer != "wrote"]
            if other != "done already":
                assert "this is being written by" in other and "wait, or close it there" in other
                other = "held"
            told[other] = told.get(other, 0) + 1
    events = read(path).events
    assert [event["n"] for event in events] == list(range(1, 501))
    assert {event["who"] for event in events} == {"ada", "bo"}, "both won some"
    assert told.get("held", 0) > 0, "they never met"


def test_second_writer_is_told_who_holds_it_where_and_since_when(tmp_path: Path) -> None:
    """While somebody writes, the second is refused with person, machine, process and time; reading goes on."""
    path = tmp_path / "log.jsonl"
    with JobLog.open(path, ADA) as log:
        log.append([body(1)])
        with pytest.raises(HeldElsewhere) as held:
            JobLog.open(path, Holder.here("bo", NOW))
        host, pid = os.uname().nodename, os.getpid()
        assert f"being written by ada on {host} (process {pid}) since 2026-11-25T09:53:46+00:00" in str(held.value)
        assert held.value.holder == ADA and held.value.exit_code == 1
        assert len(read(path).events) == 1
        log.append([body(2)])
    with JobLog.open(path, Holder.here("bo", NOW)) as log:
        assert log.next_n == 3


def test_killed_holder_locks_nobody_out(tmp_path: Path) -> None:
    """After kill -9 of the writer the job opens at once, without a question, with all that was confirmed."""
    path = tmp_path / "log.jsonl"
    with process(HOLDING, str(path), str(Path(__file__).parent)) as child:
        assert said(child) == "held"
        with pytest.raises(HeldElsewhere, match=f"bo on .* \\(process {child.pid}\\)"):
            JobLog.open(path, ADA)
        os.kill(child.pid, signal.SIGKILL)
        child.wait()
        left, _ = look(note_path(os.fspath(path)))
        assert left is not None and left.who == "bo", "the dead holder's note is still there"
        with JobLog.open(path, ADA) as log:
            assert len(log.opened.events) == 1 and log.taken_over is None and log.notices == []
            now, _ = look(note_path(os.fspath(path)))
            assert now == ADA


def test_patience_waits_for_the_other_to_finish(tmp_path: Path) -> None:
    """With patience, a writer that ends in the meantime is waited for; without, the answer comes at once."""
    path = tmp_path / "log.jsonl"
    with process(HOLDING, str(path), str(Path(__file__).parent)) as child:
        assert said(child) == "held"
        with pytest.raises(HeldElsewhere):
            JobLog.open(path, ADA, patience=0.05)
        assert child.stdin is not None
        child.stdin.close()
        with JobLog.open(path, ADA, patience=10) as log:
            assert log.next_n == 2


@pytest.mark.parametrize("other", [{"host": "bench-2"}, {"machine": "0123456789ab"}])
def test_holder_on_another_machine_is_never_presumed_dead(tmp_path: Path, other: dict[str, str]) -> None:
    """A note from another machine stops everybody, even with the lock free, until somebody takes over with a reason."""
    path = tmp_path / "log.jsonl"
    written(path, 1)
    foreign = replace(Holder.here("bo", NOW), **other)
    note = Path(note_path(os.fspath(path)))
    note.write_text(json.dumps(asdict(foreign)))
    for reason in (None, "", "  "):
        with pytest.raises(HeldElsewhere, match="take it over with a reason") as held:
            JobLog.open(path, ADA, take_over=reason)
        assert held.value.holder == foreign
        assert json.loads(note.read_text()) == asdict(foreign)
    with JobLog.open(path, ADA, take_over="bench-2 was unplugged") as log:
        assert log.taken_over == foreign
        log.append([body(2)])
    assert not note.exists()


def test_reason_does_not_take_a_lock_that_is_held(tmp_path: Path) -> None:
    """Taking over is for notes that cannot be tested; a living writer on this machine keeps the log."""
    path = tmp_path / "log.jsonl"
    with JobLog.open(path, ADA), pytest.raises(HeldElsewhere, match="being written by ada"):
        JobLog.open(path, Holder.here("bo", NOW), take_over="I want it")


@pytest.mark.parametrize("note", [b"", b"{", b"[]", b'{"who": 1}', b"\xff", b'{"who":"bo","host":"x"}'])
def test_note_that_cannot_be_read_is_not_presumed_stale(tmp_path: Path, note: bytes) -> None:
    """A broken note may be another machine's: it too needs a reason."""
    path = tmp_path / "log.jsonl"
    written(path, 1)
    Path(note_path(os.fspath(path))).write_bytes(note)
    with pytest.raises(HeldElsewhere, match="somebody whose note cannot be read"):
        JobLog.open(path, ADA)
    with JobLog.open(path, ADA, take_over="looked, nobody is there"):
        pass


def test_writer_that_was_taken_over_writes_no_more(tmp_path: Path) -> None:
    """Where the lock did not reach, the first writer notices at its next act that somebody else wrote, and stops."""
    path = tmp_path / "log.jsonl"
    written(path, 1)
    with JobLog.open(path, ADA) as log:
        copy = path.read_bytes()
        with JobLog.open(tmp_path / "elsewhere.jsonl", ADA) as other:
            other.append([body(1), body(2)])
        with open(path, "ab") as unlocked:
            unlocked.write(b"{}\n")
        with pytest.raises(LogChanged):
            log.append([body(2)])
        assert path.read_bytes() == copy + b"{}\n"


def test_closing_leaves_another_holders_note(tmp_path: Path) -> None:
    """A writer that ends removes its own note and nobody else's."""
    path = tmp_path / "log.jsonl"
    note = Path(note_path(os.fspath(path)))
    foreign = json.dumps(asdict(replace(ADA, host="bench-2")))
    with JobLog.open(path, ADA):
        note.write_text(foreign)
    assert note.read_text() == foreign


def test_each_log_of_a_folder_has_a_note_of_its_own() -> None:
    """The people's log and a job's log never share a note."""
    assert note_path("/s/jobs/J-0001/log.jsonl") == "/s/jobs/J-0001/writer.json"
    assert note_path("/s/people.jsonl") == "/s/people.writer.json"


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write everywhere")
def test_folder_that_cannot_be_written_is_one_sentence(tmp_path: Path) -> None:
    """Opening a job for work in a read-only folder says so; reading it still goes."""
    path = tmp_path / "log.jsonl"
    written(path, 1)
    os.chmod(tmp_path, 0o500)
    try:
        with pytest.raises(Failure, match="cannot be kept"):
            JobLog.open(path, ADA)
        assert len(read(path).events) == 1
    finally:
        os.chmod(tmp_path, 0o700)
