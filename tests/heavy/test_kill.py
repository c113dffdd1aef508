"""kill -9 after each event of a whole flagship walk: what was written stands, and the walk ends as if nothing was."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from benchwalk.job.log import read
from benchwalk.job.shop import Shop
from benchwalk.plain.walk import PlainWalk
from benchwalk.proof.rehearse import readings_data
from benchwalk.session import Session
from benchwalk.walk.fold import replay
from shop_helpers import (
    APPRENTICE,
    MORNING,
    Clock,
    Hand,
    Typed,
    bare,
    begin,
    benchwalk,
    events,
    flagship,
    fresh_shop,
    resume,
)

pytestmark = pytest.mark.heavy

CHUNKS = 8
"""Into so many tests the events are dealt, so that two cores have work."""
TORN_EVERY = 7
"""After each so many events the kill strikes in the middle of the next line instead of between two."""
REFERS = ("of", "took", "against", "sources", "evidence", "covers", "reads", "touches", "again", "sign_off", "n")
"""Fields that name other events by number."""


def type_on(session: Session) -> int:
    """Type the usual answers from where the session stands to the end; the exit code."""
    hand = Hand(flagship())
    hand.walk = PlainWalk(session, Typed(hand))
    with session:
        return hand.walk.go()


def soon(shop: Shop) -> Session:
    """The job taken up a few minutes after the kill, while a time that runs still does."""
    return resume(shop, "J-0001", clock=Clock(MORNING + timedelta(minutes=15)))


@pytest.fixture
def quick(tmp_path: Path) -> Iterator[Path]:
    """A folder in memory where there is one: a kill takes nothing that the system has, whatever the disk."""
    memory = Path("/dev/shm")
    if not os.access(memory, os.W_OK):
        yield tmp_path
        return
    with tempfile.TemporaryDirectory(dir=memory) as folder:
        yield Path(folder)


@cache
def uninterrupted() -> list[dict[str, Any]]:
    """The events of the walk that nothing strikes."""
    with tempfile.TemporaryDirectory() as folder:
        shop = fresh_shop(Path(folder))
        assert type_on(begin(shop)) == 0
        return events(shop, "J-0001")


def killed_after(shop: Shop, count: int, torn: bool) -> None:
    """Walk in a process of its own that is killed with -9 once so many events (and, torn, half of the next) stand."""
    child = os.fork()
    if child == 0:
        try:
            session = begin(shop)
            write, written = session.log._write, [len(session.events)]

            def struck(fd: int, data: bytes) -> int:
                lines = data.splitlines(keepends=True)
                if written[0] + len(lines) < count or (torn and written[0] + len(lines) == count):
                    written[0] += len(lines)
                    return write(fd, data)
                kept = b"".join(lines[: count - written[0]])
                following = lines[count - written[0] : count - written[0] + 1]
                write(fd, kept + (following[0][: len(following[0]) // 2] if torn and following else b""))
                os.kill(os.getpid(), signal.SIGKILL)
                return 0

            session.log._write = struck
            type_on(session)
        finally:
            os._exit(17)
    _pid, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL


def without_the_break(found: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Events without those that only say that work was broken off, numbered anew."""
    kept, acknowledged = [], set()
    for event in found:
        again = event["what"] == "acknowledged" and event["visit"] in acknowledged
        if event["what"] == "acknowledged":
            acknowledged.add(event["visit"])
        if not again and event["what"] not in ("paused", "resumed", "place_checked"):
            kept.append(event)
    number = {event["n"]: n for n, event in enumerate(kept, 1)}

    def renumbered(value: Any, key: str = "") -> Any:
        if isinstance(value, dict):
            return {inner: renumbered(each, inner) for inner, each in value.items()}
        if isinstance(value, list):
            return [renumbered(each, key) for each in value]
        refers = key in REFERS and isinstance(value, int) and not isinstance(value, bool)
        return number.get(value, value) if refers else value

    return [renumbered(event) for event in bare(kept)]


@pytest.mark.parametrize("chunk", range(CHUNKS))
def test_walk_goes_on_after_a_kill_at_each_event(quick: Path, chunk: int) -> None:
    """Killed after (or in the midst of) any event, the log holds what stood, and the walk ends with the same record."""
    whole = uninterrupted()
    expected, end = without_the_break(whole), replay(whole)
    for count in range(1 + chunk + 1, len(whole), CHUNKS):  # the first event opens the job
        torn = count % TORN_EVERY == 0
        place = quick / str(count)
        shop = fresh_shop(place)
        killed_after(shop, count, torn)
        reading = read(shop.job("J-0001").log)
        assert (reading.torn is not None) == torn, count
        assert bare(reading.events) == bare(whole[:count]), count
        assert type_on(soon(shop)) == 0, count
        found = events(shop, "J-0001")
        assert without_the_break(found) == expected, count
        state = replay(found)
        assert state.released and state.ended and end.ended, count
        assert state.ended["outcome"] == end.ended["outcome"], count
        assert readings_data(state) == readings_data(end), count
        shutil.rmtree(place)


@pytest.mark.parametrize("count", [2, 11, 40, 90, 170, 240])
def test_program_that_is_killed_goes_on_where_it_stood(tmp_path: Path, count: int) -> None:
    """The program itself, walking answers from a pipe and killed with -9, is gone on with by its own command."""
    shop = fresh_shop(tmp_path)
    session = begin(shop)
    hand = Hand(flagship())
    talk = Typed(hand)
    hand.walk = PlainWalk(session, talk)
    with session:
        hand.walk.go()
    target = fresh_shop(tmp_path / "killed")
    command = [sys.executable, "-m", "benchwalk", "--shop", str(target.root), "walk", "retie-snare-cords", "--practice"]
    process = subprocess.Popen(
        [*command, "--who", APPRENTICE, "--plain", "--drum", "diameter=14 in"],
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
    )
    assert process.stdin is not None
    log = target.jobs_folder / "J-0001" / "log.jsonl"
    process.stdin.write("".join(f"{line}\n" for line in talk.lines).encode())
    process.stdin.flush()
    deadline = time.monotonic() + 30
    while not (log.exists() and log.read_bytes().count(b"\n") >= count):
        assert process.poll() is None and time.monotonic() < deadline
    process.kill()
    process.wait()
    before = events(target, "J-0001")
    assert len(before) >= count
    ran = benchwalk("walk", "--job", "J-0001", "--who", "tam", "--plain", shop=target.root)
    assert ran.returncode == 0 and "Traceback" not in ran.stderr
    after = events(target, "J-0001")
    assert after[: len(before)] == before
    assert type_on(soon(target)) == 0
    assert without_the_break(events(target, "J-0001")) == without_the_break(events(shop, "J-0001"))
