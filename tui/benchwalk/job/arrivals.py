"""Where new pictures and recordings arrive: the folders a shop names, and the newest file in one of them."""

from __future__ import annotations

import os
from pathlib import Path

from ..errors import Refused
from .disk import said
from .shop import Shop

KEY = {"picture": "pictures", "sound": "recordings"}
"""The setting of `shop.yaml` that names the folder for readings of a kind."""


def arrivals_folder(shop: Shop, sort: str) -> Path | None:
    """The folder where files for readings of that kind arrive; None where the shop names none.

    `~` is the home of whoever works, and a path that is not whole begins in the shop's folder.
    """
    named = getattr(shop, KEY[sort]) if sort in KEY else None
    return shop.root / os.path.expanduser(named) if named else None


def newest_file(shop: Shop, sort: str) -> Path:
    """The file in that folder that was changed last (of several the last by name); Refused where there is none.

    Files that begin with a dot, folders, and files that are empty (still being copied) are passed over.
    """
    folder = arrivals_folder(shop, sort)
    if folder is None:
        key = KEY.get(sort, "pictures")
        raise Refused(f"the shop names no folder for this; write it into shop.yaml, as in {key}: ~/{key}")
    found: list[tuple[int, str]] = []
    try:
        with os.scandir(folder) as entries:
            for entry in entries:
                if not entry.name.startswith(".") and entry.is_file() and entry.stat().st_size:
                    found.append((entry.stat().st_mtime_ns, entry.name))
    except OSError as error:
        raise Refused(f"the folder of {KEY[sort]} cannot be read: {said(error)}", os.fspath(folder)) from None
    if not found:
        raise Refused(f"there is no file in the folder of {KEY[sort]} yet", os.fspath(folder))
    return folder / max(found)[1]
