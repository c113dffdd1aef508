"""A disk that fails, fills, or loses power at every single point: what was acknowledged stays, and nothing lies."""

from __future__ import annotations

import errno
import json
import os
import resource
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from benchwalk.errors import BenchwalkError, Failure
from benchwalk.job.disk import OsDisk
from benchwalk.job.lock import look, note_path
from benchwalk.job.log import JobLog, NotConfirmed, NothingKept, read
from test_log import ADA, Unsynced, body, written

ACTS = [[1], [2, 3], [4], [5, 6, 7], [8]]  # the numbers of the events of each act


class Failing(OsDisk):
    """The real disk, of which the `at`-th call of the kinds named fails, and with `on` every later one too."""

    def __init__(self, kinds: set[str], at: int, error: int, *, on: bool = False, short: int | None = None) -> None:
        self.kinds, self.at, self.error, self.on, self.short = kinds, at, error, on, short
        self.count = 0

    def _fails(self, kind: str) -> bool:
        if kind not in self.kinds:
            return False
        self.count += 1
        return self.count == self.at or (self.on and self.count > self.at)

    def write(self, fd: int, data: bytes) -> int:
        if (self.short is None or data.startswith(b'{"v"')) and self._fails("write"):
            if self.short is not None:
                return os.write(fd, data[: self.short])
            raise OSError(self.error, os.strerror(self.error))
        return os.write(fd, data)

    def fsync(self, fd: int) -> None:
        if self._fails("fsync"):
            raise OSError(self.error, os.strerror(self.error))
        os.fsync(fd)

    def ftruncate(self, fd: int, length: int) -> None:
        if self._fails("ftruncate"):
            raise OSError(self.error, os.strerror(self.error))
        os.ftruncate(fd, length)


@dataclass
class Outcome:
    """What a run of acts was told: the acknowledged events, and the first failure with the act it struck."""

    acknowledged: list[dict[str, Any]] = field(default_factory=list)
    failure: BenchwalkError | None = None
    struck: list[int] = field(default_factory=list)
    finished: bool = False


def run(path: Path, disk: OsDisk) -> Outcome:
    """Open the log and append all acts until one fails."""
    told = Outcome()
    try:
        with JobLog.open(path, ADA, disk=disk) as log:
            for act in ACTS:
                try:
                    told.acknowledged += log.append([body(n) for n in act])
                except Failure as failure:
                    told.failure, told.struck = failure, act
                    again = [body(log.next_n)]
                    if isinstance(failure, NotConfirmed):
                        with pytest.raises(NotConfirmed) as repeated:
                            log.append(again)
                        assert str(repeated.value) == str(failure)
                    return told
    except Failure as failure:
        told.failure = failure
        return told
    told.finished = True
    return told


def every_call(make: Callable[[int], Failing], tmp_path: Path) -> Iterator[tuple[Path, Outcome, Failing]]:
    """Run the acts with the fault at call 1, 2, 3 ... until a run meets none."""
    for at in range(1, 60):
        path = tmp_path / f"{at}" / "log.jsonl"
        path.parent.mkdir()
        disk = make(at)
        told = run(path, disk)
        yield path, told, disk
        if told.finished:
            assert at > len(ACTS), "the fault struck too seldom"
            return
    pytest.fail("the runs never came to an end")


def test_failed_sync_at_every_call_is_never_taken_for_kept(tmp_path: Path) -> None:
    """Whichever sync fails, the act is called unconfirmed, this writer stops for good, and what was confirmed reads."""
    struck = 0
    for path, told, _ in every_call(lambda at: Failing({"fsync"}, at, errno.EIO), tmp_path):
        if told.finished:
            continue
        assert isinstance(told.failure, Failure)
        if told.struck:
            struck += 1
            assert isinstance(told.failure, NotConfirmed)
            assert "written but was never confirmed" in str(told.failure)
        found = read(path).events if path.exists() else []
        assert found[: len(told.acknowledged)] == told.acknowledged
    assert struck == len(ACTS)


