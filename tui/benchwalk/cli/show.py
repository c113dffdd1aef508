"""`benchwalk show`: the pages of a job."""

from __future__ import annotations

import os

import click

from ..errors import Failure
from .common import open_shop, say, say_json


@click.command("show")
@click.argument("job")
@click.option("--json", "as_json", is_flag=True, help="Print JSON: the state and the events.")
@click.pass_obj
def command(shop: str | None, /, job: str, as_json: bool) -> int:
    """Show JOB as its pages: what was done, found, corrected and signed, in order. Reads only.

    Of a damaged log the pages are shown up to the damage, and the command fails; with --json it only fails.
    """
    from ..job.folder import NOT_OPENED, never_opened
    from ..job.people import load_people
    from ..job.so_far import damage_words, read_so_far
    from ..proof.rehearse import readings_data
    from ..session import Books
    from ..shop.pages import pages
    from ..walk.fold import replay

    here = open_shop(shop)
    folder = here.job(job)
    if never_opened(folder):
        raise Failure(f"job {job} was {NOT_OPENED}", str(folder.path))
    reading, damage = read_so_far(folder.log)
    if damage is not None and as_json:
        raise damage
    state = replay(reading.events)
    if not state.job:
        raise Failure("the log of this job is empty; nothing was ever opened in it", str(folder.path))
    kept = "none" if not state.owner else "kept" if os.path.lexists(folder.owner) else "removed"
    if as_json:
        data = {
            "job": state.job,
            "kind": state.kind,
            "procedure": state.procedure,
            "revision": state.revision,
            "outcome": state.ended["outcome"] if state.ended else None,
            "released": state.released,
            "stale": state.stale(),
            "owner": kept,
            "owner_removed": state.owner_removed,
            "readings": readings_data(state),
            "events": reading.events,
            "head": reading.head,
        }
        say_json(data)
        return 0
    names = {person.id: person.name for person in load_people(here).by_id.values()}
    lines = pages(state, Books(folder, state.texts), names, reading.events)
    if damage is not None:
        above, stops = damage_words(damage)
        for line in (above, "", *lines, "", stops):
            say(line)
        raise damage
    for line in lines:
        say(line)
    if kept == "removed" and state.owner_removed is None:
        say("The owner's facts were removed from beside the log; when and by whom it does not say.")
    if reading.torn is not None:
        say("The last line of the log was cut short and does not count.")
    say(f"{state.n} events; head {reading.head[:16]}")
    return 0
