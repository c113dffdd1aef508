"""Keys by name: the bindings of each place, and the user's own keys out of a file, refused where they cannot work.

The file is YAML, one action a line: `walk.note: f2` or `walk.note: f2, ctrl+n`. An action that is not named keeps its
keys.
"""

from __future__ import annotations

import re
import string
from collections.abc import Mapping
from pathlib import Path
from typing import cast

from textual.binding import Binding, BindingType
from textual.keys import KEY_ALIASES, Keys, _character_to_key
from textual.widgets import Input

from ..errors import UsageError
from ..procedure.showing import shortened
from .actions import ACTIONS, BY_ID, EVERYWHERE, WALK, Action, at, key_text

_NAMED = re.compile(r"\{([a-z]+\.[a-z_]+)\}")
_KEYS = frozenset(key.value for key in Keys if key.value[0] != "<")
_SIGNS = frozenset(_character_to_key(sign) for sign in string.punctuation + " ")
"""Signs by the names they have as keys, such as `slash`."""
_MODIFIERS = {"ctrl", "alt", "shift", "super", "hyper", "meta"}
_SAME = {other: key for key, others in KEY_ALIASES.items() for other in others} | {"ctrl+[": "escape"}
"""Keys that a terminal sends alike, such as ctrl+m: they are one key."""
_EDITING = frozenset(key for bound in Input.BINDINGS for key in cast(Binding, bound).key.split(",")) - {"enter"}
"""Keys that an entry takes for itself while something is typed."""
_GOING_ON = ("walk.next", "walk.foot", "walk.not_yet")
_ON_PURPOSE = ("walk.yes", "walk.sign")
"""What is never said by a key that a hand or a foot goes on with out of habit."""


def bindings(place: str, **labels: str) -> list[BindingType]:
    """The bindings of a place, by the keys of the list; a user's keymap replaces them by their ids.

    `labels` say by verb what stands at the foot of a screen on which a key is better called otherwise.
    """
    return [
        Binding(
            ",".join(action.keys),
            action.verb,
            labels.get(action.verb, action.label),
            show=action.foot,
            key_display=key_text(action.keys[0]),
            tooltip=action.help,
            id=action.id,
        )
        for action in at(place)
    ]


def with_keys(text: str, keys: Mapping[str, str]) -> str:
    """A sentence of ours with `{walk.yes}` and the like said as the key that does it; `keys` are the user's own."""
    return _NAMED.sub(lambda found: key_of(found[1], keys), text)


def load(path: Path) -> dict[str, str]:
    """The user's own keys: action id -> keys, comma between them; empty where there is no file.

    Raises UsageError with line and column: an action or key that is not known, or a key that two actions want.
    """
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise UsageError(f"your keys cannot be read: {error.strerror}", str(path)) from None
    import difflib

    from ..procedure.tree import Map, parse  # only now: most people have no such file

    document = parse(data, str(path))
    if [finding.rule for finding in document.findings] == ["yaml-empty"]:
        return {}
    if document.findings:
        first = document.findings[0]
        raise UsageError(first.message, f"{path}:{first.pos.line}:{first.pos.column}")
    if not isinstance(document.root, Map):
        raise UsageError("one action a line is expected, as in `walk.note: f2`", str(path))
    found: dict[str, str] = {}
    places: dict[str, str] = {}
    for name in document.root:
        line, column = document.root.key_at(name)
        if name not in BY_ID:
            near = difflib.get_close_matches(name, BY_ID, 1)
            hint = f"; did you mean {near[0]}?" if near else "; docs/keys.md lists them"
            raise UsageError(f"'{shortened(name)}' is no action{hint}", f"{path}:{line}:{column}")
        line, column = document.root.value_at(name)
        places[name] = f"{path}:{line}:{column}"
        value = document.root[name]
        if not isinstance(value, str):
            raise UsageError(f"keys are expected after {name}, as in `{name}: f2, ctrl+n`", places[name])
        found[name] = ",".join(_key(key, places[name]) for key in value.split(","))
    for name in found:
        _must_be_free(BY_ID[name], found, places[name])
    return found


def _key(text: str, where: str) -> str:
    """One key, by the name under which the program hears it."""
    typed = text.strip()
    key = typed.lower() if len(typed) > 1 else typed
    key = _SAME.get(key, key)
    if len(key) == 1 and key.isprintable():
        return _character_to_key(key)
    *held, last = key.split("+")
    letter = len(last) == 1 and last.isalnum() and held != ["shift"]
    if key in _KEYS or key in _SIGNS:
        return key
    if held and set(held) <= _MODIFIERS and (letter or last in _KEYS):
        return "+".join([*sorted(set(held)), last])  # the order in which a terminal's keys are named
    raise UsageError(f"'{shortened(typed)}' is no key; keys are written as in f2, ctrl+n, pagedown, y", where)


def _must_be_free(action: Action, mine: dict[str, str], where: str) -> None:
    """Two actions of one screen never share a key; going on is never typed; a yes and a sign-off never go on."""
    keys = set(mine[action.id].split(","))
    for other in ACTIONS:
        if other.id == action.id or not (other.place == action.place or EVERYWHERE in (other.place, action.place)):
            continue
        theirs = set(mine[other.id].split(",") if other.id in mine else other.keys)
        for key in sorted(keys & theirs):
            raise UsageError(f"{key_text(key)} is the key of {other.id} ({other.label.lower()}) already", where)
    if action.place == WALK:
        for key in sorted(keys & _EDITING - set(action.keys)):
            raise UsageError(f"{key_text(key)} edits what is typed in the entry; take another key", where)
    if action.id in _GOING_ON and any(len(key) == 1 or key in _SIGNS for key in keys):
        raise UsageError("this key cannot be a letter or a sign: it would be typed into the entry", where)
    if action.id in _ON_PURPOSE:
        for key in sorted(keys & {key for name in _GOING_ON for key in BY_ID[name].keys}):
            raise UsageError(f"{key_text(key)} goes on out of habit; take a key that is pressed on purpose", where)


def key_of(action_id: str, mine: Mapping[str, str]) -> str:
    """The first key of an action, as it is written on screen."""
    own = mine.get(action_id, "").split(",")[0]
    return key_text(own or BY_ID[action_id].keys[0])
