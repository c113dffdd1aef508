"""Keys of one's own: what a keys file may say, what it is refused for and where, and that no key is lost or shared."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import assume, event, example, given
from hypothesis import strategies as st
from textual.app import App
from textual.binding import Binding, BindingsMap
from textual.widgets import Input

from benchwalk.errors import UsageError
from benchwalk.screens import keymap
from benchwalk.screens.actions import ACTIONS, BY_ID, EVERYWHERE, PLACES, WALK, at

GOING_ON = ("walk.next", "walk.foot", "walk.not_yet")


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """Where a keys file may stand."""
    return tmp_path / "keys.yaml"


def loaded(file: Path, text: str) -> dict[str, str]:
    """What a file of that text gives."""
    file.write_text(text, encoding="utf-8")
    return keymap.load(file)


def refusal(file: Path, text: str) -> tuple[str, str]:
    """(place without the folder, sentence) with which a file of that text is refused."""
    with pytest.raises(UsageError) as refused:
        loaded(file, text)
    assert str(refused.value.where).startswith(str(file))
    return str(refused.value.where).removeprefix(str(file.parent) + os.sep), refused.value.message


def heard(place: str, mine: Mapping[str, str]) -> dict[str, set[str]]:
    """Action id to the keys that reach it on the screen of a place, as the screen library itself lays a keymap over."""
    given_back: dict[str, set[str]] = {}
    for name in (place, EVERYWHERE):
        laid = BindingsMap(keymap.bindings(name))
        laid.apply_keymap(App._normalize_keymap(dict(mine)))
        for key, bound in laid.key_to_bindings.items():
            for binding in bound:
                given_back.setdefault(str(binding.id), set()).add(key)
    return given_back


def editing() -> set[str]:
    """The keys that edit an entry, aside from Enter and the copying that is everywhere."""
    keys = {key for bound in Input.BINDINGS if isinstance(bound, Binding) for key in bound.key.split(",")}
    return keys - {"enter"} - {key for action in at(EVERYWHERE) for key in action.keys}


# --- what works ------------------------------------------------------------------------------------------------------


def test_without_a_file_every_action_keeps_its_keys(tmp_path: Path) -> None:
    """Where there is no file there are no keys of one's own."""
    assert keymap.load(tmp_path / "none" / "keys.yaml") == {}


@pytest.mark.parametrize("text", ["", "\n\n", "# nothing yet\n", "---\n"])
def test_file_that_says_nothing_changes_nothing(file: Path, text: str) -> None:
    """An empty file, or one of comments, is no mistake."""
    assert loaded(file, text) == {}


def test_keys_are_taken_as_people_write_them(file: Path) -> None:
    """Capitals, spaces round commas, quotes, signs by themselves or by name, and a comment behind are understood."""
    text = 'walk.note: F2 , Shift+Ctrl+Z  # as before\nwalk.again: "shift+f8"\nbench.find: /\nbook.find: slash\n'
    assert loaded(file, text) == {
        "walk.note": "f2,ctrl+shift+z",
        "walk.again": "shift+f8",
        "bench.find": "slash",
        "book.find": "slash",
    }


def test_a_letter_of_yaml_is_a_key(file: Path) -> None:
    """`y` and `n`, which other readers of YAML take for truth, are the letters."""
    assert loaded(file, "walk.yes: n\nwalk.note: y\n") == {"walk.yes": "n", "walk.note": "y"}


def test_two_actions_change_places(file: Path) -> None:
    """Each takes the other's key, whichever stands first, and on screen each is heard on its new one alone."""
    for text in ("walk.note: f3\nwalk.fix: f2\n", "walk.fix: f2\nwalk.note: f3\n"):
        keys = heard(WALK, loaded(file, text))
        assert (keys["walk.note"], keys["walk.fix"]) == ({"f3"}, {"f2"})


def test_the_same_key_may_serve_two_screens(file: Path) -> None:
    """Places that are never asked together may share a key, as they do without a file."""
    mine = loaded(file, "walk.note: alt+z\nbench.book: alt+z\n")
    assert heard(WALK, mine)["walk.note"] == heard("bench", mine)["bench.book"] == {"alt+z"}


def test_first_key_is_the_one_shown(file: Path) -> None:
    """What stands on screen is the first of the own keys, else the first of the list, as people write it."""
    mine = loaded(file, "walk.note: alt+z, f2\nbench.find: slash\n")
    assert keymap.key_of("walk.note", mine) == "Alt+Z"
    assert (keymap.key_of("walk.foot", mine), keymap.key_of("bench.find", mine)) == ("PgDn", "/")


def test_no_action_shares_a_key_without_a_file() -> None:
    """The list itself gives every action of every screen each of its keys."""
    for place in PLACES:
        wanted = {action.id: set(action.keys) for action in [*at(place), *at(EVERYWHERE)]}
        assert heard(place, {}) == wanted


