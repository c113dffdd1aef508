"""Reports made from a screen, what a job is, and what every page that asks says of its keys."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
from textual.widgets import Static

from benchwalk.job.owner import remove_owner
from benchwalk.job.shop import Shop
from benchwalk.screens.about_job import about
from benchwalk.screens.app import BenchwalkApp
from benchwalk.screens.asking import Asking, AskLine, AskText, Confirm, Pick, Reading
from benchwalk.screens.pages import PagesScreen
from benchwalk.screens.procedures import ProceduresScreen
from benchwalk.screens.reporting import KINDS
from benchwalk.session import Session
from benchwalk.walk import acts
from screen_helpers import NARROW, WIDE, part, shown, walking
from shop_helpers import Clock, begin, command, drive, events, fresh_shop, reach_hold
from test_screens_bench import HOSTILE, SALT, benched, busy_template, over, press, rested
from walk_helpers import GAP, linked

pytestmark = pytest.mark.asyncio


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shop:
    """A shop with three people, worked at from a folder of its own."""
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    return fresh_shop(tmp_path)


@pytest.fixture
def busy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shop:
    """A shop with four jobs, one of them finished, worked at from a folder of its own."""
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    shutil.copytree(busy_template(), tmp_path / "shop")
    return Shop.open(tmp_path / "shop")


def customers(shop: Shop) -> Session:
    """A customer's job, just opened."""
    note = {"instrument": "Piccolo", "complaint": "sizzles", "promised": "Friday"}
    owner = {"name": "Vesna Marchetti", "contact": "by the shop's book"}
    return begin(shop, kind="customer", note=note, owner=owner, salt=SALT)


# --- reports ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("keys", [("b", "r"), ("b", "enter", "r"), ("f4", "r")])
async def test_report_is_made_from_the_book_and_from_pages(busy: Shop, keys: tuple[str, ...]) -> None:
    """One key asks which report, names a file after the job in this folder, writes it and says where it lies."""
    job = "J-0004" if keys[0] == "b" else "J-0002"
    async with benched(busy) as (pilot, _screen):
        await press(pilot, *keys[:-1])
        below = over(pilot)
        await press(pilot, keys[-1])
        assert isinstance(over(pilot), Pick) and f"A report of {job}" in shown(pilot)
        await press(pilot, "enter")
        assert isinstance(over(pilot), AskLine) and f"{job}-owner.html" in shown(pilot)
        assert not list(Path.cwd().iterdir())
        await press(pilot, "enter")
        assert isinstance(over(pilot), Reading)
        assert f"/here/{job}-owner.html" in "".join(shown(pilot).replace("│", "").split())
        await press(pilot, "enter")
        assert over(pilot) is below
    made = command("report", job, "--format", "html", shop=busy.root).stdout
    assert Path(f"{job}-owner.html").read_text(encoding="utf-8") == made


async def test_each_report_is_what_the_command_makes(busy: Shop) -> None:
    """Every line of the list writes what `benchwalk report` gives for it, each under a name of its own."""
    async with benched(busy) as (pilot, _screen):
        await press(pilot, "b")
        for number, (audience, form, _words) in enumerate(KINDS, 1):
            await press(pilot, "r", str(number), "enter", "enter", "escape")
            file = Path(f"J-0004-{audience}.{'txt' if form == 'text' else form}")
            made = command("report", "J-0004", "--for", audience, "--format", form, shop=busy.root).stdout
            assert file.read_text(encoding="utf-8") == made
    assert len(list(Path.cwd().iterdir())) == len(KINDS)


async def test_file_that_is_there_is_written_over_only_on_purpose(busy: Shop, tmp_path: Path) -> None:
    """A file of that name is asked about; Escape and Enter leave it, y writes over it. A folder takes it by name."""
    file = Path("J-0004-owner.html")
    file.write_text("mine")
    async with benched(busy) as (pilot, _screen):
        await press(pilot, "b", "r", "enter", "enter")
        assert isinstance(over(pilot), Confirm)
        await press(pilot, "enter")
        assert isinstance(over(pilot), Confirm) and file.read_text() == "mine"
        await press(pilot, "escape")
        assert isinstance(over(pilot), AskLine) and "That file stays as it is." in shown(pilot)
        await press(pilot, "enter", "y")
        assert isinstance(over(pilot), Reading) and "Report to the owner" in file.read_text()
        await press(pilot, "escape", "r", "enter")
        over(pilot).query_one("#asking-line").value = str(tmp_path)
        await press(pilot, "enter")
        assert (tmp_path / file.name).read_text() == file.read_text()


async def test_report_that_cannot_be_written_is_said_and_asked_again(busy: Shop) -> None:
    """Where it cannot be written, why is said above the name, which can be put right or left; nothing is written."""
    async with benched(busy) as (pilot, screen):
        await press(pilot, "b", "r", "enter")
        over(pilot).query_one("#asking-line").value = "no/such/place.html"
        await press(pilot, "enter")
        assert isinstance(over(pilot), AskLine) and "The report cannot be written" in shown(pilot)
        assert over(pilot).query_one("#asking-line").value == "no/such/place.html"
        await press(pilot, "escape")
        assert not list(Path.cwd().iterdir()) and over(pilot) is not screen


