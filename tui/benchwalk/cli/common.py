"""What several commands need: which shop is meant, and who people are."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from .. import paths
from ..errors import UsageError

if TYPE_CHECKING:
    from ..job.shop import Shop


def shop_folder(asked: str | None) -> Path | None:
    """The shop's folder where there is one on disk, else None."""
    folder = paths.shop_folder(asked)
    return folder if folder.is_dir() else None


def open_shop(asked: str | None) -> Shop:
    """The shop that is meant; UsageError where there is none."""
    from ..job.shop import Shop

    folder = paths.shop_folder(asked)
    if not folder.is_dir():
        raise UsageError("there is no shop here yet; `benchwalk people add` makes one", str(folder))
    return Shop.open(folder)


def clock() -> datetime:
    """The time now, with the offset of this place."""
    return datetime.now().astimezone()


def at_terminal() -> bool:
    """Whether a person sits here."""
    return bool(sys.stdin and sys.stdin.isatty() and sys.stdout.isatty())
