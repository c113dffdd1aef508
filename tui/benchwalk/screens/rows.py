"""A job as one line of the bench or the book, in columns that align; and the few lines that tell more of it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from ..daybook.ink import Line, Span, Tone, line
from ..procedure.showing import display_width, safe_text, sentence
from ..shop.bench import LOOK, REST, TIME, WORK, is_over

Row = Mapping[str, Any]
Names = Mapping[str, str]
_WHEN = {LOOK: "now", WORK: "at work", REST: "put by"}
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "June", "July", "Aug", "Sept", "Oct", "Nov", "Dec")
WHEN, JOB = 9, 8
"""Cells of the first two columns."""


def bench_line(row: Row, names: Names, owner: str, time: datetime, width: int) -> Line:
    """A job in hand: when somebody is next wanted, which job, which drum, what it waits for."""
    wide = 31 if width < 100 else 46
    wanted = row["first"] == LOOK or is_over(row, time)
    tone: Tone = "loud" if wanted else ("plain" if row["first"] == TIME else "quiet")
    waits = waits_for(row, names, time)
    if row["because"] and wanted and width >= 100:
        waits += f": {row['because'][:1].lower()}{row['because'][1:]}"
    return line(
        Span(fitted(when(row, time), WHEN), tone),
        Span(fitted(row["job"], JOB), "plain"),
        Span(fitted(about(row, owner), wide), "plain"),
        Span(fitted(waits, width - WHEN - JOB - wide, end=True), tone),
    )


def book_line(row: Row, names: Names, owner: str, time: datetime, width: int) -> Line:
    """A finished job: when, which, which drum, how it ended, and by whose hand."""
    wide = 31 if width < 100 else 46
    ended = row["ended"] + ("" if row["released"] else ", not released yet")
    told = row["complaint"] or row["title"]
    return line(
        Span(fitted(day(row["last"], time), WHEN + 3), "quiet"),
        Span(fitted(row["job"], JOB), "plain"),
        Span(fitted(about(row, owner), wide), "plain"),
        Span(fitted(f"{ended}; {told}", width - WHEN - 3 - JOB - wide, end=True), "quiet"),
    )


def book_head(width: int) -> Line:
    """What the columns of `book_line` hold."""
    wide = 31 if width < 100 else 46
    columns = fitted("finished", WHEN + 3) + fitted("job", JOB) + fitted("drum and owner", wide)
    return line(Span(columns + fitted("how it ended; what for", width - WHEN - 3 - JOB - wide, end=True), "quiet"))


def head_line(left: str, right: str, width: int) -> Line:
    """The line at the head of a list: what it is, and at the right who works or how many there are."""
    right = safe_text(right)
    return line(" ", Span(fitted(left, max(1, width - display_width(right))), "loud"), Span(right, "quiet"))


def bench_head(shop: str, hand: int, looks: int, who: str, key: str, width: int) -> Line:
    """The head of the bench: the shop, how many jobs are in hand and how many of them want somebody now; at the right
    who works, empty where nobody said so yet, and the key (if it does anything) that changes it.

    Where that does not fit, it is said shorter; of a long name of a shop the end is cut, never the figures.
    """
    count = f": {hand or 'nothing'} in hand"
    lefts = [count + f", {looks} wanting somebody now", count + f", {looks} now"] if looks else [count]
    rights = _who_works(who, key)
    for left in lefts:
        for right in rights:
            if display_width(safe_text(f"{shop}{left}{right}")) + 2 <= width:
                return head_line(shop + left, right, width)
    room = width - display_width(safe_text(f"{lefts[-1]}{rights[-1]}")) - 2
    return head_line(fitted(shop, room, end=True) + lefts[-1], rights[-1], width)


def _who_works(who: str, key: str) -> list[str]:
    """Who works, said in full and shorter."""
    if who:
        return [f"{who} works here" + (f" ({key} changes it)" if key else ""), f"{who} works here", f"{who} works", who]
    return [f"nobody said who works ({key} says it)", f"who works? ({key})"] if key else [""]


def when(row: Row, time: datetime) -> str:
    """When somebody is next wanted at a job: now, an hour, a day; or that it is worked on, or put by."""
    if row["first"] != TIME or is_over(row, time):
        return _WHEN.get(row["first"], "now")
    until = datetime.fromisoformat(row["until"]).astimezone(time.tzinfo)
    return f"{until:%H:%M}" if until.date() == time.date() else day(row["until"], time)


def waits_for(row: Row, names: Names, time: datetime) -> str:
    """What a job waits for, in words."""
    if row["first"] == TIME:
        return f"{row['waits']}, {'over' if is_over(row, time) else 'ends'} {_from_now(row['until'], time)}"
    if row["wanted"] and row["first"] == LOOK:
        return f"{names.get(row['wanted'], row['wanted'])} to take it on"
    return str(row["waits"])


def _from_now(text: str, time: datetime) -> str:
    """A time from now, or since: `in 12 min`, `for 2 h`."""
    minutes = round((datetime.fromisoformat(text) - time).total_seconds() / 60)
    some = abs(minutes)
    said = f"{some} min" if some < 90 else (f"{round(some / 60)} h" if some < 36 * 60 else f"{round(some / 1440)} days")
    return f"in {said}" if minutes > 0 else f"for {said}"


def day(text: str, time: datetime) -> str:
    """A day as people write it; with its year where that is another."""
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        return ""
    year = f" {found.year}" if found.year != time.year else ""
    return f"{found.day} {_MONTHS[found.month - 1]}{year}"


def about(row: Row, owner: str) -> str:
    """Which drum, and whose; a practice job says that it is one."""
    parts = [row["instrument"], owner]
    if row["kind"] not in ("customer", "?"):
        parts = [row["kind"], *(parts if any(parts) else [row["title"]])]
    return ", ".join(part for part in parts if part)


def told(row: Row, names: Names, owner: str, time: datetime, width: int) -> list[Line]:
    """What else is known of a job, for where it is marked: the drum, what was complained of, whose hand, where it
    stands and why. The first two fit the width, the last may be wrapped."""
    drum = ", ".join(part for part in (row["instrument"], owner) if part) or f"{row['kind']}, {row['title']}"
    hand = names.get(row["person"], row["person"])
    known = [
        row["complaint"],
        f"in the hand of {hand}" if hand else "",
        f"opened {day(row['opened'], time)}" if row["opened"] else "",
    ]
    stands = row["because"] if row["kind"] == "?" else row["state"]
    if row["wanted"]:
        stands = stands.replace(row["wanted"], names.get(row["wanted"], row["wanted"]))
    because = f". {row['because']}" if row["because"] and row["kind"] != "?" else ""
    return [
        line(Span(row["job"], "brass"), fitted(f"  {drum}", width - len(row["job"]), end=True)),
        line(Span(fitted(sentence("; ".join(part for part in known if part)), width, end=True), "quiet")),
        line(Span(sentence(f"{stands}{because}"), "plain")),
    ]


def fitted(text: str, cells: int, *, end: bool = False) -> str:
    """Safe text in exactly that many cells: cut with an ellipsis, padded; two cells stay free but at the `end`."""
    shown = safe_text(text)
    room = max(1, cells if end else cells - 2)
    if display_width(shown) > room:
        while shown and display_width(shown) > room - 1:
            shown = shown[:-1]
        shown = shown.rstrip() + "…"
    return shown + ("" if end else " " * (cells - display_width(shown)))
