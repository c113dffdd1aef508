"""A file that is not called after its procedure: told where it has a name that stays, and nowhere else."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest

from benchwalk.authoring.skeleton import skeleton
from benchwalk.library import lasting_name
from shop_helpers import command, fresh_shop
from test_screens_write import findings, known, writing

TEXT = skeleton("check-lever")
TOLD = (
    "1:12: 'check-lever' is looked for in 'check-lever.yaml', and this file is '{}'; rename one of the two "
    "[file-name, advice]"
)


@pytest.mark.parametrize("name", ["xx.yaml", "check-lever.yml", "Check-Lever.yaml"])
def test_file_of_another_name_is_advised_on(tmp_path: Path, name: str) -> None:
    """`check` by path and among a shop's procedures tells it at the value of `procedure`, and still ends with 0."""
    shop = fresh_shop(tmp_path)
    for path in (tmp_path / name, shop.root / "procedures" / name):
        path.write_text(TEXT, encoding="utf-8")
        ran = command("check", path, shop=shop.root)
        assert ran.returncode == 0 and TOLD.format(name) in ran.stdout, ran.stdout


def test_file_called_after_its_id_is_left_alone(tmp_path: Path) -> None:
    """A file `ID.yaml` gives no such advice, wherever it lies."""
    path = tmp_path / "check-lever.yaml"
    path.write_text(TEXT, encoding="utf-8")
    assert "looked for" not in command("check", path).stdout


def test_what_has_no_name_that_stays_is_left_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither what comes on stdin nor a copy right in the folder for such files is held against its id."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    path = tmp_path / "tmp1a2b.yaml"
    path.write_text(TEXT, encoding="utf-8")
    assert "looked for" not in command("check", path).stdout
    assert lasting_name(Path("/dev/stdin")) == "" == lasting_name(path)


def test_advice_can_be_silenced_with_a_reason(tmp_path: Path) -> None:
    """`allow` with a reason takes the advice away; in a file of the right name that silence is told as idle."""
    silent = TEXT.replace("revision: 1\n", "revision: 1\nallow: {file-name: kept beside the old one for a week}\n")
    (tmp_path / "xx.yaml").write_text(silent, encoding="utf-8")
    (tmp_path / "check-lever.yaml").write_text(silent, encoding="utf-8")
    assert "file-name" not in command("check", tmp_path / "xx.yaml").stdout
    assert "file-name" in command("check", tmp_path / "check-lever.yaml").stdout


@pytest.mark.asyncio
async def test_writing_screen_tells_it(tmp_path: Path) -> None:
    """The writing screen advises on the name of the file that it writes, until the procedure is called so."""
    async with writing(tmp_path / "xx.yaml", TEXT) as (pilot, screen):
        assert "is looked for in 'check-lever.yaml'" in " ".join(findings(screen).split())
        screen.editor.text = TEXT.replace("procedure: check-lever", "procedure: xx")
        await pilot.pause()
        await known(pilot, screen)
        assert "looked for" not in findings(screen)
