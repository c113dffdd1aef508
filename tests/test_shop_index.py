"""The index of a shop's jobs: always what reading every log would give, and never in anybody's way."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import benchwalk.shop.index as index_module
import benchwalk.shop.listing as listing_module
from benchwalk.job.folder import JobFolder
from benchwalk.job.owner import remove_owner
from benchwalk.job.shop import Shop
from benchwalk.paths import shop_cache
from benchwalk.session import Books
from benchwalk.shop.bench import bench
from benchwalk.shop.index import BooksOf, Index, matching
from benchwalk.shop.listing import listing
from benchwalk.walk import acts
from shop_helpers import APPRENTICE, SENIOR, Clock, begin, drive, fresh_shop, resume, tree
from walk_helpers import GAP, INNER, OUTER, REST, RESTED, SNIP, TIED, linked

OWNER = {"owner": {"name": "Vesna Marchetti"}, "salt": b"s" * 16}


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with three people."""
    return fresh_shop(tmp_path)


def opened(shop: Shop) -> Index:
    """The index as it was kept."""
    return Index.of(shop, BooksOf(Books))


def all_read(shop: Shop) -> list[dict[str, Any]]:
    """What reading every log gives, without the owners' names."""
    return [{**row, "owner": ""} for row in listing(shop, lambda folder, state: Books(folder, state.texts))]


def file_of(shop: Shop) -> Path:
    """Where the index lies."""
    return shop_cache(shop.root) / "index.json"


# --- the same as the listing -----------------------------------------------------------------------------------------

CHANGES = ("new", "ready", "note", "pause", "damage", "mend", "cut", "gone", "copied", "kept", "lost", "spoiled")


