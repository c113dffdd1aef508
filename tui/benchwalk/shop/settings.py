"""A shop's settings as they were understood last, so that the bench need not read YAML before it is on screen.

They lie in the user's cache folder beside the index and count only while `shop.yaml` is the file they were read from.
"""

from __future__ import annotations

import contextlib
import os
from dataclasses import asdict
from pathlib import Path

import orjson

from .. import __version__
from ..errors import UsageError
from ..job.disk import write_whole
from ..job.shop import Shop
from ..paths import shop_cache

FILE = "settings.json"
_TEXTS = ("name", "override_role", "approve_role", "language")
_FOLDERS = ("pictures", "recordings")
Mark = list[str | int]
"""By what a file is known to be the one that was read."""


def open_shop(path: Path) -> Shop:
    """The shop in a folder, as `Shop.open` gives it, read anew only where its file changed. Raises as that does."""
    root = Path(os.path.abspath(path))
    try:
        found = os.stat(root / "shop.yaml")
        file = shop_cache(root) / FILE
    except (OSError, UsageError):
        return Shop.open(path)
    mark: Mark = [__version__, os.path.realpath(root), found.st_size, found.st_mtime_ns, found.st_ino]
    shop = _kept(root, file, mark)
    if shop is None:
        shop = Shop.open(path)
        fields = asdict(shop)
        del fields["root"]
        with contextlib.suppress(OSError):
            file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            write_whole(os.fspath(file), orjson.dumps([*mark, fields]), 0o600)
    return shop


def _kept(root: Path, file: Path, mark: Mark) -> Shop | None:
    """The shop as it was kept; None where that is of another file, or is not what this version writes."""
    try:
        *before, fields = orjson.loads(file.read_bytes())
        sound = (
            before == mark
            and all(isinstance(fields[name], str) for name in _TEXTS)
            and all(isinstance(fields[name], str | None) for name in _FOLDERS)
            and isinstance(fields["one_person"], bool)
        )
        return Shop(root, **fields) if sound else None
    except (OSError, ValueError, LookupError, TypeError):
        return None
