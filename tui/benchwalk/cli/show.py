"""`benchwalk show`: the pages of a job."""

from __future__ import annotations

import json

import click


@click.command("show")
@click.argument("job")
@click.option("--json", "as_json", is_flag=True, help="Print JSON: the state and the events.")
@click.pass_obj
def command(shop: str | None, job: str, as_json: bool) -> int:
    """Show JOB as its pages: what was done, found, corrected and signed, in order. Reads only."""
    from ..job.log import read
    from ..job.people import load_people
    from ..proof.rehearse import readings_data
    from ..session import Books
    from ..shop.pages import pages
    from ..walk.fold import replay
    from .common import open_shop

    here = open_shop(shop)
    folder = here.job(job)
    reading = read(folder.log)
    state = replay(reading.events)
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
        click.echo(json.dumps(data))
        return 0
    names = {person.id: person.name for person in load_people(here).by_id.values()}
    for line in pages(state, Books(folder, state.texts), names):
        click.echo(line)
    if reading.torn is not None:
        click.echo("The last line of the log was cut short and does not count.")
    click.echo(f"{state.n} events; head {reading.head[:16]}")
    return 0
