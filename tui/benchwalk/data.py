"""Where the procedures that come with the program lie on this machine."""

from __future__ import annotations

from pathlib import Path

from .errors import Failure


def shipped_folder() -> Path:
    """The folder of shipped procedures, one `ID.yaml` each.

    An installed wheel carries them inside the package as `shipped`. An editable install, a clone and an unpacked
    source archive have no such folder and read `procedures/` at their own top, so an edited file counts at once.
    Raises Failure where neither is there.
    """
    package = Path(__file__).parent
    inside = package / "shipped"
    if inside.is_dir():
        return inside
    top = package.parent.parent
    if (top / "pyproject.toml").is_file() and (top / "procedures").is_dir():
        return top / "procedures"
    raise Failure("the shipped procedures are not there; install Benchwalk again", str(inside))


def shipped_procedures() -> dict[str, Path]:
    """Id to file of every shipped procedure, in the order of their ids; the file's name is the procedure's id."""
    return {path.stem: path for path in sorted(shipped_folder().glob("*.yaml"))}
