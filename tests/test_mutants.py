"""Spoilt procedure files: never a traceback, never long, never much memory, and every finding where it says it is."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

MUTANTS = Path(__file__).with_name("mutants.py")


def check(first: int, count: int) -> None:
    """Check so many mutants in a process of their own, whose memory is theirs alone."""
    done = subprocess.run(
        [sys.executable, str(MUTANTS), str(first), str(count)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr[-3000:]


def test_spoilt_files_are_told_in_sentences() -> None:
    """Some hundred mutants give findings with true places, each within its time, all within their memory."""
    check(0, 250)


@pytest.mark.heavy
@pytest.mark.parametrize("thousand", range(1, 11))
def test_ten_thousand_spoilt_files(thousand: int) -> None:
    """The same for ten thousand more."""
    check(thousand * 1000, 1000)
