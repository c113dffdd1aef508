"""`benchwalk show`: the pages of a job."""

from __future__ import annotations

import click

from ..errors import Failure
from .common import open_shop, say, say_json


@click.command("show")
@click.argument("job")
@click.option("--json", "as_json", is_flag=True, help="Print JSON: the state and the events.")
@click.pass_obj
def command(shop: str | None, /, job: str, as_json: bool) -> int:
    """Show JOB as its pages: what was done, found, corrected and signed, in order. Reads only."""
    from ..job.log import read
    from ..job.people import load_people
    from ..proof.rehearse import readings_data
    from ..session import Books
    from ..shop.pages import pages
    from ..walk.fold import replay

    here = open_shop(shop)
    folder = here.job(job)
    reading = read(folder.log)
    state = replay(reading.events)
    if not state.job:
        raise Failure("the log of this job is empty; nothing was ever opened in it", str(folder.path))
    if as_json:
        data = {
            "job": state.job,
            "kind": state.kind,
            "procedure": state.procedure,
            "revision": state.revision,
            "outcome": state.ended["outcome"] if state.ended else None,
            "released": state.released,
            "stale": state.stale(),
            "readings": readings_data(state),
            "events": reading.events,
            "head": reading.head,
        }
        say_json(data)
        return 0
    names = {person.id: person.name for person in load_people(here).by_id.values()}
    for line in pages(state, Books(folder, state.texts), names, reading.events):
        say(line)
    if reading.torn is not None:
        say("The last line of the log was cut short and does not count.")
    say(f"{state.n} events; head {reading.head[:16]}")
    return 0
