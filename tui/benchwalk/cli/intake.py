"""`benchwalk intake`: whose drum, which drum, what is known of it; opens a customer's job."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import click

from ..errors import Refused, UsageError
from ..procedure.showing import shortened
from ..shop.intake import QUESTIONS
from .common import answer, at_terminal, clock, drum_facts, open_shop, person_id, say, say_command, say_json
from .walk import resume_line

if TYPE_CHECKING:
    from collections.abc import Mapping

    from ..job.shop import Shop
    from ..library import Library
    from ..procedure.linked import Linked


@click.command("intake")
@click.argument("procedure", required=False)
@click.option("--forget", metavar="JOB", help="Instead: remove what is kept of the owner of JOB, for good.")
@click.option("--who", metavar="NAME", help="Who takes it in and works on it.")
@click.option("--owner", help=QUESTIONS["owner"])
@click.option("--contact", help="How they are reached.")
@click.option("--instrument", help=QUESTIONS["instrument"])
@click.option("--complaint", help=QUESTIONS["complaint"])
@click.option("--promised", help="For when it is promised.")
@click.option("--tag", help="Tag and shelf.")
@click.option("--drum", "facts", multiple=True, metavar="NAME=VALUE", help="A fact of the drum, as in diameter=14 in.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
@click.pass_obj
def command(
    shop: str | None,
    /,
    procedure: str | None,
    forget: str | None,
    who: str | None,
    facts: tuple[str, ...],
    as_json: bool,
    **said: str | None,
) -> int:
    """Take a drum in for PROCEDURE and open a customer's job. What is not said as an option is asked.

    With --forget, the name and contact of a job's owner are removed; the log keeps only that they were there.
    """
    from ..library import Library
    from ..session import GUEST, Session, require_approval
    from ..shop.intake import must_be_writable, questions, taken_in
    from ..sums import compute

    here = open_shop(shop)
    if forget is not None:
        if procedure is not None or facts or any(said.values()):
            raise UsageError("--forget stands alone, with --who; it takes nothing in")
        return _forget(here, forget, who, as_json)
    if procedure is None:
        raise UsageError("name the procedure that the drum is taken in for, or a job with --forget JOB")
    library = Library.of(here.root)
    linked = library.get(procedure)
    try:
        require_approval(here, linked)
    except Refused:
        _in_library(here, library, procedure)
        raise
    must_be_writable(here)
    person = person_id(here, who)
    if person == GUEST:
        raise UsageError("nobody works in this shop yet; `benchwalk people add` adds people")
    drum = drum_facts(facts)
    asked = questions(linked, drum)
    stated = {**said, **drum}
    for each in asked:  # what was stated and cannot be is said before anything is asked
        if (stated.get(each.name) or "").strip():
            each.check(stated[each.name] or "")
    answers = {each.name: answer(stated.get(each.name), each.ask, each.check, each.may_be_empty) for each in asked}
    known = taken_in(asked, answers)
    if at_terminal() and not as_json and not _agreed(linked, answers):
        say("No job is opened.")
        return 0
    session = Session.begin(
        here,
        linked,
        person,
        clock,
        compute,
        kind="customer",
        drum=known.drum,
        note=known.note,
        owner=known.owner,
        salt=os.urandom(16),
    )
    with session:
        job = session.state.job
    if as_json:
        say_json({"job": job, "procedure": linked.id, "revision": session.state.revision})
        return 0
    say(f"Job {job} is open. Go on with:")
    say_command(resume_line(session))
    return 0


def _in_library(here: Shop, library: Library, procedure: str) -> None:
    """Refused for a file that lies elsewhere, with where it belongs before it is approved."""
    path = library.path_of(procedure).resolve()
    if path.parent not in [folder.resolve() for folder in library.folders]:
        raise Refused(
            f"{shortened(procedure, 80)} is not approved, and lies outside this shop's library; copy it into "
            f"{here.procedures}, have it approved there, and take the drum in for '{path.stem}'"
        )


def _agreed(linked: Linked, answers: Mapping[str, str]) -> bool:
    """What was understood, and whether a job is opened with it."""
    say(f"A customer's job to {linked.procedure.title}, revision {linked.procedure.revision}:")
    for name, given in answers.items():
        if given:
            say(f"  {name.replace('_', ' ')}: {given}")
    while (word := click.prompt("Enter opens the job, no leaves it", "", show_default=False).strip().lower()) != "":
        if word in ("no", "n"):
            return False
        say("Enter alone, or the word no.")
    return True


def _forget(here: Shop, job: str, who: str | None, as_json: bool) -> int:
    """Remove the owner's facts of a job, once the job's number was typed for it."""
    from ..job.owner import owner
    from ..session import Session
    from ..sums import compute

    folder = here.job(job)
    job, facts = folder.id, owner(folder)
    if facts is None:
        raise Refused(f"job {job} keeps nothing of its owner: it was removed, or never given")
    person = person_id(here, who)

    def same(text: str) -> None:
        if text != job:
            raise Refused(f"'{shortened(text)}' is not {job}; nothing was removed")

    kept = " and ".join(facts)
    answer(None, f"The owner's {kept} are removed for good. Type {job} to do it:", same)
    with Session.resume(here, job, person, clock, compute) as session:
        at = session.forget_owner()
    if as_json:
        say_json({"job": job, "removed": list(facts), "at": at, "by": person})
        return 0
    say(f"The owner's {kept} of job {job} are removed. The job's log stays whole; it holds only a salted hash of them.")
    return 0