def test_next_writer_writes_again_what_was_never_confirmed(tmp_path: Path) -> None:
    """After a failed sync the system may hold bytes the disk lacks: the next writer writes them anew, and says so."""
    path = tmp_path / "log.jsonl"
    before = written(path, 2)
    size = path.stat().st_size
    log = JobLog.open(path, ADA, disk=(disk := Failing({"fsync"}, 0, errno.EIO)))
    disk.at = disk.count + 1
    with pytest.raises(NotConfirmed):
        log.append([body(3)])
    log.close()
    note, _ = look(note_path(os.fspath(path)))
    assert note is not None and note.unconfirmed == size, "word is left for the next writer"

    rewritten: list[tuple[int, bytes]] = []

    class Watching(OsDisk):
        def write(self, fd: int, data: bytes) -> int:
            rewritten.append((os.lseek(fd, 0, os.SEEK_CUR), data))
            return os.write(fd, data)

    whole = path.read_bytes()
    with JobLog.open(path, ADA, disk=Watching()) as again:
        assert (size, whole[size:]) in rewritten
        said = "the last writer could not confirm what it wrote; it was written again and is confirmed now"
        assert again.notices == [said]
        assert again.opened.events[:2] == before and again.next_n == 4
        again.append([body(4)])
    assert not os.path.exists(note_path(os.fspath(path)))
    with JobLog.open(path, ADA) as third:
        assert third.notices == []


def test_word_of_the_unconfirmed_outlives_a_writer_that_also_fails(tmp_path: Path) -> None:
    """If writing again fails too, the one after the next still knows from where on nothing is sure."""
    path = tmp_path / "log.jsonl"
    written(path, 2)
    size = path.stat().st_size
    log = JobLog.open(path, ADA, disk=(disk := Failing({"fsync"}, 0, errno.EIO)))
    disk.at = disk.count + 1
    with pytest.raises(NotConfirmed):
        log.append([body(3)])
    log.close()
    kept = 0
    for at in range(1, 20):
        try:
            JobLog.open(path, ADA, disk=Failing({"fsync", "write"}, at, errno.EIO)).close()
        except Failure as failure:
            note, there = look(note_path(os.fspath(path)))
            if not there:  # all was written again and confirmed, and only the new note could not be kept
                assert "the note of who is writing" in str(failure)
                break
            assert note is not None and note.unconfirmed == size
            kept += 1
    assert kept >= 5
    assert len(read(path).events) == 3


@pytest.mark.parametrize("error", [errno.ENOSPC, errno.EDQUOT, errno.EIO])
def test_full_disk_at_every_write_keeps_nothing_of_the_act_and_goes_on(tmp_path: Path, error: int) -> None:
    """Whichever write fails, nothing of that act is in the file, all before it is, and the next act is taken."""
    for path, told, disk in every_call(lambda at: Failing({"write"}, at, error), tmp_path):
        if told.finished or not told.struck:
            continue
        assert isinstance(told.failure, NothingKept)
        assert "nothing of this act was kept" in str(told.failure)
        assert read(path).events == told.acknowledged and read(path).torn is None
        disk.at = 0
        assert run_on(path, told, disk) == 8


def run_on(path: Path, told: Outcome, disk: OsDisk) -> int:
    """Append what is missing with the same disk, now well; how many events there are then."""
    with JobLog.open(path, ADA, disk=disk) as log:
        for n in range(len(told.acknowledged) + 1, 9):
            log.append([body(n)])
    return len(read(path).events)


def test_same_writer_goes_on_after_space_was_made(tmp_path: Path) -> None:
    """A full disk does not end the writer: once there is room, the very same act is kept under the same number."""
    path = tmp_path / "log.jsonl"
    with JobLog.open(path, ADA, disk=(disk := Failing({"write"}, 0, errno.ENOSPC, short=100))) as log:
        log.append([body(1)])
        disk.at = disk.count + 1
        with pytest.raises(NothingKept, match="took only 100 of"):
            log.append([body(2), body(3)])
        log.append([body(2), body(3)])
    assert [event["n"] for event in read(path).events] == [1, 2, 3]


@pytest.mark.parametrize("short", [0, 1, 100, 200])
def test_short_write_at_every_call_is_cut_back(tmp_path: Path, short: int) -> None:
    """A write that took only a part leaves no part behind, wherever it was cut."""
    for path, told, _ in every_call(lambda at: Failing({"write"}, at, 0, short=short), tmp_path):
        if told.struck:
            assert isinstance(told.failure, NothingKept) and f"took only {short} of" in str(told.failure)
            assert read(path).events == told.acknowledged and read(path).torn is None


