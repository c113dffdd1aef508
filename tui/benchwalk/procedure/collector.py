"""Letting the garbage collector rest while much is built and nothing is garbage yet."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_rests() -> Iterator[None]:
    """Rest the garbage collector while much is built and nothing is garbage yet; afterwards it is as it was."""
    ran = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if ran:
            gc.enable()


def collector_wakes() -> None:
    """Wake a collector that rests; what was built meanwhile stays, and is not looked through again and again."""
    if not gc.isenabled():
        gc.freeze()
        gc.enable()
