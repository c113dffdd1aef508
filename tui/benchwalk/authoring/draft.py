"""A procedure file while it is written: its text as it was read, saved whole, and what others do to it meanwhile."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from ..data import shipped_folder
from ..errors import Failure, UsageError
from ..job.disk import write_whole
from ..library import LARGEST, Library

Stamp = tuple[int, int, int] | None
"""What tells a file from its later self: inode, size and time of change; None where there is none."""


@dataclass
class Draft:
    """A file and the text that stood in it when it was last read or saved. `origin` is the file it is a copy of, where
    it was not written under its own name yet."""

    path: Path
    saved: str
    stamp: Stamp
    origin: Path | None = None

    @classmethod
    def open(cls, path: Path, origin: Path | None = None) -> Draft:
        """Read a file; UsageError where it cannot be read as text."""
        source = origin or path
        return cls(path, _text(source), _stamp(path), origin)

    @classmethod
    def new(cls, path: Path, text: str) -> Draft:
        """A file that is not there yet; UsageError where it is."""
        if path.exists():
            raise UsageError("there is a file of this name already; name it without --new", str(path))
        return cls(path, "", None, None) if not text else cls(path, text, None)

    @property
    def on_disk(self) -> bool:
        """Whether the file is there under its own name."""
        return self.stamp is not None

    def changed_outside(self) -> bool:
        """Whether somebody else has written the file since it was read or saved here."""
        return _stamp(self.path) != self.stamp

    def there(self) -> str | None:
        """The text that stands in the file now; None where it is gone or cannot be read. Nothing is taken over."""
        try:
            return _text(self.path)
        except UsageError:
            return None

    def read_again(self) -> str:
        """The text as it stands in the file now; UsageError where it cannot be read."""
        self.saved, self.stamp = _text(self.path), _stamp(self.path)
        return self.saved

    def save(self, text: str) -> None:
        """Put the text in place of the file, whole; Failure where that cannot be done, and the old file stays."""
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            mode = self.path.stat().st_mode & 0o777 if self.path.exists() else 0o666
            write_whole(str(self.path), text.encode(), mode)
        except OSError as error:
            raise Failure(f"not saved: {error.strerror}", str(self.path)) from None
        self.saved, self.stamp, self.origin = text, _stamp(self.path), None


def opened(library: Library, name: str, root: Path | None) -> Draft:
    """A procedure by id or path, to be written; one that came with the program as a copy in the shop at `root`.

    Raises UsageError where there is none, or where a copy would have no place.
    """
    path = library.path_of(name)
    if path.resolve().parent != shipped_folder().resolve():
        return Draft.open(path)
    if root is None or not root.is_dir():
        raise UsageError(
            "this procedure came with the program; name a shop with --shop, so that a copy of its own can be written"
        )
    return Draft.open(root / "procedures" / path.name, path)


def _stamp(path: Path) -> Stamp:
    try:
        found = os.stat(path)
    except OSError:
        return None
    return found.st_ino, found.st_size, found.st_mtime_ns


def _text(path: Path) -> str:
    try:
        size = path.stat().st_size
        if size > LARGEST:
            raise UsageError(f"{size} bytes are more than a procedure can have ({LARGEST})", str(path))
        data = path.read_bytes()
    except OSError as error:
        raise UsageError(f"the file cannot be read: {error.strerror}", str(path)) from None
    try:
        return data.decode()
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise UsageError(f"line {line} is not UTF-8 text; save the file as UTF-8 first", str(path)) from None