async def test_report_of_a_log_that_cannot_be_read_is_refused_in_a_sentence(busy: Shop) -> None:
    """A damaged log gives no report; its own pages or the book say why."""
    async with benched(busy) as (pilot, _screen):
        await press(pilot, "b")
        log = busy.job("J-0004").log
        log.write_bytes(log.read_bytes().replace(b'"gap"', b'"gaq"', 1))
        await press(pilot, "r", "enter")
        assert "is damaged" in part(over(pilot), "message")


async def test_report_is_made_at_the_walks_end_and_not_before(shop: Shop) -> None:
    """At the end of a walk a key makes the report of the job in hand; before it the key says why not."""
    session = begin(shop, linked(GAP), drum={})
    async with walking(session) as (pilot, screen):
        assert "not at its end" in screen.off("report")
    session = begin(shop, linked(GAP), drum={})
    drive(session, "ended", gap="4", lie="all")
    async with walking(session) as (pilot, screen):
        assert screen.off("report") == "" and "r a report" in shown(pilot)
        for _time in ("ended", "released"):
            await press(pilot, "r", "2", "enter")
            over(pilot).query_one("#asking-line").value = f"{_time}.txt"
            await press(pilot, "enter", "enter", "enter")
            assert over(pilot) is screen
    assert "J-0002" in Path("ended.txt").read_text() and "Not released yet" in Path("ended.txt").read_text()
    assert "Not released yet" not in Path("released.txt").read_text()


@pytest.mark.usefixtures("library_walked")
async def test_pages_that_are_of_no_job_make_no_report(shop: Shop) -> None:
    """Where the steps of a procedure are shown, the key of the report is not there."""
    async with benched(shop) as (pilot, _screen):
        await press(pilot, "l", "enter")
        assert isinstance(over(pilot), PagesScreen) and "Report" not in shown(pilot)
        await press(pilot, "r")
        assert isinstance(over(pilot), PagesScreen)


# --- what a job is ---------------------------------------------------------------------------------------------------


async def test_what_a_job_is_stands_one_key_away_in_the_walk(shop: Shop) -> None:
    """A key, and a line of the list of everything, show owner, drum, complaint, promised day and facts; the log is as
    it was, and what is typed stays."""
    session = customers(shop)
    async with walking(session) as (pilot, screen):
        before = session.state.n
        await press(pilot, "n", "o")
        assert "Vesna" not in shown(pilot)
        for first in ("tab", "f9"):
            await press(pilot, first)
            if first == "f9":
                row = next(row for row in shown(pilot).splitlines() if "This job" in row and "Tab" in row)
                await press(pilot, row.strip(" │").split()[0], "enter")
            assert isinstance(over(pilot), Reading)
            text = " ".join(shown(pilot).split())
            for told in ("Owner Vesna Marchetti", "Reached by by the shop's book", "Drum Piccolo", "Complaint sizzles"):
                assert told in text
            assert "Promised for Friday" in text and "Diameter 14 in" in text and "by Tam Reyes" in text
            await press(pilot, "escape")
            assert over(pilot) is screen and screen.entry.value == "no"
        assert session.state.n == before and "Vesna" not in session.folder.log.read_text()


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_what_a_job_is_stands_one_key_away_at_the_bench(shop: Shop, size: tuple[int, int]) -> None:
    """The marked job is told by a key; hostile and long text is shown as typed, wrapped beside its name."""
    note = {"instrument": HOSTILE, "complaint": "It rattles. " * 20}
    with begin(shop, kind="customer", note=note, owner={"name": HOSTILE}, salt=SALT) as session:
        session.do(acts.Ready())
        session.do(acts.Pause("later"))
    before = events(shop, "J-0001")
    async with benched(shop, size) as (pilot, screen):
        await press(pilot, "i")
        rows = [row for row in shown(pilot).splitlines() if "│" in row]
        assert sum(HOSTILE in row for row in rows) == 2
        assert sum("It rattles. It rattles." in row for row in rows) >= 4
        await press(pilot, "enter")
        assert over(pilot) is screen
    assert events(shop, "J-0001") == before


async def test_what_is_told_of_an_owner_who_is_not_kept(shop: Shop) -> None:
    """A removed owner, a changed owner's file and a practice job each say how that is."""
    with customers(shop) as session:
        digest = str(session.events[0]["owner"])

        def first(digest: str = digest) -> list[str]:
            told = about(session.folder, session.state, digest, session.names, Clock()())
            return [text for label, text in told if label in ("Owner", "Reached by", "")]

        assert first() == ["Vesna Marchetti", "by the shop's book"]
        assert "not the owner's facts that were given" in first("0" * 64)[-1]
        remove_owner(session.folder)
        assert first() == ["nothing is kept of them"]
    with customers(shop) as session:
        session.forget_owner()
        assert first() == ["removed on 2 Mar by Tam Reyes; nothing of them is kept"]
    with begin(shop) as session:
        assert first("") == ["nobody's drum"]


