"""The procedure library: the shop's own files first, then those that came with the program.

A procedure is asked for by id, or by path where the word has a slash or a suffix; what it runs is looked for beside
it first.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass, field
from pathlib import Path

from . import kept
from .data import shipped_folder
from .errors import Refused, UsageError
from .procedure.linked import Linked
from .procedure.showing import safe_text
from .procedure.source import Source

LARGEST = 2_000_000
"""Bytes of the largest procedure file that is opened at all."""


@dataclass
class Library:
    """Procedures in some folders, the first folder that has an id wins. Files are read once."""

    folders: list[Path] = field(default_factory=list)
    _known: dict[Path, tuple[Source, Linked | None]] = field(default_factory=dict)

    @classmethod
    def of(cls, shop: Path | None = None) -> Library:
        """The library of a shop (its `procedures` folder) and of the program."""
        folders = [shop / "procedures"] if shop is not None else []
        return cls([*folders, shipped_folder()])

    def ids(self) -> list[str]:
        """Every id there is, in order."""
        found: set[str] = set()
        for folder in self.folders:
            if folder.is_dir():
                found |= {path.stem for path in folder.glob("*.yaml")}
        return sorted(found)

    def path_of(self, name: str) -> Path:
        """The file of a procedure named by id or by path; UsageError where there is none."""
        if "/" in name or name.endswith((".yaml", ".yml")):
            path = Path(name)
            if not path.exists():
                raise UsageError(f"there is no file {safe_text(name)}")
            return path
        for folder in self.folders:
            path = folder / f"{name}.yaml"
            if path.is_file() and path.parent == folder:
                return path
        near = difflib.get_close_matches(name, self.ids(), 1)
        hint = f"; did you mean '{near[0]}'?" if near else "; `benchwalk check` lists the library"
        raise UsageError(f"there is no procedure '{safe_text(name[:60])}'{hint}")

    def open(self, path: Path) -> tuple[Source, Linked | None]:
        """A file read and linked; UsageError where it cannot be opened."""
        from .procedure.linking import link  # only now: a procedure that was kept takes neither
        from .procedure.read import read

        path = path.resolve()
        if path not in self._known:
            source = read(_bytes(path), _shown(path))
            self._known[path] = (source, None)
            beside = path.parent
            self._known[path] = (source, link(source, lambda name: self._find(name, beside)))
        return self._known[path]

    def get(self, name: str) -> Linked:
        """A procedure that can be walked, by id or path; Refused with its first faults where it cannot.

        One that was kept from an earlier run of the program is not read again.
        """
        path = self.path_of(name).resolve()
        anew = path not in self._known
        if anew and (linked := kept.load(self._text(path))):
            self._known[path] = (linked.source, linked)
            return linked
        source, linked = self.open(path)
        if linked is None or not linked.sound:
            faults = [f for f in (linked.findings if linked else source.findings) if f.severity == "error"]
            first = faults[0] if faults else None
            where = f"{source.name}:{first.pos.line}:{first.pos.column}" if first else source.name
            more = f" ({len(faults) - 1} more; `benchwalk check` tells them all)" if len(faults) > 1 else ""
            raise Refused(f"{first.message if first else 'one of the procedures it runs has errors'}{more}", where)
        if anew:
            kept.keep(linked)
        return linked

    def find(self, name: str) -> Linked | None:
        """A procedure by id, as `link` asks for those that are run; None where the library has none."""
        return self._find(name, None)

    def _find(self, name: str, beside: Path | None) -> Linked | None:
        path = self._path_of_run(name, beside)
        return self.open(path)[1] if path is not None else None

    def _text(self, path: Path) -> kept.Text:
        def find(name: str) -> kept.Text | None:
            found = self._path_of_run(name, path.parent)
            return self._text(found.resolve()) if found is not None else None

        return kept.Text(_bytes(path), _shown(path), find)

    def _path_of_run(self, name: str, beside: Path | None) -> Path | None:
        """Where a procedure that is run lies: beside what runs it, else in the first folder that has it."""
        for folder in [*([beside] if beside else []), *self.folders]:
            path = folder / f"{name}.yaml"
            if path.is_file():
                return path
        return None


def lasting_name(path: Path) -> str:
    """What a file is called, to be held against its id; empty for what has no name that stays: what is no YAML file,
    such as stdin, and a copy right in the folder for such."""
    import tempfile  # only now: a walk asks nothing of this

    lasts = path.suffix in (".yaml", ".yml") and path.resolve().parent != Path(tempfile.gettempdir()).resolve()
    return path.name if lasts else ""


def _bytes(path: Path) -> bytes:
    try:
        if path.is_dir():
            raise UsageError("this is a folder; a procedure is one file", str(path))
        size = path.stat().st_size
        if size > LARGEST:
            raise UsageError(f"{size} bytes are more than a procedure can have ({LARGEST})", str(path))
        return path.read_bytes()
    except OSError as error:
        raise UsageError(f"the file cannot be read: {error.strerror}", str(path)) from None


def _shown(path: Path) -> str:
    """The path as findings show it: from here where that is shorter."""
    try:
        return str(path.relative_to(Path.cwd()))
    except ValueError:
        return str(path)
