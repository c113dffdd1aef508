"""What the examples of procedures told when they were walked last, in the user's cache folder.

Walking the examples of the whole library takes seconds and gives the same each time. So what they told is kept, by the
texts of the procedure and of all it runs, and counts for the program that walked them: after any change of its code, or
of the numerics under its sums, they are walked again.
"""

from __future__ import annotations

import contextlib
import json
from collections.abc import Sequence
from functools import cache
from hashlib import sha256
from typing import Any

from . import kept_files
from .errors import UsageError
from .procedure.findings import Finding, Pos
from .procedure.linked import Linked
from .proof.check import telling
from .sums import compute

ENDING = ".walked"
_OTHERS = ("yaml", "pydantic", "pydantic_core", "numpy", "scipy")


def told(linked: Linked) -> Sequence[Finding]:
    """The findings of walking a procedure's examples; walked now where they were not before."""
    try:
        name, code = f"{_of_family(linked)}{ENDING}", _program()
    except OSError:  # the program cannot see its own files
        return telling(compute)(linked)
    with contextlib.suppress(OSError, UsageError, ValueError, TypeError, KeyError):
        return [_finding(**each) for each in json.loads(kept_files.entry(name, code))]
    found = telling(compute)(linked)
    with contextlib.suppress(OSError, UsageError, TypeError):
        kept_files.put(name, json.dumps([_plain(each) for each in found]).encode(), code)
    return found


def _of_family(linked: Linked) -> str:
    """The same only for the same text that runs the same texts, under the same names."""
    runs = [[name, _of_family(inner)] for name, inner in linked.asked()]
    return sha256(json.dumps([linked.text, runs]).encode()).hexdigest()


@cache
def _program() -> bytes:
    return kept_files.fingerprint(kept_files.all_folders(), _OTHERS)


def _plain(found: Finding) -> dict[str, Any]:
    return {name: getattr(found, name) for name in ("rule", "message", "pos", "severity", "related", "witness")}


def _finding(pos: list[int], related: list[Any], **rest: Any) -> Finding:
    return Finding(pos=Pos(*pos), related=(*related,), **rest)
