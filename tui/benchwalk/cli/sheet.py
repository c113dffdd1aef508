"""`benchwalk sheet`: a procedure on paper, blank or as far as a job is, for the day the computer is off."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from ..errors import Failure, UsageError
from .common import clock, open_shop, say, shop_folder
from .document import put

if TYPE_CHECKING:
    from ..job.shop import Shop
    from ..sheet.parts import Sheet


@click.command("sheet")
@click.argument("procedure", required=False)
@click.option("--job", metavar="ID", help="The sheet of this job as it stands, with what is known filled in.")
@click.option(
    "--format",
    "form",
    type=click.Choice(("html", "text", "md")),
    help="HTML where nothing is said; on a terminal, text.",
)
@click.option("--out", metavar="FILE", help="Write it there instead of printing it.")
@click.option("--force", is_flag=True, help="Write over a file that is there.")
@click.pass_obj
def command(
    shop: str | None, /, procedure: str | None, job: str | None, form: str | None, out: str | None, force: bool
) -> int:
    """Make the sheet of PROCEDURE (an id or a path) to be filled in by hand; --job: of a job, from where it stands.

    The HTML is one file that loads nothing; print it from a browser. What is written is typed in later as late
    entries; the sheet says how at its foot.
    """
    from ..sheet.render import render

    if job is None and procedure is None:
        raise UsageError("name a procedure, or a job with --job ID")
    made = _blank(shop, procedure or "") if job is None else _of_job(open_shop(shop), job, procedure)
    form = form or ("text" if out is None and sys.stdout.isatty() else "html")
    put(render(made, form), out, over=force, for_eyes=form != "html")
    if out is not None:
        say(f"The sheet of {made.job or made.title} is in {out}.")
    return 0


def _late_key() -> str:
    from ..screens.actions import BY_ID, key_text

    return key_text(BY_ID["walk.late"].keys[0])


def _blank(shop: str | None, procedure: str) -> Sheet:
    from ..library import Library
    from ..sheet.making import blank_sheet

    return blank_sheet(Library.of(shop_folder(shop)).get(procedure), _late_key())


def _of_job(here: Shop, job: str, procedure: str | None) -> Sheet:
    """The sheet of a job. Raises Refused for an unknown job, Failure where its files cannot be read."""
    from ..job.folder import NOT_OPENED, never_opened
    from ..job.log import read
    from ..job.people import load_people
    from ..session import GUEST, Books
    from ..sheet.making import job_sheet
    from ..sums import compute
    from ..walk.desk import Bench
    from ..walk.fold import replay

    folder = here.job(job)
    if never_opened(folder):
        raise Failure(f"job {job} was {NOT_OPENED}", str(folder.path))
    state = replay(read(folder.log).events)
    if not state.job:
        raise Failure("the log of this job is empty; nothing was ever opened in it", str(folder.path))
    if procedure is not None and procedure.rpartition("/")[2].removesuffix(".yaml") != state.procedure:
        raise UsageError(f"job {job} is worked to '{state.procedure}', not to '{procedure}'")
    people = load_people(here).by_id.values()
    names = {GUEST: "a guest"} | {person.id: person.name for person in people}
    roles = {person.id: frozenset(person.roles) for person in people}
    bench = Bench(Books(folder, state.texts), compute, clock(), roles, names)
    return job_sheet(state, bench, here.name, _late_key())
