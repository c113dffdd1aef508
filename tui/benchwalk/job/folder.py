"""One job's folder: its log, the procedure texts it was worked to and its recordings and pictures, both by hash."""

from __future__ import annotations

import contextlib
import os
import threading
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from ..errors import Failure
from . import words
from .disk import DISK, Disk, said, sync_folder, write_whole

_CHUNK = 1 << 20
MOST_BYTES = 200_000_000  # of one recording or picture


@dataclass(frozen=True, slots=True)
class JobFolder:
    """The folder of one job and the places in it."""

    id: str
    path: Path

    @property
    def log(self) -> Path:
        """The job's log."""
        return self.path / "log.jsonl"

    @property
    def texts(self) -> Path:
        """The procedure texts worked to, each named by its hash."""
        return self.path / "texts"

    @property
    def files(self) -> Path:
        """Recordings and pictures, each named by its hash."""
        return self.path / "files"

    @property
    def owner(self) -> Path:
        """The owner's personal facts, which can be removed."""
        return self.path / "owner.yaml"


NOT_OPENED = "never opened: nothing is in its log, and unless somebody knows of work on it, its folder may be deleted"
"""What is told of a job's folder that was made and never had an event."""


def never_opened(job: JobFolder) -> bool:
    """Whether this folder was made and the work ended before its first event (a power cut, a kill).

    The log is begun before anything is put beside it, so texts without a log are those of a log that is gone.
    """
    try:
        if job.log.stat().st_size:
            return False
        beside = [job.files]
    except FileNotFoundError:
        beside = [job.files, job.texts]
    except OSError:
        return False
    return not any(_holds_something(folder) for folder in beside)


def _holds_something(folder: Path) -> bool:
    try:
        return any(not name.startswith(".") for name in os.listdir(folder))
    except FileNotFoundError:
        return False
    except OSError:
        return True


def pin_text(job: JobFolder, data: bytes, disk: Disk = DISK) -> str:
    """Keep a procedure's text with the job, exactly; the hash it is found by. Raises Failure."""
    name = sha256(data).hexdigest()
    path = job.texts / f"{name}.yaml"
    if not _holds(path, name):
        _put(path, data, "the procedure's text", disk)
    return name


def load_text(job: JobFolder, name: str) -> bytes:
    """A procedure's text that was kept with the job. Raises Failure if it is gone or is not what was kept."""
    path = job.texts / f"{words.digest(name)}.yaml"
    try:
        data = path.read_bytes()
    except OSError as error:
        raise Failure(f"the procedure's text of this job cannot be read: {said(error)}", os.fspath(path)) from None
    if sha256(data).hexdigest() != name:
        raise Failure("the procedure's text of this job was changed after it was kept", os.fspath(path))
    return data


def keep_file(job: JobFolder, source: Path, disk: Disk = DISK) -> str:
    """Copy a recording or picture into the job; its name there, `HASH.ENDING`. Raises Refused, Failure."""
    kind = words.ending(source.suffix or "bin")
    _make(job.files)
    hashed = sha256()
    beside = job.files / f".{os.getpid()}-{threading.get_ident()}.new"
    try:
        with open(source, "rb") as reading, open(beside, "wb") as writing:
            size = 0
            while chunk := reading.read(_CHUNK):
                size += len(chunk)
                if size > MOST_BYTES:
                    raise Failure(f"this file is larger than {MOST_BYTES} bytes, which is the most kept", str(source))
                hashed.update(chunk)
                writing.write(chunk)
            writing.flush()
            disk.fsync(writing.fileno())
        name = f"{hashed.hexdigest()}.{kind}"
        disk.replace(os.fspath(beside), os.fspath(job.files / name))
        sync_folder(os.fspath(job.files), disk)
    except OSError as error:
        raise Failure(f"the file cannot be kept with the job: {said(error)}", str(source)) from None
    finally:
        with contextlib.suppress(OSError):
            os.unlink(beside)
    return name


def file_path(job: JobFolder, name: str) -> Path:
    """Where a kept file lies, its name checked first. Raises Refused."""
    stem, _, kind = name.partition(".")
    return job.files / f"{words.digest(stem)}.{words.ending(kind)}"


def unlike_their_names(folder: Path) -> list[str]:
    """The files of a folder whose bytes do not give the hash they are named by, each with what is wrong."""
    wrong: list[str] = []
    try:
        names = sorted(os.listdir(folder))
    except FileNotFoundError:
        return wrong
    except OSError as error:
        return [f"{folder.name}/ cannot be read: {said(error)}"]
    for name in names:
        if name.startswith("."):
            continue
        try:
            if hash_of(folder / name) != name.partition(".")[0]:
                wrong.append(f"{folder.name}/{name} is not what was kept")
        except OSError as error:
            wrong.append(f"{folder.name}/{name} cannot be read: {said(error)}")
    return wrong


def hash_of(path: Path) -> str:
    """The SHA-256 of a file, in hex. Raises OSError."""
    hashed = sha256()
    with open(path, "rb") as file:
        while chunk := file.read(_CHUNK):
            hashed.update(chunk)
    return hashed.hexdigest()


def _holds(path: Path, name: str) -> bool:
    try:
        return hash_of(path) == name
    except OSError:
        return False


def _put(path: Path, data: bytes, what: str, disk: Disk) -> None:
    _make(path.parent)
    try:
        write_whole(os.fspath(path), data, 0o644, disk)
    except OSError as error:
        raise Failure(f"{what} cannot be kept: {said(error)}", os.fspath(path)) from None


def _make(folder: Path) -> None:
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        raise Failure(f"the folder cannot be made: {said(error)}", os.fspath(folder)) from None
