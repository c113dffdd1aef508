"""Procedures as they were read and linked last, in the user's cache folder, so that a walk need not read them again.

An entry is found by the hash of the text and counts only if every text that is run from it is the same as well, if the
code that reads and links is, and if nothing of it was damaged; anything else means that the text is read, without a
word. Only sound procedures are kept, with their findings: whether one was kept makes no difference but the time.

The entries are pickles, which make nothing but parts of procedures. They can be deleted at any time.
"""

from __future__ import annotations

import contextlib
import io
import pickle
from collections.abc import Callable
from functools import cache
from hashlib import sha256
from typing import TYPE_CHECKING, Any, NamedTuple

from . import kept_files
from .errors import BenchwalkError, UsageError
from .procedure.collector import collector_rests

if TYPE_CHECKING:
    from .procedure.linked import Linked

ENDING = ".kept"
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
        linked = _opened(kept_files.entry(f"{sha256(text.data).hexdigest()}{ENDING}", _program()))
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
        kept_files.put(f"{linked.text}{ENDING}", packed.getvalue(), _program())


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


@cache
def _program() -> bytes:
    """A fingerprint of the code that reads and links. OSError."""
    return kept_files.fingerprint(("", "procedure"), _READERS)


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


def _opened(data: bytes) -> Linked | None:
    from .procedure.linked import Linked

    try:
        found = _Opener(io.BytesIO(data)).load()
    except Exception:  # whatever a pickle can raise that this program did not write
        return None
    return found if isinstance(found, Linked) else None
