"""The page of the keys: docs/keys.md is what the list of actions gives, and what it says of a keys file is so."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from benchwalk.errors import UsageError
from benchwalk.paths import keys_file, where
from benchwalk.screens import keymap
from benchwalk.screens.actions import ACTIONS, PLACES, key_text
from benchwalk.screens.gate import QUIET
from benchwalk.screens.keys_page import OWN, REFUSED, keys_page
from benchwalk.screens.looks import LOOKS, first_look
from benchwalk.screens.start import quiet_time
from house import ROOT
from shop_helpers import command


def test_page_is_current() -> None:
    """docs/keys.md is what `make keys` writes."""
    assert (ROOT / "docs" / "keys.md").read_text(encoding="utf-8") == keys_page()


def test_page_is_written_by_its_command() -> None:
    """The module alone prints the page and nothing else, where there is neither shop nor terminal."""
    ran = subprocess.run(
        [sys.executable, "-m", "benchwalk.screens.keys_page"], capture_output=True, encoding="utf-8", check=True
    )
    assert ran.stdout == keys_page() and ran.stderr == ""


def test_every_action_stands_once_under_its_place_with_all_its_keys() -> None:
    """Each action has one row, below the heading of its place, with every key, its label and its sentence."""
    sections = {part.split("\n")[0]: part for part in keys_page().split("\n## ")}
    for action in ACTIONS:
        keys = ", ".join(key_text(key) for key in action.keys)
        row = f"| {keys} | {action.label} | {action.help} | `{action.id}` |"
        assert sections[PLACES[action.place]].count(row + "\n") == 1, action.id
        assert keys_page().count(f"`{action.id}` |\n") == 1, action.id


def test_every_place_has_actions_and_every_sentence_ends() -> None:
    """No place is without a key, no table cell is broken by a bar, and each help is a sentence."""
    assert {action.place for action in ACTIONS} == set(PLACES)
    for action in ACTIONS:
        assert action.help.endswith(".") and "|" not in action.help + action.label, action.id


def test_sample_of_own_keys_works(tmp_path: Path) -> None:
    """The keys file that the page shows is accepted whole, every line of it."""
    file = tmp_path / "keys.yaml"
    file.write_text(OWN, encoding="utf-8")
    assert list(keymap.load(file)) == [line.split(":")[0] for line in OWN.splitlines()]
    assert f"```yaml\n{OWN}```" in keys_page()


@pytest.mark.parametrize(("yaml", "says"), REFUSED, ids=[yaml for yaml, _says in REFUSED])
def test_refused_samples_are_refused_as_the_page_says(tmp_path: Path, yaml: str, says: str) -> None:
    """Each file the page says is refused is refused at that place with those words."""
    file = tmp_path / "keys.yaml"
    file.write_text(yaml, encoding="utf-8")
    with pytest.raises(UsageError) as refused:
        keymap.load(file)
    assert f"{refused.value.where}: {refused.value.message}" == f"{file}:{says}"
    assert f"| {says} |" in keys_page()


def test_page_names_what_the_environment_sets() -> None:
    """The two variables stand there with what they take: every look, and the time that holds without one."""
    for look in LOOKS:
        assert first_look({"BENCHWALK_LOOK": look}) == look and f"`{look}`" in keys_page()
    assert quiet_time({}) == QUIET and f"quiet, for {QUIET} seconds" in keys_page()
    assert quiet_time({"BENCHWALK_QUIET": "1,5"}) == 1.5 and "`BENCHWALK_QUIET`" in keys_page()


def test_where_names_the_keys_file(bare_machine: Path, tmp_path: Path) -> None:
    """`benchwalk where` names the file that is read for one's own keys, and whether it is there."""
    assert where()["keys"] == str(keys_file()) and keys_file().name in keys_page()
    lines = dict(line.split(": ", 1) for line in command("where", shop=tmp_path).stdout.splitlines())
    assert lines["keys"] == f"{keys_file()} (not there yet)"
    keys_file().parent.mkdir(parents=True)
    keys_file().write_text("walk.note: ctrl+z\n", encoding="utf-8")
    lines = dict(line.split(": ", 1) for line in command("where", shop=tmp_path).stdout.splitlines())
    assert lines["keys"] == str(keys_file())
