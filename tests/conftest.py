"""Every test runs as on a bare machine: no home, shop, colours, language or time zone of the person who runs it."""

from __future__ import annotations

import itertools
import os
import shutil
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from benchwalk import kept, kept_files, kept_walks
from benchwalk.library import Library
from benchwalk.paths import procedures_cache
from house import PACKAGE

# Everyday runs try the same cases every time; `pytest --hypothesis-profile=search` goes looking for new ones.
settings.register_profile("ci", derandomize=True, deadline=None, database=None, print_blob=True)
settings.register_profile("search", deadline=None, max_examples=2000, print_blob=True)
settings.load_profile("ci")

FIXED = {"LANG": "C.UTF-8", "LC_ALL": "C.UTF-8", "TZ": "UTC", "TERM": "xterm-256color"}
GONE = (
    *("NO_COLOR", "FORCE_COLOR", "CLICOLOR", "COLORTERM", "COLUMNS", "LINES", "EDITOR", "VISUAL", "PAGER", "LANGUAGE"),
    *("XDG_RUNTIME_DIR", "XDG_CONFIG_DIRS", "XDG_DATA_DIRS", "USER", "LOGNAME", "PYTHONUTF8", "PYTHONIOENCODING"),
    "PYTHONDONTWRITEBYTECODE",  # what is started again and again is compiled once
)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What needs a sound server waits for real seconds of sound, and is heavy."""
    for item in items:
        if "sound_server" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.heavy)


@pytest.fixture(scope="session")
def _homes(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Homes in a folder of their own: each numbered one among thousands would be looked for among all of them."""
    folder = tmp_path_factory.mktemp("homes")
    return (folder / str(number) for number in itertools.count())


@pytest.fixture(autouse=True)
def bare_machine(_homes: Iterator[Path]) -> Iterator[Path]:
    """Shut the developer's machine out, for this process and those it starts; hands over the empty home."""
    home = next(_homes)
    home.mkdir()
    with pytest.MonkeyPatch.context() as patch:
        for name in [*GONE, *(n for n in os.environ if n.startswith(("BENCHWALK_", "TEXTUAL", "LC_")))]:
            patch.delenv(name, raising=False)
        for name, value in FIXED.items():
            patch.setenv(name, value)
        patch.setenv("HOME", str(home))
        for kind in ("CONFIG", "DATA", "CACHE", "STATE"):
            patch.setenv(f"XDG_{kind}_HOME", str(home / kind.lower()))
        time.tzset()
        yield home
    time.tzset()


@pytest.fixture(scope="session")
def _walked_before(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What the examples of the shipped procedures tell, walked once."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("walked")))
        library = Library.of()
        for name in library.ids():
            kept_walks.told(library.get(name))
        return procedures_cache()


@pytest.fixture
def library_walked(_walked_before: Path, bare_machine: Path) -> None:
    """A user whose program has checked the shipped procedures before."""
    shutil.copytree(_walked_before, procedures_cache())


@pytest.fixture
def program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A copy of the program's files, taken for those that run where it is asked whether what is kept still counts."""
    shutil.copytree(PACKAGE, tmp_path / "benchwalk", ignore=shutil.ignore_patterns("__pycache__"))
    monkeypatch.setattr(kept_files, "_HOME", tmp_path / "benchwalk")
    for each in (kept, kept_walks):
        each._program.cache_clear()
    yield tmp_path / "benchwalk"
    for each in (kept, kept_walks):
        each._program.cache_clear()
