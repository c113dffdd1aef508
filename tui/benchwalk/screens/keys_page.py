"""The page of the keys: docs/keys.md, made from the list of actions.

python -m benchwalk.screens.keys_page > docs/keys.md
"""

from __future__ import annotations

from .actions import PLACES, Action, at, key_text
from .gate import QUIET
from .looks import LOOK_VARIABLE, LOOKS
from .start import QUIET_VARIABLE

OWN = """\
walk.note: f3
walk.fix: f2                # the two keys change places
walk.again: f8, ctrl+t      # two keys for one action
walk.newest: alt+n          # ctrl+t is taken now, so this one moves
walk.foot: f13              # a foot switch that sends another key
bench.find: "?"             # some signs need quotes in YAML ...
everywhere.help: f1         # ... and ? was one of the keys of help
"""
"""A file of one's own keys that works."""

REFUSED: tuple[tuple[str, str], ...] = (
    ("walk.noet: f2", "1:1: 'walk.noet' is no action; did you mean walk.note?"),
    ("walk.note: f99", "1:12: 'f99' is no key; keys are written as in f2, ctrl+n, pagedown, y"),
    ("walk.note: f3", "1:12: F3 is the key of walk.fix (correct) already"),
    ("walk.note: f12", "1:12: F12 is the key of everywhere.look (look) already"),
    ("walk.note: ctrl+a", "1:12: Ctrl+A edits what is typed in the entry; take another key"),
    ("walk.next: g", "1:12: this key cannot be a letter or a sign: it would be typed into the entry"),
    ("walk.yes: pagedown", "1:11: PgDn is the key of walk.foot (next (foot)) already"),
    (
        "walk.next: f13\nwalk.yes: enter",
        "2:11: Enter goes on out of habit; take a key that is pressed on purpose",
    ),
)
"""Files that are refused, and what is said of each."""

_HEAD = """\
# The keys

Made from the list of actions in `screens/actions.py`; do not edit it here. On screen F1 says what the keys do where
you are, and F9 in a walk lists everything that can be done there, with why the rest cannot. Ctrl+P finds any of it by
a part of its name.
"""

_HANDS = f"""\
## Wet hands and a foot switch

A foot switch that sends PgDn and PgUp carries the tying alone, and a third pedal may send F8:

| key | what it does |
|---|---|
| PgDn | next: it is done; of two choices it takes the wanted one |
| PgUp | not yet: what to try is said; of two choices it takes the other one |
| F8 | says the stop again, with all its words |

What the two do among choices stands under the choices before you press one. A value is typed; a hazard, a count and a
sign-off take a key of their own, which no foot switch sends.

A key that goes on counts only when the stop has been on screen, and those keys quiet, for {QUIET} seconds: a switch
that chatters, or a key that is held down, goes on by one stop at most. `{QUIET_VARIABLE}` sets another time in
seconds, from 0 to 5.
"""

_OWN = f"""\
## Keys of your own

They stand in a file `keys.yaml`; `benchwalk where` names its place after `keys:`. One action a line, its name as
in the tables above, then its keys with commas between them. What is written replaces the keys that action had; actions
that are not named keep theirs. The file is read when the program starts.

```yaml
{OWN}```

Keys are written as `f2`, `ctrl+n`, `alt+n`, `pagedown`, `escape`, `space`, `slash`, or a letter or sign itself.
Whether a terminal sends `alt` or F13 and above depends on the terminal.

Where a line cannot work, none of the file holds: the program opens with its own keys, and its first screen says why
with file, line and column:

"""

_ENVIRONMENT = f"""\
## Looks, and other settings

F12 goes through the looks, and the one chosen last is kept beside the keys. `{LOOK_VARIABLE}` comes first, for this
run: {", ".join(f"`{look}`" for look in LOOKS)}. Without either, a terminal of few colours gets its own
sixteen. `NO_COLOR` takes the colours away; nothing rests on colour alone. `--no-mouse` leaves the mouse to the
terminal, and `--plain` leaves the full screen: the same walk, line by line.
"""


def keys_page() -> str:
    """The whole page, as Markdown."""
    parts = [_HEAD]
    parts += [f"## {words}\n\n{_table(at(place))}" for place, words in PLACES.items()]
    wrong = "".join(f"| `{yaml}` | {says} |\n" for yaml, says in map(_cells, REFUSED))
    parts += [_HANDS, f"{_OWN}| written | said |\n|---|---|\n{wrong}"]
    return "\n".join([*parts, _ENVIRONMENT])


def _table(actions: list[Action]) -> str:
    rows = [f"| {_keys(action)} | {action.label} | {action.help} | `{action.id}` |\n" for action in actions]
    return "| key | | what it does | name |\n|---|---|---|---|\n" + "".join(rows)


def _keys(action: Action) -> str:
    return ", ".join(key_text(key) for key in action.keys)


def _cells(refused: tuple[str, str]) -> tuple[str, str]:
    return refused[0].replace("\n", "`, `"), refused[1]


if __name__ == "__main__":
    print(keys_page(), end="")
