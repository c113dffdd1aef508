"""What the tests about the repository itself share: where it is and which files belong to it."""

from __future__ import annotations

import ast
import os
import subprocess
import time
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "tui" / "benchwalk"
MACHINE = dict(os.environ)  # as the person has it, before conftest shuts it out; only for what needs the package index

# Parts that are still being written: a test of one that is not there is skipped and says so. What has been delivered
# is taken out of this list, and from then on its absence fails.
AWAITED: frozenset[str] = frozenset()


PATIENCE = 90.0
"""Seconds that something may take that comes at once: only what never comes takes so long, however busy the machine."""


def patiently() -> Iterator[None]:
    """Look again and again, until that has come which is looked for, or never will."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        yield


EVERYDAY = ("tie-one-side", "even-rods", "check-one-bar")


def some(names: Iterable[str]) -> list[Any]:
    """For what is tried on every shipped procedure: few of them every day, the rest with the heavy tests."""
    return [name if name in EVERYDAY else pytest.param(name, marks=pytest.mark.heavy) for name in names]


def need(there: object, what: str) -> None:
    """Skip where `what` is awaited and not there; go on otherwise, so that what should be there and is not fails."""
    if not there and what in AWAITED:
        pytest.skip(f"not delivered yet: {what}")


def belonging() -> list[Path]:
    """The repository's own files, sorted: tracked or about to be. In an unpacked source archive, all but caches."""
    if (ROOT / ".git").exists():
        listed = subprocess.run(
            ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
            cwd=ROOT,
            capture_output=True,
            check=True,
        )
        names = {name for name in listed.stdout.decode().split("\0") if name}
        return sorted(path for name in names if (path := ROOT / name).is_file())
    passing = {".venv", "build", "dist", "__pycache__", ".hypothesis"}
    found: list[Path] = []
    for folder, folders, names_here in os.walk(ROOT):
        folders[:] = [f for f in folders if f not in passing and not f.endswith(("_cache", ".egg-info"))]
        found += [Path(folder, name) for name in names_here if name != "PKG-INFO"]
    return sorted(found)


def shown(path: Path) -> str:
    """The path as the repository's reader knows it."""
    return path.relative_to(ROOT).as_posix()


def texts() -> dict[str, str]:
    """Name to text of every file of ours that is text."""
    read: dict[str, str] = {}
    for path in belonging():
        try:
            read[shown(path)] = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
    return read


@cache
def modules() -> dict[str, Path]:
    """Dotted name to file of every module of the program, found on disk without importing any."""
    found: dict[str, Path] = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


def parsed(path: Path) -> ast.Module:
    """The syntax tree of a Python file."""
    return ast.parse(path.read_text(encoding="utf-8"), filename=str(path))
