"""A job whose folder was made and whose work ended before its first event: listed as such, and not as damaged."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from benchwalk import session as session_module
from benchwalk.job.folder import NOT_OPENED, JobFolder, never_opened
from benchwalk.job.shop import Shop
from shop_helpers import begin, command, document, fresh_shop


class Killed(BaseException):
    """The program ends here, and nothing of it runs on."""


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with three people."""
    return fresh_shop(tmp_path)


KILLS = ["JobLog.open", "pin_text", "keep_owner", "do"]
"""Where the program is killed while it opens a job, in order."""


def killed(shop: Shop, where: str, monkeypatch: pytest.MonkeyPatch) -> JobFolder:
    """A job's folder as a kill at that point of its opening leaves it."""

    def kill(*_: object, **__: object) -> None:
        raise Killed

    owner, _, name = where.rpartition(".")
    target = session_module.JobLog if owner else session_module.Session if name == "do" else session_module
    with monkeypatch.context() as patch:
        patch.setattr(target, name, kill)
        patch.setattr(session_module, "_discard", lambda folder: None)
        with pytest.raises(Killed):
            begin(shop, kind="customer", owner={"name": "A. Player"}, salt=b"0123456789abcdef")
    return shop.job("J-0001")


@pytest.mark.parametrize("where", KILLS)
def test_a_kill_before_the_first_event_leaves_a_job_that_was_never_opened(
    shop: Shop, where: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Wherever the opening is cut, the list says it in one sentence, the audit calls nothing damaged, and the next job
    gets the next number."""
    assert never_opened(killed(shop, where, monkeypatch))
    ran = command("jobs", shop=shop.root)
    known = "  (A. Player)" if where == "do" else ""
    assert (ran.returncode, ran.stdout, ran.stderr) == (0, f"J-0001  ?  ?  {NOT_OPENED}{known}\n", "")
    row = document(command("jobs", "--json", shop=shop.root).stdout)["jobs"][0]
    assert row["state"] == NOT_OPENED and row["owner"] in ("", "A. Player")
    assert NOT_OPENED in command(shop=shop.root).stdout
    for words in (("audit",), ("audit", "J-0001"), ("audit", "--again")):
        ran = command(*words, shop=shop.root)
        assert (ran.returncode, ran.stdout) == (0, f"J-0001  0 events  {NOT_OPENED}\n")
    data = document(command("audit", "--json", shop=shop.root).stdout)["jobs"][0]
    assert (data["ok"], data["events"], data["why"], data["head"]) == (True, 0, NOT_OPENED, None)
    for words in (("show", "J-0001"), ("walk", "--job", "J-0001", "--who", "Tam")):
        ran = command(*words, shop=shop.root)
        assert ran.returncode == 3 and ": Job J-0001 was never opened: " in ran.stderr
    with begin(shop) as session:
        assert session.state.job == "J-0002"


def _log_gone(folder: JobFolder) -> None:
    folder.log.unlink()


def _log_gone_with_pictures(folder: JobFolder) -> None:
    folder.log.unlink()
    for text in folder.texts.iterdir():
        text.unlink()
    (folder.files / "a.png").write_bytes(b"x")


def _log_emptied_with_pictures(folder: JobFolder) -> None:
    folder.log.write_bytes(b"")
    (folder.files / "a.png").write_bytes(b"x")


@pytest.mark.parametrize("harm", [_log_gone, _log_gone_with_pictures, _log_emptied_with_pictures])
def test_a_log_that_is_gone_is_not_a_job_that_was_never_opened(shop: Shop, harm: Callable[[JobFolder], None]) -> None:
    """Texts without a log, or pictures beside an empty one, are traces of work: nobody is told to delete that."""
    with begin(shop) as session:
        folder = session.folder
    harm(folder)
    assert not never_opened(folder)
    assert NOT_OPENED not in command("audit", shop=shop.root).stdout
    assert "may be deleted" not in command("jobs", shop=shop.root).stdout or folder.log.exists()


def test_a_head_kept_outside_is_looked_for_all_the_same(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a head was kept outside, an empty log is not as written."""
    killed(shop, "do", monkeypatch)
    ran = command("audit", "J-0001", "--head", "a" * 16, shop=shop.root)
    assert ran.returncode == 1 and "is not in this log" in ran.stdout