# --- pages that ask --------------------------------------------------------------------------------------------------


def asking() -> dict[str, tuple[Asking[Any], str]]:
    """Each kind of page that asks, and what its last line names."""
    return {
        "line": (AskLine("One line"), "Enter Take it Esc Leave it"),
        "text": (AskText("A text"), "Ctrl+S Keep it Esc Leave it"),
        "pick": (Pick("One of several", "", ["one", "two"]), "Enter Take it Esc Leave it"),
        "reading": (Reading("To read", Static("words")), "Enter Close Esc Close"),
        "confirm": (Confirm("On purpose"), "y It is so Esc Look again"),
    }


@pytest.mark.parametrize("kind", asking())
async def test_every_page_that_asks_says_on_its_last_line_how_it_ends(kind: str, shop: Shop) -> None:
    """The last line names each key that ends the page, Enter among them where it does, and what they say is so."""
    page, ends = asking()[kind]
    async with benched(shop) as (pilot, screen):
        answers: list[Any] = []
        await pilot.app.push_screen(page, answers.append)
        await rested(pilot)
        assert shown(pilot).splitlines()[-1].strip() == ends
        if kind == "text":
            assert "Enter begins a new line." in shown(pilot)
            await press(pilot, "a", "enter", "b", "ctrl+s")
            assert answers == ["a\nb"]
        elif kind == "confirm":
            await press(pilot, "enter")
            assert over(pilot) is page and "Enter alone does not say so" in shown(pilot)
            await press(pilot, "y")
            assert answers == [True]
        else:
            await press(pilot, *(["a"] if kind == "line" else []), "enter")
            assert over(pilot) is screen
            assert answers == [{"line": "a", "pick": 0, "reading": None}[kind]]


async def test_line_is_taken_by_the_key_of_ones_own(shop: Shop) -> None:
    """Where `ask.take` is another key, that one takes a typed line, the last line names it, and Enter takes nothing."""
    from benchwalk.screens.bench import BenchScreen

    app = BenchwalkApp(lambda: BenchScreen(shop), quiet=0.0, keys={"ask.take": "f7"})
    async with app.run_test(size=NARROW) as pilot:
        answers: list[Any] = []
        await app.push_screen(AskLine("One line"), answers.append)
        await rested(pilot)
        assert shown(pilot).splitlines()[-1].strip() == "Esc Leave it F7 Take it"
        await press(pilot, "a", "enter")
        assert answers == []
        await press(pilot, "f7")
        assert answers == ["a"]


async def test_marked_line_has_a_sign_before_it_everywhere(busy: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """With no colour at all, in every list one line and no other begins with >, and it moves with the mark."""
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setattr(ProceduresScreen, "_found", lambda self, name: "nothing")
    async with benched(busy) as (pilot, _screen):

        def marked() -> list[str]:
            rows = [row.strip(" │") for row in shown(pilot).splitlines()]
            return [row for row in rows if row.startswith("> ")]

        for keys in ((), ("b",), ("l",), ("e",)):
            await press(pilot, *keys)
            before = marked()
            assert len(before) == 1
            if keys != ("b",):
                await press(pilot, "down")
                assert len(marked()) == 1 and marked() != before
            await press(pilot, *(["escape"] if keys else []))
        await press(pilot, "w", "2")
        assert [row for row in marked() if "Ines Okafor" in row] == ["> 2  Ines Okafor, technician, senior"]


async def test_long_choice_hangs_below_its_words(shop: Shop) -> None:
    """A choice that does not fit one line goes on below its own words, beside no number."""
    async with benched(shop) as (pilot, _screen):
        long = "word " * 30
        await pilot.app.push_screen(Pick("One of several", "", ["short", long, HOSTILE], start=1), lambda _answer: None)
        await rested(pilot)
        rows = [row.partition("│")[2][2:] for row in shown(pilot).splitlines() if "word" in row]
        assert rows[0].startswith("> 2  word") and len(rows) == 3
        assert all(row.startswith("     word") for row in rows[1:])
        assert f"  3  {HOSTILE}" in shown(pilot)


# --- what is signed --------------------------------------------------------------------------------------------------


async def test_pin_is_asked_for_something_that_is_said(shop: Shop) -> None:
    """Where a PIN is asked, the page says what is signed with it: which job, which drum, which stop, and as what."""
    session = customers(shop)
    reach_hold(session)
    async with walking(session) as (pilot, _screen):
        await press(pilot, "s", "1", "enter")
        text = " ".join(shown(pilot).replace("│", " ").split())
        assert "PIN of Mara Quill" in text
        stop = session.state.visits[-1].number
        assert f"You sign: J-0001 (Piccolo) at stop {stop} as checked, or that it is refused." in text
