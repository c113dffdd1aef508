"""The audit: what it names when a record is not as it was written, on real finished jobs."""

from __future__ import annotations

import json
import shutil
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from benchwalk.job.audit import audit, audit_job
from benchwalk.job.line import FIRST, seal
from benchwalk.job.log import read
from benchwalk.job.owner import owner_matches, remove_owner
from benchwalk.job.shop import Shop
from benchwalk.session import Books
from benchwalk.sums import compute
from benchwalk.walk.again import differences
from benchwalk.walk.desk import Bench
from benchwalk.walk.view import fraction
from house import ROOT

JOB, OTHER = "J-0001", "J-0003"


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A copy of the sample shop that may be spoiled."""
    folder = tmp_path / "shop"
    shutil.copytree(ROOT / "sample_jobs", folder, ignore=shutil.ignore_patterns("__pycache__", "answers", "*.py"))
    return Shop.open(folder)


def bodies(shop: Shop, job: str = JOB) -> list[dict[str, Any]]:
    """The events of a job without their hashes."""
    return [{k: v for k, v in e.items() if k not in ("before", "hash")} for e in read(shop.job(job).log).events]


def forge(shop: Shop, events: list[dict[str, Any]], job: str = JOB) -> None:
    """Write a log anew with a chain that holds, as somebody who can write the folder could."""
    before, lines = FIRST, []
    for n, event in enumerate(events, 1):
        line, before = seal({**event, "n": n}, n, before)
        lines.append(line)
    shop.job(job).log.write_bytes(b"".join(lines))


def again(shop: Shop, job: str = JOB) -> list[tuple[int, str]]:
    """What differs when the log is worked out once more."""
    folder = shop.job(job)
    events = read(folder.log).events
    bench = Bench(Books(folder, events[0]["texts"]), compute, datetime.fromisoformat(events[-1]["at"]))
    return differences(events, bench)


def test_sound_jobs_are_found_as_written(shop: Shop) -> None:
    """Every sample job is as written, with its number of events and its head, and comes out again the same."""
    rows = audit(shop)
    assert [(row["job"], row["ok"], row["why"]) for row in rows] == [(f"J-000{n}", True, None) for n in (1, 2, 3)]
    assert all(row["events"] == len(read(shop.job(row["job"]).log).events) for row in rows)
    assert again(shop) == []


def test_changed_line_is_named(shop: Shop) -> None:
    """A changed value in the middle of a log is named by its line, and the events before it are counted."""
    log = shop.job(JOB).log
    lines = log.read_bytes().splitlines(keepends=True)
    at = next(i for i, line in enumerate(lines) if b'"330' in line)
    lines[at] = lines[at].replace(b'"330', b'"331', 1)
    log.write_bytes(b"".join(lines))
    row = audit_job(shop, JOB)
    assert (row["ok"], row["first_bad_line"], row["events"]) == (False, at + 1, at) and at > 20


def test_signature_moved_to_another_job_is_named(shop: Shop) -> None:
    """A release copied from one job into another is named there, although the forged chain holds."""
    signature = next(e for e in bodies(shop) if e["what"] == "released")
    events = bodies(shop, OTHER)
    forge(shop, [*events, signature], OTHER)
    row = audit_job(shop, OTHER)
    assert not row["ok"] and row["first_bad_line"] == len(events) + 1
    assert "is for job J-0001, not for this one" in row["why"]


def test_signature_covering_what_comes_later_is_named(shop: Shop) -> None:
    """A sign-off cannot cover events that were not there yet."""
    events = bodies(shop)
    place = next(i for i, e in enumerate(events) if e["what"] == "released")
    events[place] = {**events[place], "covers": [place + 5]}
    forge(shop, events)
    assert audit_job(shop, JOB)["first_bad_line"] == place + 1


def test_text_that_was_changed_or_is_gone_is_named(shop: Shop) -> None:
    """The procedure a job was worked to is part of its record: a changed or missing text fails the audit."""
    text = sorted(shop.job(JOB).texts.iterdir())[0]
    text.write_bytes(text.read_bytes() + b"# later\n")
    assert "is not what was kept" in audit_job(shop, JOB)["why"]
    text.unlink()
    row = audit_job(shop, JOB)
    assert not row["ok"] and "is not kept with the job" in row["why"]


def test_owner_facts_are_held_by_the_log_and_can_be_removed(shop: Shop) -> None:
    """Changed owner's facts are named; removed ones leave a log that is as written and holds none of them."""
    folder = shop.job(JOB)
    digest = bodies(shop)[0]["owner"]
    assert owner_matches(folder, digest) is True
    assert "Alderbrook" not in folder.log.read_text(encoding="utf-8")
    folder.owner.write_text(folder.owner.read_text(encoding="utf-8").replace("Alderbrook", "Elderbrook"), "utf-8")
    assert "the owner's facts are not those the log speaks of" in audit_job(shop, JOB)["why"]
    assert remove_owner(folder) and audit_job(shop, JOB)["ok"]


def test_lines_missing_at_the_end_show_only_against_a_head_kept_outside(shop: Shop) -> None:
    """The honest claim: a log cut at a line boundary looks sound, and only its head kept outside tells."""
    head = audit_job(shop, JOB)["head"]
    log = shop.job(JOB).log
    log.write_bytes(b"".join(log.read_bytes().splitlines(keepends=True)[:-1]))
    assert audit_job(shop, JOB)["ok"]
    assert not audit_job(shop, JOB, head)["ok"]


def test_forged_results_do_not_come_out_again(shop: Shop) -> None:
    """Working a forged log out once more names the sum and the branch that do not follow from the readings."""
    events = bodies(shop)
    worked = next(i for i, e in enumerate(events) if e["what"] == "worked" and e["name"] == "room")
    shift = str(fraction(events[worked]["outputs"]["r"]) + 1)
    events[worked] = {**events[worked], "outputs": {**events[worked]["outputs"], "r": shift}}
    took = next(i for i, e in enumerate(events) if e["what"] == "took" and e["line"] == 0 and e["n"] > 100)
    events[took] = {**events[took], "line": 1}
    forge(shop, events)
    assert "names a head that no event before it has" in audit_job(shop, JOB)["why"]
    forge(shop, [e for e in events if e["what"] != "job_released"])
    assert audit_job(shop, JOB)["ok"], "without the release, which names the head before it, the forged chain holds"
    found = dict(again(shop))
    assert worked + 1 in found and "the sum room gives" in found[worked + 1]
    assert took + 1 in found and "branch" in found[took + 1]


def test_logs_hold_numbers_as_text(shop: Shop) -> None:
    """No line of a real log holds a fraction as a number: digits are kept as text."""
    for line in shop.job(JOB).log.read_text(encoding="utf-8").splitlines():
        json.loads(line, parse_float=lambda text: pytest.fail(f"a fraction: {text}"))
