"""Procedures as they were read and linked last, in the user's cache folder, so that a walk need not read them again.

An entry is found by the hash of the text and counts only if every text that is run from it is the same as well, if the
code that reads and links is, and if nothing of it was damaged; anything else means that the text is read, without a
word. Only sound procedures are kept, with their findings: whether one was kept makes no difference but the time.

The entries are pickles. They are opened only where nobody but this user can have written them, in a folder of which
the same is true, and make nothing but parts of procedures. They can be deleted at any time.
"""

from __future__ import annotations

import contextlib
import importlib.util
import io
import os
import pickle
import stat
import sys
from collections.abc import Callable
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from . import __version__
from .errors import BenchwalkError, UsageError
from .job.disk import write_whole
from .paths import procedures_cache
from .procedure.collector import collector_rests

if TYPE_CHECKING:
    from .procedure.linked import Linked

MOST = 60
"""Entries that are kept; beyond that the oldest go."""
ENDING = ".kept"
_SEAL = 32  # bytes of a sha256
_HOME = Path(__file__).parent
_READERS = ("yaml", "pydantic", "pydantic_core")  # others' code that has a say in what a text means
_PARTS = "benchwalk.procedure."  # all classes of this may be made, and of these:
_ALSO = {
    "benchwalk.quantities": {"Quantity", "Range"},
    "builtins": {"dict", "list", "frozenset"},
    "fractions": {"Fraction"},
}


class Text(NamedTuple):
    """The text of a procedure as it stands now: its bytes, what findings call it, and how the text is found of what it
    runs (by id; None where there is none)."""

    data: bytes
    name: str
    find: Callable[[str], Text | None]


@collector_rests()
def load(text: Text) -> Linked | None:
    """The procedure as it was linked from exactly this text and from those it runs; None where it has to be read."""
    with contextlib.suppress(OSError, BenchwalkError):
        linked = _opened(_bytes_of(f"{sha256(text.data).hexdigest()}{ENDING}"))
        if linked is not None and _is_of(linked, text):
            return linked
    return None


def keep(linked: Linked) -> None:
    """Keep a sound procedure for the next time; where it cannot be kept, nothing happens."""
    if not linked.sound:
        return
    packed = io.BytesIO()
    with contextlib.suppress(OSError, UsageError, pickle.PicklingError, RecursionError):
        _Packer(packed, pickle.HIGHEST_PROTOCOL).dump(linked)
        folder = procedures_cache()
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        if _is_ours(os.lstat(folder)):
            data = packed.getvalue()
            write_whole(os.fspath(folder / f"{linked.text}{ENDING}"), _seal(data) + data, 0o600)
            _tidy(folder)


def _is_of(linked: Linked, text: Text) -> bool:
    """Whether it was linked from that text, and what it runs from those that it would run now; gives each its bytes."""
    from .procedure.source import Source

    if sha256(text.data).hexdigest() != linked.text:
        return False
    linked.source = Source(text.name, text.data, linked.procedure, linked.source.findings)
    for name, inner in linked.asked():  # what is run twice may be two, alike: each wants its bytes
        found = text.find(name)
        if found is None or not _is_of(inner, found):
            return False
    return True


# --- files -----------------------------------------------------------------------------------------------------------


def _bytes_of(entry: str) -> bytes:
    """The bytes of an entry; none where somebody else could have written it. Raises OSError."""
    flags = os.O_RDONLY | os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK
    folder = os.open(procedures_cache(), flags | os.O_DIRECTORY)
    try:
        if not _is_ours(os.fstat(folder)):
            return b""
        with open(os.open(entry, flags, dir_fd=folder), "rb") as file:
            found = os.fstat(file.fileno())
            return file.read() if stat.S_ISREG(found.st_mode) and _is_ours(found) else b""
    finally:
        os.close(folder)


def _is_ours(found: os.stat_result) -> bool:
    """Whether nobody but this user can write it."""
    return found.st_uid == os.geteuid() and not found.st_mode & (stat.S_IWGRP | stat.S_IWOTH)


def _tidy(folder: Path) -> None:
    """Let go of the oldest entries, and of what a run left that died while it wrote."""
    files = sorted(folder.iterdir(), key=lambda file: file.stat().st_mtime_ns)
    for file in files[:-MOST]:
        file.unlink(missing_ok=True)


def _seal(data: bytes) -> bytes:
    """What stands before the data of an entry: it is right only for this data and this program."""
    return sha256(_program() + data).digest()


@cache
def _program() -> bytes:
    """A fingerprint of the code that reads and links: where any of its files was changed it is another. OSError."""
    said = [__version__, sys.version]
    for folder in (_HOME, _HOME / "procedure"):
        with os.scandir(folder) as files:
            said += sorted(_mark(file.path) for file in files if file.is_file())
    for name in _READERS:
        spec = importlib.util.find_spec(name)
        said.append(_mark(spec.origin) if spec is not None and spec.origin else name)
    return sha256("\n".join(said).encode()).digest()


def _mark(path: str) -> str:
    found = os.stat(path)
    return f"{path} {found.st_size} {found.st_mtime_ns}"


# --- data ------------------------------------------------------------------------------------------------------------


class _Packer(pickle.Pickler):
    """Leaves out of a procedure what is only there with its text: its tree, and the places of the values in it."""

    def reducer_override(self, thing: Any) -> Any:
        from .procedure.source import Source
        from .procedure.tree import Map, Seq

        if isinstance(thing, Source):
            return Source, ("", b"", thing.procedure, thing.findings)
        if isinstance(thing, Map):
            return dict, (dict(thing),)
        if isinstance(thing, Seq):
            return list, (list(thing),)
        return NotImplemented


class _Opener(pickle.Unpickler):
    """Makes parts of procedures and nothing else."""

    def find_class(self, module: str, name: str) -> Any:
        if module.startswith(_PARTS) or name in _ALSO.get(module, ()):
            found = super().find_class(module, name)
            if isinstance(found, type) and (found.__module__, found.__qualname__) == (module, name):
                return found
        raise pickle.UnpicklingError(f"{module}.{name}")


def _opened(entry: bytes) -> Linked | None:
    from .procedure.linked import Linked

    data = entry[_SEAL:]
    if len(entry) <= _SEAL or entry[:_SEAL] != _seal(data):
        return None
    try:
        found = _Opener(io.BytesIO(data)).load()
    except Exception:  # whatever a pickle can raise that this program did not write
        return None
    return found if isinstance(found, Linked) else None
