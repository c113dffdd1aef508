"""`benchwalk report`: a job as a report, for its owner or for the shop."""

from __future__ import annotations

import click

from .common import open_shop, say
from .document import put


@click.command("report")
@click.argument("job")
@click.option("--format", "form", type=click.Choice(("html", "md", "text")), default="text", show_default=True)
@click.option("--for", "audience", type=click.Choice(("owner", "shop")), default="owner", show_default=True)
@click.option("--out", metavar="FILE", help="Write it there instead of printing it.")
@click.option("--force", is_flag=True, help="Write over a file that is there.")
@click.pass_obj
def command(shop: str | None, /, job: str, form: str, audience: str, out: str | None, force: bool) -> int:
    """Report on JOB: a fair copy for the drum's owner, or the whole record for the shop. Reads only."""
    from ..report.making import record_of, report_of, write
    from ..session import Books

    record = record_of(open_shop(shop), job, Books)
    text = report_of(record, audience, form)
    if out is None:
        put(text, None)
        return 0
    write(out, text, over=force)
    say(f"The report of job {record.state.job} for the {audience} is in {out}.")
    return 0