@pytest.mark.parametrize("cut_fails", [{"ftruncate"}, {"fsync"}])
def test_part_that_cannot_be_cut_off_is_said_and_ends_the_writer(tmp_path: Path, cut_fails: set[str]) -> None:
    """If a part of an act can neither be finished nor cut off, that is said, and the next opening sets it aside."""
    path = tmp_path / "log.jsonl"
    written(path, 2)

    class Broken(OsDisk):
        broken = False

        def write(self, fd: int, data: bytes) -> int:
            return os.write(fd, data[:50] if self.broken else data)

        def ftruncate(self, fd: int, length: int) -> None:
            if self.broken and "ftruncate" in cut_fails:
                raise OSError(errno.EIO, "I/O error")
            os.ftruncate(fd, length)

        def fsync(self, fd: int) -> None:
            if self.broken and "fsync" in cut_fails:
                raise OSError(errno.EIO, "I/O error")
            os.fsync(fd)

    log = JobLog.open(path, ADA, disk=(disk := Broken()))
    disk.broken = True
    for _ in range(2):
        with pytest.raises(NothingKept, match="could not be cut off"):
            log.append([body(3)])
    log.close()
    with JobLog.open(path, ADA) as again:
        assert len(again.opened.events) == 2 and again.next_n == 3
        assert len(again.notices) == ("ftruncate" in cut_fails)


def test_interrupted_append_ends_the_writer(tmp_path: Path) -> None:
    """A signal that strikes between write and sync never leaves the writer believing either."""
    path = tmp_path / "log.jsonl"

    class Interrupted(OsDisk):
        now = False

        def fsync(self, fd: int) -> None:
            if self.now:
                raise KeyboardInterrupt
            os.fsync(fd)

    with JobLog.open(path, ADA, disk=(disk := Interrupted())) as log:
        disk.now = True
        with pytest.raises(KeyboardInterrupt):
            log.append([body(1)])
        disk.now = False
        with pytest.raises(Failure, match="interrupted while it was being written"):
            log.append([body(1)])


CEILING = """
import resource, signal, sys, os
from benchwalk.errors import Failure
from benchwalk.job.log import JobLog
sys.path.insert(0, sys.argv[2])
from test_log import ADA, body
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
with JobLog.open(sys.argv[1], ADA) as log:
    log.append([body(1)])
    resource.setrlimit(resource.RLIMIT_FSIZE, (os.path.getsize(sys.argv[1]) + 100, resource.RLIM_INFINITY))
    for _ in range(2):
        try:
            log.append([body(2)])
        except Failure as failure:
            print(type(failure).__name__, failure.message)
    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    log.append([body(2)])
"""


def test_the_kernels_own_short_write(tmp_path: Path) -> None:
    """With a real ceiling on the file's size the kernel takes a part of an act: it is cut back, and work goes on."""
    path = tmp_path / "log.jsonl"
    command = [sys.executable, "-c", CEILING, str(path), str(Path(__file__).parent)]
    ran = subprocess.run(command, capture_output=True, text=True, check=True)
    told = ran.stdout.splitlines()
    assert len(told) == 2 and all(line.startswith("NothingKept nothing of this act was kept") for line in told)
    assert "took only 100 of" in told[0]
    assert [event["n"] for event in read(path).events] == [1, 2]
    assert resource.getrlimit(resource.RLIMIT_FSIZE)[0] == resource.RLIM_INFINITY


# --- killed at every call ------------------------------------------------------------------------------------------

