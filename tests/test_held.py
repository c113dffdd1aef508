"""What is said of a job that somebody else holds or held: names and plain times, never ids and stamps."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from benchwalk.job.held import held_words, holder_words
from benchwalk.job.lock import Holder
from benchwalk.job.trouble import HeldElsewhere
from benchwalk.session import Session
from benchwalk.shop.pages import pages
from benchwalk.sums import compute
from shop_helpers import APPRENTICE, Clock, begin, command, fresh_shop

NAMES = {"tam-reyes": "Tam Reyes"}
NOW = datetime(2026, 3, 2, 15, 0, tzinfo=timezone(timedelta(hours=1)))


def holder(since: str, who: str = "tam-reyes") -> Holder:
    """Somebody at another machine."""
    return Holder(who, "bench two", "ab12", 77, since)


def test_who_holds_a_job_is_said_by_name_and_hour() -> None:
    """Today's hour stands alone, in this place's time; another day's has its date. Who is not known keeps the id."""
    for since, shown in (("2026-03-02T09:05:00+00:00", "10:05"), ("2026-03-01T09:05:00+00:00", "2026-03-01 10:05")):
        by = holder(since)
        held = HeldElsewhere(f"this is held by {by.said()}, so wait", by)
        said = f"this is held by Tam Reyes on bench two (process 77) since {shown}, so wait"
        assert held_words(held, NAMES, NOW) == said
    unknown = holder("some day", "zoe")
    held = HeldElsewhere(f"this is held by {unknown.said()}", unknown)
    assert held_words(held, NAMES, NOW) == "this is held by zoe on bench two (process 77) since some day"
    assert held_words(HeldElsewhere("held by another program", None), NAMES, NOW) == "held by another program"


@given(st.text(max_size=30), st.text(max_size=30))
def test_holder_of_a_log_is_said_by_name(host: str, anything: str) -> None:
    """What the log keeps of a holder reads by name and plain time, whatever the machine is called; all else stays."""
    said = Holder("tam-reyes", host or "x", "m", 7, "2026-03-02T09:00:00+00:00").said()
    if "\n" not in host:
        assert holder_words(said, NAMES) == f"Tam Reyes on {host or 'x'}, who had it since 2026-03-02 09:00"
    assert holder_words(anything, NAMES) == anything


def test_pages_and_reports_tell_of_a_job_taken_over_by_name(tmp_path: Path) -> None:
    """A job that was taken over from another machine says so by name and plain time in its pages and its report."""
    shop = fresh_shop(tmp_path)
    begin(shop).close()
    note = shop.job("J-0001").path / "writer.json"
    note.write_text(
        '{"who":"mara-quill","host":"far","machine":"00","pid":7,"since":"2026-03-01T09:00:00+00:00"}', encoding="utf-8"
    )
    with Session.resume(shop, "J-0001", APPRENTICE, Clock(), compute, take_over="it is off") as session:
        text = "\n".join(pages(session.state, session.books, session.names, session.events))
    told = "Taken over from Mara Quill on far, who had it since 2026-03-01 09:00: it is off"
    assert told in text
    assert told in " ".join(command("report", "J-0001", "--for", "shop", shop=shop.root).stdout.split())
