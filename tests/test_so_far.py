"""A damaged log: what stands before the damage can be read, the damage is said, and nobody works on in such a job."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from benchwalk.job.log import DamagedLog, NewerLog, read
from benchwalk.job.shop import Shop
from benchwalk.job.so_far import DAMAGED, damage_words, read_so_far
from benchwalk.screens.record import JobPages
from benchwalk.walk import acts
from screen_helpers import NARROW, WIDE, shown
from shop_helpers import begin, command, document, drive, fresh_shop
from test_log import body, remade
from test_log_damage import small_log
from test_screens_bench import benched, over, press
from walk_helpers import GAP, linked

Change = Callable[[bytes], bytes]


def spoilt(shop: Shop, change: Change, job: str = "J-0001") -> Path:
    """The log of a job, changed behind the program's back."""
    log = shop.job(job).log
    log.write_bytes(change(log.read_bytes()))
    return log


def second_value(data: bytes) -> bytes:
    """The value that was noted second, made another."""
    return data.replace(b'"typed":"5"', b'"typed":"6"', 1)


def swapped(data: bytes) -> bytes:
    """Two lines near the end, the later first."""
    lines = data.splitlines(keepends=True)
    return b"".join([*lines[:-3], lines[-2], lines[-3], lines[-1]])


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with one job in which a gap was noted twice, and that was ended."""
    shop = fresh_shop(tmp_path)
    with begin(shop, linked(GAP), drum={}, note={"instrument": "Field drum"}) as session:
        session.do(acts.Ready())
        drive(session, "@measure")
        session.do(acts.Record("2"))
        drive(session, "@measure")
        session.do(acts.Record("5"))
        drive(session, "ended", lie="all")
    return shop


def test_whatever_byte_is_bad_the_lines_before_it_are_read(tmp_path: Path) -> None:
    """Change any byte: all lines before it are read as they were written, and none from there on."""
    path = tmp_path / "log.jsonl"
    sound = small_log(path)
    whole = read(path).events
    for at in range(0, len(sound), 3):
        path.write_bytes(sound[:at] + bytes([sound[at] ^ 0x01]) + sound[at + 1 :])
        line = sound[:at].count(b"\n") + 1
        if line == 1:
            with pytest.raises(DamagedLog):
                read_so_far(path)
            continue
        reading, damage = read_so_far(path)
        assert damage is not None and damage.line == line
        assert reading.events == whole[: line - 1] and reading.torn is None
        assert reading.head == whole[line - 2]["hash"]


def test_a_sound_log_is_read_whole(tmp_path: Path) -> None:
    """Without damage the reading is that of `read`, a last line cut short included."""
    path = tmp_path / "log.jsonl"
    data = small_log(path)
    assert read_so_far(path) == (read(path), None)
    path.write_bytes(data + b'{"v":1,"n":5,"at":"2026-')
    assert read_so_far(path) == (read(path), None)


def test_a_log_of_a_later_program_is_read_up_to_what_is_not_known(tmp_path: Path) -> None:
    """An event in a version that is not known here stops the reading there, with its own words."""
    path = tmp_path / "log.jsonl"
    remade(path, [body(1), {**body(2), "v": 9}, body(3)])
    reading, damage = read_so_far(path)
    assert isinstance(damage, NewerLog) and damage.line == 2 and len(reading.events) == 1


def test_the_words_name_event_line_and_what_was_found() -> None:
    """Above and at the place itself stand the number of the event, its line, and what is wrong with it."""
    above, stops = damage_words(DamagedLog(24, "it is empty"))
    assert above.startswith(DAMAGED) and "event 24, line 24: it is empty" in above and "event 1 to 23" in above
    assert "at event 24, line 24: it is empty" in stops


@pytest.mark.parametrize("change", [second_value, swapped])
def test_show_tells_everything_before_the_damage(shop: Shop, change: Change) -> None:
    """`show` has the damage in its first line and its last, all that verifies between, and fails with one sentence."""
    whole = command("show", "J-0001", shop=shop.root).stdout.splitlines()
    log = spoilt(shop, change)
    ran = command("show", "J-0001", shop=shop.root)
    lines = ran.stdout.splitlines()
    with pytest.raises(DamagedLog) as damage:
        read(log)
    n = damage.value.line
    assert n is not None and ran.returncode == 3
    assert lines[0].startswith(f"{DAMAGED} at event {n}, line {n}: ") and f"event 1 to {n - 1}" in lines[0]
    assert lines[-1].startswith(f"HERE THE LOG IS DAMAGED, at event {n}, line {n}: ")
    assert "  Gap: 2 mm; below by 1 mm [" in ran.stdout
    between = lines[2:-2]
    assert between == whole[: len(between)] and len(between) > 8
    assert f"Line {n} is damaged: " in ran.stderr and len(ran.stderr.splitlines()) == 1
    assert not [m for m in range(n, n + 20) if f"[{m}]" in ran.stdout], "nothing that does not verify"


def test_half_a_record_is_no_document(shop: Shop) -> None:
    """With --json a damaged log is an error, as it was: no program takes a part for the whole."""
    spoilt(shop, second_value)
    ran = command("show", "J-0001", "--json", shop=shop.root)
    assert ran.returncode == 3 and ran.stderr == "" and set(document(ran.stdout)) == {"error"}


def test_damage_in_the_first_line_leaves_nothing_to_show(shop: Shop) -> None:
    """Where nothing verifies nothing is shown but the sentence."""
    spoilt(shop, lambda data: data.replace(b'"Field drum"', b'"Field dram"', 1))
    ran = command("show", "J-0001", shop=shop.root)
    assert (ran.returncode, ran.stdout) == (3, "") and "Line 1 is damaged: " in ran.stderr


def test_nobody_works_on_in_a_damaged_job(shop: Shop) -> None:
    """Walking it is refused, the audit names the line, and no byte of the log is changed by any of it."""
    log = spoilt(shop, second_value)
    before = log.read_bytes()
    ran = command("walk", "--job", "J-0001", "--who", "tam-reyes", "--plain", shop=shop.root, input="\n\n")
    assert ran.returncode == 3 and "is damaged" in ran.stderr
    assert command("show", "J-0001", shop=shop.root).returncode == 3
    assert "NOT as written" in command("audit", "J-0001", shop=shop.root).stdout
    assert log.read_bytes() == before


@pytest.mark.asyncio
@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_the_record_screen_shows_what_verifies(shop: Shop, size: tuple[int, int]) -> None:
    """From the bench the pages of a damaged job open with the damage on top and where it stops; its events stop too."""
    log = spoilt(shop, second_value)
    with pytest.raises(DamagedLog) as damage:
        read(log)
    n = damage.value.line
    assert n is not None
    async with benched(shop, size) as (pilot, screen):
        await press(pilot, "f4")
        pages = over(pilot)
        assert isinstance(pages, JobPages) and len(pages.events) == n - 1
        assert f"{DAMAGED} at event {n}, line {n}: " in shown(pilot)
        assert all(number <= n - 1 for *_place, number in pages.numbers)
        await press(pilot, "end")
        assert f"HERE THE LOG IS DAMAGED, at event {n}, line {n}: " in shown(pilot)
        await press(pilot, "n", f"={n}", "enter")
        assert f"a number from 1 to {n - 1}" in shown(pilot).lower()
        await press(pilot, "escape", "escape")
        assert over(pilot) is screen


@pytest.mark.asyncio
async def test_a_damaged_job_cannot_be_taken_up_from_the_bench(shop: Shop) -> None:
    """Enter at the bench says what is wrong with its log, and no walk begins."""
    log = spoilt(shop, second_value)
    before = log.read_bytes()
    async with benched(shop, who="tam-reyes") as (pilot, screen):
        await press(pilot, "enter")
        assert over(pilot) is screen and "damaged" in shown(pilot)
    assert log.read_bytes() == before
