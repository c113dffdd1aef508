"""The YAML event reader underneath: libyaml where PyYAML was built with it, else PyYAML's own, much slower one."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import yaml

try:
    from yaml.cyaml import CParser  # type: ignore[attr-defined]
except ImportError:  # pragma: no cover - depends on how PyYAML was built
    CParser = None  # type: ignore[assignment,misc]

FAST = CParser is not None


def reader_note() -> str | None:
    """A sentence if the fast reader is not there (reading is then some thirty times slower), else None."""
    if FAST:
        return None
    return (
        "PyYAML here is built without libyaml, so YAML is read by its slower reader; "
        "findings are the same, reading takes some thirty times longer"
    )


def events_of(text: str) -> Callable[[], Any]:
    """A function giving the next YAML event of `text` at each call, None after the last; raises yaml.YAMLError."""
    if FAST:
        return CParser(text).get_event
    return yaml.Loader(text).get_event