KILLED = """
import json, os, signal, sys
from benchwalk.job.disk import OsDisk
from benchwalk.job.log import JobLog
sys.path.insert(0, sys.argv[2])
from test_log import ADA, body

class Deadly(OsDisk):
    def __init__(self, at): self.left = at
    def _tick(self):
        self.left -= 1
        if not self.left: os.kill(os.getpid(), signal.SIGKILL)
    def open(self, path, flags, mode=0o666): self._tick(); return os.open(path, flags, mode)
    def write(self, fd, data): self._tick(); done = os.write(fd, data); self._tick(); return done
    def fsync(self, fd): self._tick(); self._tick()
    def ftruncate(self, fd, length): self._tick(); os.ftruncate(fd, length); self._tick()
    def fstat(self, fd): self._tick(); return os.fstat(fd)
    def stat(self, path): self._tick(); return os.stat(path)
    def replace(self, old, new): self._tick(); os.replace(old, new); self._tick()

def work(path, at, told):
    with JobLog.open(path, ADA, disk=Deadly(at)) as log:
        while log.next_n <= 30:
            last = log.append([body(log.next_n)])[-1]
            os.write(told, b"%d " % last["n"])

runs = []
for at in range(1, 1000):
    folder = os.path.join(sys.argv[1], str(at))
    os.mkdir(folder)
    reads, writes = os.pipe()
    child = os.fork()
    if not child:
        work(os.path.join(folder, "log.jsonl"), at, writes)
        os._exit(0)
    os.close(writes)
    told = b""
    while part := os.read(reads, 4096): told += part
    os.close(reads)
    _, status = os.waitpid(child, 0)
    runs.append([folder, told.decode().split(), status])
    if status == 0: break
print(json.dumps(runs))
"""


def test_killed_at_every_call_of_thirty_events(tmp_path: Path) -> None:
    """A process killed before or after any call to the system leaves a log that opens, with all that was acknowledged.

    What it was told is a prefix of what is there, at most one act longer; nobody is locked out; work can go on.
    """
    command = [sys.executable, "-c", KILLED, str(tmp_path), str(Path(__file__).parent)]
    ran = subprocess.run(command, capture_output=True, text=True, check=True)
    runs = json.loads(ran.stdout)
    assert len(runs) > 30 * 5 and runs[-1][2] == 0 and all(status == 9 for *_, status in runs[:-1])
    for folder, told, _ in runs:
        acknowledged = [int(n) for n in told]
        assert acknowledged == list(range(1, len(acknowledged) + 1))
        with JobLog.open(Path(folder) / "log.jsonl", ADA, disk=Unsynced()) as log:
            assert len(log.opened.events) - len(acknowledged) in (0, 1)
            log.append([body(log.next_n)])
        left = {name for name in os.listdir(folder) if not name.startswith(".")}
        assert left == {"log.jsonl"}


# --- power cut -----------------------------------------------------------------------------------------------------


class Remembering(Unsynced):
    """A disk which remembers what the log had been synced to, and what came after."""

    def __init__(self) -> None:
        self.states: list[tuple[bytes, bytes, int]] = []  # synced bytes, bytes not synced yet, events acknowledged
        self.synced = b""
        self.acknowledged = 0

    def write(self, fd: int, data: bytes) -> int:
        if data.startswith(b'{"v"'):
            self.states.append((self.synced, data, self.acknowledged))
            self.pending = data
        return os.write(fd, data)


def test_power_cut_with_any_part_of_an_act_on_disk(tmp_path: Path) -> None:
    """Whatever part of an unsynced act the disk kept, or zeros in its place, all that was acknowledged opens again."""
    source = tmp_path / "source.jsonl"
    disk = Remembering()
    with JobLog.open(source, ADA, disk=disk) as log:
        for act in ACTS:
            log.append([body(n) for n in act])
            disk.acknowledged = act[-1]
            disk.synced = source.read_bytes()
    path = tmp_path / "log.jsonl"
    checked = 0
    for synced, lost, acknowledged in disk.states:
        edges = [at for at in range(1, len(lost)) if (len(synced) + at) % 512 == 0 or lost[at - 1 : at] == b"\n"]
        cuts = [(kept, b"") for kept in range(0, len(lost), 3)]
        for kept, tail in [*cuts, *((at, b"\0" * (len(lost) - at)) for at in (0, *edges))]:
            path.write_bytes(synced + lost[:kept] + tail)
            for old in tmp_path.glob("log.torn-*"):
                old.unlink()
            with JobLog.open(path, ADA, disk=Unsynced()) as log:
                assert len(log.opened.events) >= acknowledged
                assert path.read_bytes() == (synced + lost)[: log.opened.size]
                aside = b"".join(file.read_bytes() for file in tmp_path.glob("log.torn-*"))
                assert path.read_bytes() + aside == synced + lost[:kept] + tail, "nothing is thrown away"
            checked += 1
    assert checked > 600
