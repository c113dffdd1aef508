"""Where a document goes that a command made: to stdout as it is, or into a file that it does not write over."""

from __future__ import annotations

import os
import sys

from ..errors import Failure, Refused, UsageError


def put(text: str, out: str | None, *, over: bool = False, for_eyes: bool = True) -> None:
    """Print the document as UTF-8 whatever the terminal takes, or write it whole into the file `out`.

    What is not `for_eyes` (a web page, a picture) is not poured over a terminal: UsageError says what to do.
    Raises Refused where there is a file of that name and `over` does not say to write over it, Failure otherwise.
    """
    if out is not None:
        _write(text, out, over)
        return
    if not for_eyes and sys.stdout.isatty():
        raise UsageError(
            "this is a file for a browser and not for a terminal; name one with --out FILE, or see --format"
        )
    sys.stdout.flush()
    binary = getattr(sys.stdout, "buffer", None)
    if binary is None:
        sys.stdout.write(text)
        return
    binary.write(text.encode("utf-8"))
    binary.flush()


def _write(text: str, out: str, over: bool) -> None:
    from ..job.disk import said, write_new, write_whole

    path, data = os.path.abspath(out), text.encode("utf-8")
    try:
        if over:
            write_whole(path, data, 0o644)
        else:
            write_new(path, data, 0o644)
    except FileExistsError:
        raise Refused("there is a file of that name already; --force writes over it", out) from None
    except OSError as error:
        raise Failure(f"the file cannot be written: {said(error)}", out) from None