# --- what is refused, and where --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "where", "says"),
    [
        ("walk.noet: f2", "1:1", "'walk.noet' is no action; did you mean walk.note?"),
        ("# mine\n\nbench.bok: alt+z\n", "3:1", "'bench.bok' is no action; did you mean bench.book?"),
        ("xyzzy.plugh: f2", "1:1", "'xyzzy.plugh' is no action; docs/keys.md lists them"),
        ("1: f2", "1:1", "'1' is no action; docs/keys.md lists them"),
        ("walk.note: f99", "1:12", "'f99' is no key; keys are written as in f2, ctrl+n, pagedown, y"),
        ("walk.note:   contrl+b", "1:14", "'contrl+b' is no key; keys are written as in f2, ctrl+n, pagedown, y"),
        ("walk.note: f2, Page-down", "1:12", "'Page-down' is no key; keys are written as in f2, ctrl+n, pagedown, y"),
        ("walk.note: shift+a", "1:12", "'shift+a' is no key; keys are written as in f2, ctrl+n, pagedown, y"),
        ("walk.note: f2,", "1:12", "'' is no key; keys are written as in f2, ctrl+n, pagedown, y"),
        ("walk.note: <any>", "1:12", "'<any>' is no key; keys are written as in f2, ctrl+n, pagedown, y"),
        ("walk.note:", "1:11", "keys are expected after walk.note, as in `walk.note: f2, ctrl+n`"),
        ("walk.note: [f2, f3]", "1:12", "keys are expected after walk.note, as in `walk.note: f2, ctrl+n`"),
        ("walk.note: {key: f2}", "1:12", "keys are expected after walk.note, as in `walk.note: f2, ctrl+n`"),
        ("walk.fix: alt+z\nwalk.note: f2\nwalk.fix: f3", "3:1", "'walk.fix' is given twice here"),
        ("walk: note: f2", "1:11", "the colon after 'note' makes a key of it"),
        ("walk.note: [f2", "1:12", "the [ opened here is not closed"),
        ("walk.note: ?", "1:12", "a text cannot start with ? here"),
    ],
)
def test_what_cannot_be_understood_is_said_with_its_place(file: Path, text: str, where: str, says: str) -> None:
    """An action or key that is not known, or a line that is none, is one sentence with its line and column."""
    place, message = refusal(file, text)
    assert place == f"keys.yaml:{where}"
    assert message.startswith(says) and "\n" not in message


@pytest.mark.parametrize(
    ("text", "where", "says"),
    [
        ("walk.note: f3", "1:12", "F3 is the key of walk.fix (correct) already"),
        ("walk.note: alt+z\nwalk.fix: alt+z", "1:12", "Alt+Z is the key of walk.fix (correct) already"),
        ("walk.note: f3\nwalk.fix: f3", "1:12", "F3 is the key of walk.fix (correct) already"),
        ("walk.fix: f2, alt+z", "1:11", "F2 is the key of walk.note (note) already"),
        ("walk.note: f12", "1:12", "F12 is the key of everywhere.look (look) already"),
        ("everywhere.look: enter", "1:18", "Enter is the key of walk.next (done) already"),
        ('walk.note: "?"', "1:13", "? is the key of everywhere.help (help) already"),
        ("walk.note: question_mark", "1:12", "? is the key of everywhere.help (help) already"),
        ("walk.note: ctrl+m", "1:12", "Enter is the key of walk.next (done) already"),
        ("bench.book: ctrl+[", "1:13", "Esc is the key of bench.close (all jobs) already"),
    ],
)
def test_a_key_that_two_actions_of_one_screen_want_is_refused(file: Path, text: str, where: str, says: str) -> None:
    """Whether the other is in the file or keeps its own, on the same screen or on all, by whatever name of the key."""
    assert refusal(file, text) == (f"keys.yaml:{where}", says)


@pytest.mark.parametrize("action", GOING_ON)
@pytest.mark.parametrize("key", ["g", "G", "7", "é", "space", "slash", '"+"'])
def test_going_on_is_never_typed(file: Path, action: str, key: str) -> None:
    """No letter, figure or sign goes on: it would be typed into the entry."""
    place, message = refusal(file, f"{action}: {key}")
    assert place.startswith("keys.yaml:1:")
    assert message == "this key cannot be a letter or a sign: it would be typed into the entry"


@pytest.mark.parametrize("key", sorted(editing()))
def test_keys_that_edit_are_not_taken_from_the_entry(file: Path, key: str) -> None:
    """In a walk no action takes a key that edits what is typed."""
    place, message = refusal(file, f"walk.note: {key}")
    assert place == "keys.yaml:1:12" and message.endswith("edits what is typed in the entry; take another key")