class Shelf:
    """A shop that is changed at random, beside an index that has to keep up."""

    def __init__(self, shop: Shop) -> None:
        self.shop = shop
        self.index = opened(shop)
        self.whole: dict[str, bytes] = {}

    def change(self, what: str, which: int) -> None:
        """Do one of CHANGES to one of the jobs, or to the index's file."""
        jobs = self.shop.jobs()
        if what == "new" or not jobs:
            begin(self.shop, linked(GAP), drum={}, note={"instrument": f"drum {which}"}).close()
            return
        job = jobs[which % len(jobs)]
        log = self.shop.job(job).log
        match what:
            case "ready" | "note" | "pause" if job not in self.whole:
                act: acts.Act = {"ready": acts.Ready(), "note": acts.Note("seen"), "pause": acts.Pause("later")}[what]
                with resume(self.shop, job) as session:
                    session.do(act)
            case "damage" if job not in self.whole:
                self.whole[job] = log.read_bytes()
                log.write_bytes(self.whole[job].replace(b'"job"', b'"jab"', 1))
            case "mend" if job in self.whole:
                log.write_bytes(self.whole.pop(job))
            case "cut" if job not in self.whole:
                self.whole[job] = log.read_bytes()
                log.write_bytes(self.whole[job][:-9])
            case "gone":
                shutil.rmtree(log.parent)
                self.whole.pop(job, None)
            case "copied":
                target = self.shop.jobs_folder / f"J-{800 + which:04}"
                shutil.rmtree(target, ignore_errors=True)
                shutil.copytree(log.parent, target)
                self.whole.pop(target.name, None)
                if job in self.whole:
                    self.whole[target.name] = self.whole[job]
            case "kept":
                self.index.save()
                self.index = opened(self.shop)
            case "lost":
                shutil.rmtree(file_of(self.shop).parent, ignore_errors=True)
                self.index = opened(self.shop)
            case "spoiled" if file_of(self.shop).exists():
                data = file_of(self.shop).read_bytes()
                file_of(self.shop).write_bytes(data[: len(data) // (which + 2)])
                self.index = opened(self.shop)


@settings(max_examples=12)
@given(st.lists(st.tuples(st.sampled_from(CHANGES), st.integers(0, 3)), min_size=3, max_size=10))
def test_index_is_what_the_listing_is(tmp_path_factory: pytest.TempPathFactory, changes: list[tuple[str, int]]) -> None:
    """After any changes to logs, folders and the index's own file, the rows are those of reading every log."""
    shelf = Shelf(fresh_shop(tmp_path_factory.mktemp("shop")))
    for what, which in [("new", 0), *changes]:
        shelf.change(what, which)
        assert shelf.index.rows() == all_read(shelf.shop)


def test_only_changed_logs_are_read_again(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """With an index that was kept, a log is read only where it was written to since."""
    for _ in range(3):
        begin(shop, linked(GAP), drum={}).close()
    first = opened(shop)
    first.rows()
    first.save()
    with resume(shop, "J-0002") as session:
        session.do(acts.Note("seen"))
    read: list[str] = []
    real = listing_module.row_of

    def noted(folder: JobFolder, books: Any) -> Any:
        read.append(folder.id)
        return real(folder, books)

    monkeypatch.setattr(listing_module, "row_of", noted)
    assert len(opened(shop).rows()) == 3 and read == ["J-0002"]


def test_job_that_lost_its_texts_takes_nothing_from_the_others(shop: Shop) -> None:
    """Of two jobs worked to the same procedure, the one whose copy is whole is read whichever was asked first."""
    for _ in range(2):
        with begin(shop, linked(GAP), drum={}) as session:
            drive(session, "@measure")
    for text in shop.job("J-0001").texts.iterdir():
        text.unlink()
    rows = opened(shop).rows()
    assert [row["state"].startswith("cannot be read") for row in rows] == [True, False]
    assert rows[1] == all_read(shop)[1]


# --- what it holds, and where it cannot be ---------------------------------------------------------------------------


def test_owners_name_is_never_written_into_the_index(shop: Shop) -> None:
    """The index holds no fact of an owner; the name is shown from its own file, and is gone once that is."""
    begin(shop, kind="customer", **OWNER).close()
    index = opened(shop)
    index.rows()
    assert index.owner("J-0001") == "Vesna Marchetti"
    index.save()
    assert b"Vesna" not in file_of(shop).read_bytes() and file_of(shop).stat().st_mode & 0o077 == 0
    remove_owner(shop.job("J-0001"))
    assert index.owner("J-0001") == ""


@pytest.mark.parametrize(
    "spoil",
    [
        lambda data: b"",
        lambda data: b"[]",
        lambda data: b"null",
        lambda data: data[:-20],
        lambda data: data.replace(b'"format":', b'"farmat":'),
        lambda data: json.dumps({**json.loads(data), "format": 0}).encode(),
        lambda data: json.dumps({**json.loads(data), "program": "0"}).encode(),
        lambda data: json.dumps({**json.loads(data), "shop": "elsewhere"}).encode(),
        lambda data: json.dumps({**json.loads(data), "jobs": {"J-0001": [1, 2, 3, {}]}}).encode(),
        lambda data: json.dumps({**json.loads(data), "jobs": {"J-0001": []}}).encode(),
        lambda data: data.replace(b'"first":2', b'"first":9'),
        lambda data: data.replace(b'"title":"', b'"title":7,"x":"'),
        lambda data: b"\xff\xfe",
    ],
)
def test_spoiled_index_counts_as_none(shop: Shop, spoil: Any) -> None:
    """An index that is damaged, or of another version or shop, is made anew without a word."""
    begin(shop, linked(GAP), drum={}).close()
    index = opened(shop)
    index.rows()
    index.save()
    data = file_of(shop).read_bytes()
    assert opened(shop).known()[1] == []
    file_of(shop).write_bytes(spoil(data))
    again = opened(shop)
    assert again.known() == ([], ["J-0001"])
    assert again.rows() == all_read(shop)
    again.save()
    assert file_of(shop).read_bytes() == data


def test_shop_and_cache_that_cannot_be_written_are_no_trouble(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there is no room for an index there is none; reading changes nothing in the shop."""
    begin(shop, linked(GAP), drum={}).close()
    in_the_way = Path(os.environ["XDG_CACHE_HOME"])
    in_the_way.parent.mkdir(parents=True, exist_ok=True)
    in_the_way.write_text("a file where the folder should be")
    before = tree(shop.root)
    index = opened(shop)
    assert index.rows() == all_read(shop)
    index.save()
    assert tree(shop.root) == before and in_the_way.is_file()
    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.setenv("HOME", "nowhere")
    monkeypatch.setattr(Path, "home", lambda: Path("nowhere"))
    assert opened(shop).rows() == all_read(shop)


# --- what it waits for -----------------------------------------------------------------------------------------------


def test_rows_say_what_a_job_waits_for(shop: Shop) -> None:
    """Each row says in words what is waited for and why: a look, a time, a person, an answer, what was written."""
    begin(shop, linked(GAP), drum={}).close()
    with begin(shop, linked(GAP), drum={}) as session:
        drive(session, "@measure")
        session.do(acts.Pause("the owner's answer about the price"))
    with begin(shop, linked(REST), drum={}) as session:
        drive(session, "wait", **RESTED)
    with begin(shop, linked(OUTER, INNER, SNIP), drum={}) as session:
        drive(session, "hold", **TIED)
    with begin(shop, linked(GAP), drum={}) as session:
        drive(session, "@measure")
        session.do(acts.HandOver(SENIOR, "the gap is odd"))
    with begin(shop, linked(GAP), drum={}) as session:
        drive(session, "@measure")
        session.do(acts.Problem("no gauge fits"))
    with begin(shop, linked(GAP), drum={}) as session:
        drive(session, "ended", gap="4", lie="all")
    rows = {row["job"][-1]: row for row in opened(shop).rows()}
    assert [rows[n]["waits"] for n in "1234567"] == [
        "the first step",
        "the owner's answer about the price",
        "rest",
        "a senior's look",
        "somebody to take it on",
        "an answer to a problem",
        "its release",
    ]
    assert rows["4"]["because"] and rows["5"]["because"] == "the gap is odd" and rows["6"]["because"] == "no gauge fits"
    assert rows["5"]["wanted"] == SENIOR and rows["1"]["wanted"] == APPRENTICE


def test_wait_that_is_over_stands_with_the_looks(shop: Shop) -> None:
    """A time that has passed is wanted as soon as a look; one that still runs comes after the looks."""
    with begin(shop, linked(REST), drum={}) as session:
        drive(session, "wait", **RESTED)
        until = session.now().visit.until  # type: ignore[union-attr]
    with begin(shop, linked(GAP), drum={}) as session:
        drive(session, "ended", gap="4", lie="all")
    rows = opened(shop).rows()
    clock = Clock()
    assert [row["job"] for row in bench(rows, clock())] == ["J-0002", "J-0001"]
    clock.wait(hours=4)
    assert until is not None and clock().isoformat() > until
    assert {row["job"] for row in bench(rows, clock())[:2]} == {"J-0001", "J-0002"}
    with begin(shop, linked(GAP), drum={}) as session:
        drive(session, "@measure")
    rows = opened(shop).rows()
    assert [row["job"] for row in bench(rows, clock())][-1] == "J-0003"


@given(st.text(max_size=12))
def test_words_are_found_in_any_case_and_none_finds_all(typed: str) -> None:
    """Every row has no words at all; a row has each word that stands in it, in capitals or small letters."""
    row = dict.fromkeys(index_module._TEXTS, "") | {"complaint": f"Buzz {typed} [here]"}
    assert matching([row], "") == [row]
    assert matching([row], typed) == [row] and matching([row], typed.upper() + " bUZZ") in ([row], [])
    assert matching([row], "nowhere-at-all") == []
