"""A file of answers: one example of a procedure, a list of them, or a list under `examples:`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from ..errors import UsageError
from ..library import LARGEST
from ..procedure.model import Example
from ..procedure.read import keys_of
from ..procedure.tree import parse


def examples_of(name: str) -> list[Example]:
    """The examples in a file; UsageError with the place of the first thing wrong."""
    path = Path(name)
    document = parse(_bytes(path), name)
    for finding in document.findings:
        if finding.severity == "error":
            raise UsageError(finding.message, f"{name}:{finding.pos.line}:{finding.pos.column}")
    root: Any = document.root
    prefix: tuple[str | int, ...] = ()
    if isinstance(root, dict) and "examples" in root:
        root, prefix = root["examples"], ("examples",)
    one = isinstance(root, dict)
    if isinstance(root, dict):
        root = [{"example": path.stem, **root}]
    try:
        return TypeAdapter(list[Example]).validate_python(root)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        inside = first["loc"][1:] if one else first["loc"]
        pos = document.locate((*prefix, *(part for part in inside if isinstance(part, str | int))))
        raise UsageError(_plainly(first), f"{name}:{pos.line}:{pos.column}") from None


def _bytes(path: Path) -> bytes:
    try:
        if path.stat().st_size > LARGEST:
            raise UsageError(f"a file of answers has at most {LARGEST} bytes", str(path))
        return path.read_bytes()
    except OSError as error:
        raise UsageError(f"the file of answers cannot be read: {error.strerror}", str(path)) from None


def _plainly(error: Any) -> str:
    key = str(error["loc"][-1]) if error["loc"] else ""
    if error["type"] == "unexpected_keyword_argument":
        return f"'{key[:40]}' is not a key of an example; known are {', '.join(keys_of(Example))}"
    if error["type"] == "missing":
        return f"'{key}' is not said here"
    return f"an example is expected: keys and values, such as given, acts, passes, finds and ends ({error['msg']})"