@pytest.mark.parametrize("action", ["walk.yes", "walk.sign"])
@pytest.mark.parametrize(
    ("moved", "key"), [("walk.next", "enter"), ("walk.foot", "pagedown"), ("walk.not_yet", "pageup")]
)
def test_a_yes_on_purpose_takes_no_key_of_habit(file: Path, action: str, moved: str, key: str) -> None:
    """Even where going on has moved away, Enter and the foot switch pass no hazard, count or look."""
    place, message = refusal(file, f"{moved}: f13\n{action}: {key}")
    assert place.startswith("keys.yaml:2:") and message.endswith("take a key that is pressed on purpose")


@pytest.mark.parametrize("text", ["- walk.note\n- f2\n", "walk.note f2", "3", "[f2, f3]"])
def test_something_else_than_lines_of_actions_is_refused(file: Path, text: str) -> None:
    """A list, a sentence or a number is no keys file, and what is expected is said."""
    _place, message = refusal(file, text)
    assert "as in `walk.note: f2`" in message or "write keys and values" in message


def test_unreadable_file_is_said(file: Path) -> None:
    """A folder of that name, or a file that is no text, is refused in one sentence with the file."""
    file.mkdir()
    with pytest.raises(UsageError) as refused:
        keymap.load(file)
    assert refused.value.message.startswith("your keys cannot be read: ") and refused.value.where == str(file)
    file.rmdir()
    file.write_bytes(b"walk.note: \xff\xfe\n")
    with pytest.raises(UsageError) as refused:
        keymap.load(file)
    assert str(refused.value.where).startswith(f"{file}:1:") and "\n" not in refused.value.message


def test_hostile_text_is_shown_short_and_harmless(file: Path) -> None:
    """A long or an ugly name is shortened and written out in the refusal."""
    _place, message = refusal(file, json.dumps("\x1b[31m" + "x" * 500) + ": f2")
    assert len(message) < 200 and "\x1b" not in message


# --- whatever is accepted --------------------------------------------------------------------------------------------

_FREE = ("alt+z", "ctrl+t", "f13", "f14", "f20", "alt+n", "ctrl+1", "shift+up", "z", "Q", "9", "%", "space", "Ctrl+M")
_USED = tuple(sorted({key for action in ACTIONS for key in action.keys} | {"?", "/", "ctrl+i", "home", "left"}))
_KEY = st.sampled_from(_FREE) | st.sampled_from(_USED)


@st.composite
def keymaps(draw: st.DrawFn) -> dict[str, list[str]]:
    """Keys for some actions: any of them, and of one place the keys it has, dealt anew."""
    mine = draw(
        st.dictionaries(st.sampled_from([a.id for a in ACTIONS]), st.lists(_KEY, min_size=1, max_size=2), max_size=2)
    )
    dealt = draw(
        st.lists(st.sampled_from(at(draw(st.sampled_from(list(PLACES))))), min_size=2, max_size=5, unique=True)
    )
    return mine | {a.id: list(b.keys) for a, b in zip(dealt, draw(st.permutations(dealt)), strict=True)}


@given(mine=keymaps())
@example(mine={"walk.note": ["?"]})
@example(mine={"walk.note": ["ctrl+m"]})
@example(mine={"everywhere.copy": ["alt+z"], "walk.note": ["ctrl+c"]})
def test_what_is_accepted_gives_every_action_its_keys_alone(mine: dict[str, list[str]]) -> None:
    """Whatever file is accepted: on every screen each action is heard on each of its keys, and no key has two."""
    with TemporaryDirectory() as folder:
        file = Path(folder, "keys.yaml")
        text = "".join(f"{name}: {json.dumps(', '.join(keys), ensure_ascii=False)}\n" for name, keys in mine.items())
        try:
            accepted = loaded(file, text)
        except UsageError as refused:
            assert str(refused.where).startswith(f"{file}:")
            event("refused")
            return
    event("accepted")
    assert list(accepted) == list(mine)
    for place in PLACES:
        keys = heard(place, accepted)
        wanted = {
            action.id: set(accepted[action.id].split(",")) if action.id in accepted else set(action.keys)
            for action in [*at(place), *at(EVERYWHERE)]
        }
        assert keys == wanted
        assert sum(map(len, keys.values())) == len(set().union(*keys.values())), place


@given(key=st.text(min_size=1, max_size=12))
def test_any_key_is_taken_or_refused_in_a_sentence(key: str) -> None:
    """Whatever stands after an action, it is a key that a screen can hear, or one sentence with its place."""
    assume("," not in key)
    with TemporaryDirectory() as folder:
        file = Path(folder, "keys.yaml")
        try:
            accepted = loaded(file, f"people.close: {json.dumps(key)}\n")
        except UsageError as refused:
            assert "\n" not in refused.message and str(refused.where).startswith(f"{file}:1:")
            return
    assert heard("people", accepted)["people.close"] == {accepted["people.close"]}
    assert BY_ID["people.close"].place == "people"
