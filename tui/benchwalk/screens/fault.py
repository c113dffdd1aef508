"""The report of a failure that nobody foresaw: where in the program it was, and nothing of what the shop wrote."""

from __future__ import annotations

import os
import platform
import sys
import traceback
from datetime import datetime
from pathlib import Path

from .. import __version__
from ..paths import user_folder

HEAD = """A failure of Benchwalk itself. What was confirmed as noted is safe.
This file holds places in the program only: no message, no value, no name, nothing that was typed. It can be sent on as
it is.
"""


def write_report(error: BaseException) -> str | None:
    """Write the report and give its path; None where it cannot be written. Never raises."""
    try:
        folder = user_folder("state") / "faults"
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / f"fault-{datetime.now():%Y%m%d-%H%M%S}-{os.getpid()}.txt"
        path.write_text(report(error), encoding="utf-8")
        return str(path)
    except Exception:
        return None


def report(error: BaseException) -> str:
    """The report as text: versions, the kinds of the errors, and the places they passed."""
    from importlib.metadata import version

    rows = [HEAD, f"Benchwalk {__version__}, textual {version('textual')}, Python {platform.python_version()}"]
    rows.append(f"{sys.platform}, TERM {os.environ.get('TERM', '')[:40]}")
    chain: BaseException | None = error
    while chain is not None:
        rows.append(f"\n{type(chain).__module__}.{type(chain).__qualname__}")
        for frame in traceback.extract_tb(chain.__traceback__):
            rows.append(f"  {_place(frame.filename)}:{frame.lineno} in {frame.name}")
        inner = getattr(chain, "error", None)  # what happened in a worker is told by another error around it
        chain = inner if isinstance(inner, BaseException) else chain.__cause__ or chain.__context__
    return "\n".join(rows) + "\n"


def _place(filename: str) -> str:
    """A file by its last parts: folders above may name a person."""
    return "/".join(Path(filename).parts[-3:])
