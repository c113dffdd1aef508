"""Which folders Benchwalk uses, worked out in one place.

A shop is a folder of its own. Whatever can be made again (index, caches) lies in the user's cache folder under a name
made from the shop's path, and may be deleted at any time. The places follow the XDG base directory convention (from
memory: a relative path in its variables counts as not set), and on macOS that system's own.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Mapping
from hashlib import sha256
from pathlib import Path

from .errors import UsageError

SHOP_VARIABLE = "BENCHWALK_SHOP"
_NAME = "benchwalk"
_PLACES = {  # kind: (XDG variable, below home elsewhere, below home on macOS)
    "data": ("XDG_DATA_HOME", ".local/share", "Library/Application Support"),
    "cache": ("XDG_CACHE_HOME", ".cache", "Library/Caches"),
    "config": ("XDG_CONFIG_HOME", ".config", "Library/Application Support"),
    "state": ("XDG_STATE_HOME", ".local/state", "Library/Application Support"),
}
# Kinds of file system that reach over a net, or to another system that locks in its own way.
_NETWORK = re.compile(
    r"nfs\d?|cifs|smb\d?|smbfs|ncpfs|9p|drvfs|afs|afpfs|ceph|glusterfs|lustre|gpfs|beegfs|orangefs|davfs\d?|webdav"
    r"|fuse\.(sshfs|rclone|davfs\d?|s3fs|gcsfuse|glusterfs|cephfs|gvfsd-fuse|portal)|fuse\.sshfs|vboxsf|vmhgfs"
    r"|fuse\.vmhgfs-fuse|virtiofs|prl_fs"
)


def user_folder(kind: str, environ: Mapping[str, str] = os.environ, platform: str = sys.platform) -> Path:
    """The user's folder of one kind (`data`, `cache`, `config`, `state`) for Benchwalk; it may not be there yet.

    Raises UsageError where no home is known.
    """
    variable, below, on_mac = _PLACES[kind]
    if platform == "darwin":
        return _home(environ) / on_mac / _NAME
    said = environ.get(variable, "")
    return Path(said) / _NAME if os.path.isabs(said) else _home(environ) / below / _NAME


def keys_file(environ: Mapping[str, str] = os.environ) -> Path:
    """Where the user's own keys are, if there are any."""
    return user_folder("config", environ) / "keys.yaml"


def shop_folder(option: str | None = None, environ: Mapping[str, str] = os.environ) -> Path:
    """The shop's folder: what `--shop` says, else the environment, else `shop` in the user's data folder."""
    if option is not None and not option.strip():
        raise UsageError("--shop was given without a folder")
    said = option or environ.get(SHOP_VARIABLE, "").strip()
    if said:
        return Path(os.path.abspath(os.path.expanduser(said)))
    return user_folder("data", environ) / "shop"


def shop_cache(shop: Path, environ: Mapping[str, str] = os.environ) -> Path:
    """Where the index and caches of a shop lie; one folder a shop, by its real path. It may not be there yet."""
    key = sha256(os.fsencode(os.path.realpath(shop))).hexdigest()[:16]
    return user_folder("cache", environ) / "shops" / key


def procedures_cache(environ: Mapping[str, str] = os.environ) -> Path:
    """Where procedures lie as they were read and linked last, whatever shop they are of. It may not be there yet."""
    return user_folder("cache", environ) / "procedures"


def unsaved_folder(environ: Mapping[str, str] = os.environ) -> Path:
    """Where texts of procedures are kept that were being written and not saved."""
    return user_folder("state", environ) / "unsaved"


def where(option: str | None = None, environ: Mapping[str, str] = os.environ) -> dict[str, str]:
    """Every folder and file of the shop and the user that Benchwalk uses, by a short name."""
    shop = shop_folder(option, environ)
    if option:
        from_ = "--shop"
    else:
        from_ = f"${SHOP_VARIABLE}" if environ.get(SHOP_VARIABLE, "").strip() else "the user's data folder"
    places = {
        "shop": shop,
        "shop settings": shop / "shop.yaml",
        "people": shop / "people.yaml",
        "people's log": shop / "people.jsonl",
        "procedures": shop / "procedures",
        "approvals": shop / "procedures" / "approvals.jsonl",
        "jobs": shop / "jobs",
        "cache": shop_cache(shop, environ),
        "cache of procedures": procedures_cache(environ),
        "configuration": user_folder("config", environ),
        "keys": keys_file(environ),
        "state": user_folder("state", environ),
        "unsaved procedures": unsaved_folder(environ),
    }
    return {"shop chosen by": from_, **{name: os.fspath(path) for name, path in places.items()}}


def network_warning(folder: Path, mounts: str | None = None) -> str | None:
    """A sentence if the folder seems to lie on a network or on another system's disk; None if not, or not known.

    Best effort: the kernel's own table of mounts is asked, and where there is none nothing is said. `mounts` is that
    table, for tests.
    """
    if mounts is None:
        try:
            mounts = Path("/proc/mounts").read_text(encoding="utf-8", errors="surrogateescape")
        except OSError:
            return None
    kind = file_system(folder, mounts)
    if not _NETWORK.fullmatch(kind):
        return None
    return (
        f"{folder} lies on a shared file system ({kind}): whether one writer at a time can be kept, and whether what is"
        " written stands, depends on its server; a folder on this machine's own disk is safer"
    )


def file_system(folder: Path, mounts: str) -> str:
    """The kind of file system a folder lies on, out of the kernel's table of mounts; empty if it is not in it."""
    at = os.path.realpath(folder)
    best, kind = "", ""
    for row in mounts.splitlines():
        fields = row.split(" ")
        if len(fields) < 3:
            continue
        point = re.sub(r"\\([0-7]{3})", lambda code: chr(int(code[1], 8)), fields[1])
        inside = at == point or at.startswith(point.rstrip("/") + "/")
        if inside and len(point) >= len(best):  # of two mounts at one place the later one is seen
            best, kind = point, fields[2]
    return kind


def _home(environ: Mapping[str, str]) -> Path:
    home = environ.get("HOME", "")
    if not os.path.isabs(home):
        try:
            home = os.fspath(Path.home())
        except RuntimeError:
            home = ""
    if not os.path.isabs(home):
        raise UsageError("no home folder is known here; name the shop's folder with --shop, and set HOME")
    return Path(home)
