"""What walking examples told, kept between two runs of the program: the same as walking them, or not there at all."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from pathlib import Path

import pytest

import benchwalk.kept_files as kept_files
import benchwalk.kept_walks as kept_walks
from benchwalk.data import shipped_folder
from benchwalk.library import Library
from benchwalk.paths import procedures_cache
from benchwalk.procedure.findings import Finding
from benchwalk.proof.check import check_source, telling
from benchwalk.sums import compute

BOOK, RUN = "check-tuned-bars", "check-one-bar"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The shipped procedures in a folder of their own, nothing walked yet."""
    shutil.copytree(shipped_folder(), tmp_path / "procedures")
    return tmp_path / "procedures"


@pytest.fixture
def walks(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The ids of the procedures whose examples are walked from now on."""
    seen: list[str] = []
    tell = telling(compute)

    def noting(linked: object) -> Sequence[Finding]:
        seen.append(linked.id)  # type: ignore[attr-defined]
        return tell(linked)  # type: ignore[arg-type]

    monkeypatch.setattr(kept_walks, "telling", lambda _compute: noting)
    return seen


def found(folder: Path, name: str = BOOK) -> list[Finding]:
    """What a run of the program finds in a procedure."""
    library = Library([folder])
    source, linked = library.open(library.path_of(name))
    return check_source(source, linked, known=library.ids(), tell=kept_walks.told)


def spoil(folder: Path, name: str, old: str, new: str) -> None:
    """Change a procedure in one place."""
    path = folder / f"{name}.yaml"
    assert old in path.read_text()
    path.write_text(path.read_text().replace(old, new, 1))


def test_same_is_found_without_walking_again(folder: Path, walks: list[str]) -> None:
    """A text that was checked before gives the same findings, and its examples are not walked."""
    spoil(folder, RUN, "    ends: ", "    ends: stopped # not ")
    for name in (RUN, "take-head-off", "deburr-cord-holes"):
        first, again = found(folder, name), found(folder, name)
        assert first == again and [f.rule for f in first] == [f.rule for f in again]
        assert walks == [name]
        walks.clear()
    assert any(f.rule == "example" and f.severity == "error" for f in found(folder, RUN))


@pytest.mark.parametrize("name", [BOOK, RUN])
def test_changed_text_is_walked(folder: Path, walks: list[str], name: str) -> None:
    """After a change of the procedure, or of one that it runs, its examples are walked again."""
    found(folder)
    spoil(folder, name, "purpose: ", "purpose: Now. ")
    found(folder)
    assert walks == [BOOK, BOOK]


@pytest.mark.parametrize("file", ["walk/decide.py", "sums/rods.py", "proof/rules/example.py", "numerals.py"])
def test_changed_program_walks_again(folder: Path, program: Path, walks: list[str], file: str) -> None:
    """After any change of the program, by one byte, in whatever folder, the examples are walked again."""
    found(folder, RUN)
    with open(program / file, "a") as code:
        code.write("\n")
    kept_walks._program.cache_clear()
    found(folder, RUN)
    found(folder, RUN)
    assert walks == [RUN, RUN]


def test_compiled_code_is_no_change(folder: Path, program: Path, walks: list[str]) -> None:
    """What Python compiles and keeps beside the code, as a first run does, changes nothing."""
    found(folder, RUN)
    (program / "walk" / "__pycache__").mkdir()
    (program / "walk" / "__pycache__" / "decide.cpython-311.pyc").write_bytes(b"compiled")
    kept_walks._program.cache_clear()
    found(folder, RUN)
    assert walks == [RUN]


def test_program_without_its_files_walks(folder: Path, program: Path, walks: list[str]) -> None:
    """Where the program cannot see its own files, the examples are walked each time."""
    shutil.rmtree(program)
    found(folder, RUN)
    found(folder, RUN)
    assert walks == [RUN, RUN] and not procedures_cache().exists()


@pytest.mark.parametrize("data", [b"", b"[{}]", b'[{"pos": 1, "related": []}]', b"\xff", b"null"])
def test_damaged_entry_does_not_count(folder: Path, walks: list[str], data: bytes) -> None:
    """An entry that was changed without its seal, or that holds something else, is walked over."""
    first = found(folder, RUN)
    (entry,) = procedures_cache().glob("*.walked")
    entry.write_bytes(entry.read_bytes()[:32] + data)
    assert found(folder, RUN) == first and walks == [RUN, RUN]
    kept_files.put(entry.name, data, kept_walks._program())
    assert found(folder, RUN) == first and walks == [RUN, RUN, RUN]


def test_cache_that_cannot_be_written_changes_nothing(folder: Path, walks: list[str]) -> None:
    """Where there is no folder for entries, the examples are walked each time."""
    procedures_cache().parent.mkdir(parents=True)
    procedures_cache().write_text("a file")
    assert found(folder, RUN) == found(folder, RUN) and walks == [RUN, RUN]
