"""What was worked out of procedures, in the user's cache folder: found again only by the program that put it there.

An entry is opened only where nobody but this user can have written it, in a folder of which the same is true, and only
if its seal is right: for this data, and for the code that made it. It can be deleted at any time.
"""

from __future__ import annotations

import importlib.util
import os
import stat
import sys
from collections.abc import Iterable
from hashlib import sha256
from pathlib import Path

from . import __version__
from .job.disk import write_whole
from .paths import procedures_cache

MOST = 60
"""Entries of one ending that are kept; beyond that the oldest go."""
_SEAL = 32  # bytes of a sha256
_HOME = Path(__file__).parent


def entry(name: str, code: bytes) -> bytes:
    """The data of an entry that `code` put there; none where there is none that counts. Raises OSError."""
    flags = os.O_RDONLY | os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK
    folder = os.open(procedures_cache(), flags | os.O_DIRECTORY)
    try:
        if not _is_ours(os.fstat(folder)):
            return b""
        with open(os.open(name, flags, dir_fd=folder), "rb") as file:
            found = os.fstat(file.fileno())
            if not (stat.S_ISREG(found.st_mode) and _is_ours(found)):
                return b""
            sealed = file.read()
    finally:
        os.close(folder)
    data = sealed[_SEAL:]
    return data if sealed[:_SEAL] == _seal(data, code) else b""


def put(name: str, data: bytes, code: bytes) -> None:
    """Keep an entry; nothing is done in a folder that others can write to. Raises OSError or UsageError."""
    folder = procedures_cache()
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    if _is_ours(os.lstat(folder)):
        write_whole(os.fspath(folder / name), _seal(data, code) + data, 0o600)
        _tidy(folder, name[name.rindex(".") :])


def fingerprint(folders: Iterable[str], others: Iterable[str]) -> bytes:
    """Of the code in these folders of the program, not of what lies below them, and of others' packages: where any of
    its files was changed it is another. Raises OSError."""
    said = [__version__, sys.version]
    for folder in folders:
        with os.scandir(_HOME / folder) as files:
            said += sorted(_mark(file.path) for file in files if file.is_file())
    for name in others:
        spec = importlib.util.find_spec(name)
        said.append(_mark(spec.origin) if spec is not None and spec.origin else name)
    return sha256("\n".join(said).encode()).digest()


def all_folders() -> list[str]:
    """Every folder of the program's code, for `fingerprint`. Raises OSError."""
    folders = (folder for folder, _inner, _files in os.walk(_HOME, onerror=_raised))
    return sorted(os.path.relpath(folder, _HOME) for folder in folders if not folder.endswith("__pycache__"))


def _raised(error: OSError) -> None:
    raise error


def _is_ours(found: os.stat_result) -> bool:
    """Whether nobody but this user can write it."""
    return found.st_uid == os.geteuid() and not found.st_mode & (stat.S_IWGRP | stat.S_IWOTH)


def _tidy(folder: Path, ending: str) -> None:
    """Let go of the oldest entries, and of what a run left that died while it wrote."""
    files = sorted(folder.iterdir(), key=lambda file: file.stat().st_mtime_ns)
    alike = [file for file in files if ending in file.name]
    for file in alike[:-MOST]:
        file.unlink(missing_ok=True)


def _seal(data: bytes, code: bytes) -> bytes:
    """What stands before the data of an entry: it is right only for this data and this program."""
    return sha256(code + data).digest()


def _mark(path: str) -> str:
    found = os.stat(path)
    return f"{path} {found.st_size} {found.st_mtime_ns}"
