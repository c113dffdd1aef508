"""A text that was not saved when the program ended: kept in the user's own folder until it is saved or left."""

from __future__ import annotations

import contextlib
import os
from hashlib import sha256
from pathlib import Path

from ..errors import UsageError
from ..job.disk import write_whole
from ..paths import unsaved_folder


def keep(path: Path, text: str) -> None:
    """Keep an unsaved text of that file; where it cannot be kept, nothing happens: the file itself is as it was."""
    with contextlib.suppress(OSError, UsageError):
        place = _place(path)
        place.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        write_whole(str(place), text.encode(), 0o600, alone=True)


def kept(path: Path) -> str | None:
    """The unsaved text of that file from a program that ended without being asked; None where there is none."""
    try:
        return _place(path).read_text(encoding="utf-8")
    except (OSError, ValueError, UsageError):
        return None


def forget(path: Path) -> None:
    """The text is saved, or was left on purpose."""
    with contextlib.suppress(OSError, UsageError):
        os.unlink(_place(path))


def _place(path: Path) -> Path:
    name = sha256(os.fsencode(path.resolve())).hexdigest()[:32]
    return unsaved_folder() / f"{name}.yaml"
