"""`benchwalk audit`: whether the records are as they were written; --again works everything out once more."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import click

from ..errors import BenchwalkError, UsageError
from ..procedure.showing import shortened
from .common import clock, open_shop, say, say_json

if TYPE_CHECKING:
    from ..job.shop import Shop


@click.command("audit")
@click.argument("jobs", nargs=-1)
@click.option("--again", is_flag=True, help="Work out every sum, judgement and branch once more and compare.")
@click.option("--head", metavar="HASH", help="The head of one job as it was kept outside.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
@click.pass_obj
def command(shop: str | None, /, jobs: tuple[str, ...], again: bool, head: str | None, as_json: bool) -> int:
    """Verify the logs of JOBS (all, if none are named): lines, texts, files, sign-offs. Reads only."""
    from ..job.audit import audit

    if head is not None and len(jobs) != 1:
        raise UsageError("--head speaks of one job; name it")
    if head is not None and not re.fullmatch(r"[0-9a-fA-F]{16,64}", head.strip()):
        raise UsageError(f"'{shortened(head)}' is no head: 16 to 64 characters out of 0-9 and a-f are expected")
    here = open_shop(shop)
    rows = audit(here, jobs or None, {jobs[0]: head} if head is not None else None)
    if again:
        for row in rows:
            if row["ok"] and row["events"]:
                _again(here, row)
    if as_json:
        say_json({"jobs": rows})
    else:
        for row in rows:
            say(_line(row, again))
        if not rows:
            say("No jobs to audit.")
    return 0 if all(row["ok"] for row in rows) else 1


def _line(row: dict[str, Any], again: bool) -> str:
    if row["ok"] and not row["events"]:
        verdict = row["why"] or "as written"
    elif row["ok"]:
        verdict = "as written, and works out the same again" if again else "as written"
    elif row["events"] or row["first_bad_line"]:
        verdict = f"NOT as written: {row['why']}"
    else:
        verdict = f"cannot be audited: {row['why']}"
    head = f"  head {row['head'][:16]}" if row["head"] else ""
    return f"{row['job']}  {row['events']} events  {verdict}{head}"


def _again(shop: Shop, row: dict[str, Any]) -> None:
    from ..job.log import read
    from ..session import Books
    from ..sums import compute
    from ..walk.again import differences
    from ..walk.desk import Bench

    try:
        folder = shop.job(row["job"])
        events = read(folder.log).events
        if not events:
            return
        found = differences(events, Bench(Books(folder, events[0]["texts"]), compute, clock()))
    except BenchwalkError as error:
        row["ok"], row["why"] = False, error.message
        return
    if found:
        row["ok"], row["first_bad_line"] = False, found[0][0]
        row["why"] = "; ".join(f"line {n}: {why}" for n, why in found[:5])
