"""`benchwalk intake`: whose drum, which drum, what is known of it; opens a customer's job."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from functools import partial

import click

from ..errors import Refused, UsageError
from .common import at_terminal, clock, drum_facts, open_shop, person_id, say, say_command, say_json
from .walk import resume_line

QUESTIONS = {
    "owner": "Whose drum is it?",
    "contact": "How are they reached? (Enter: not said)",
    "instrument": "Which drum is it (kind, size)?",
    "complaint": "What do they complain of?",
    "tag": "Tag and shelf? (Enter: none)",
}
MAY_BE_EMPTY = ("contact", "tag")


@click.command("intake")
@click.argument("procedure")
@click.option("--who", metavar="NAME", help="Who takes it in and works on it.")
@click.option("--owner", help=QUESTIONS["owner"])
@click.option("--contact", help="How they are reached.")
@click.option("--instrument", help=QUESTIONS["instrument"])
@click.option("--complaint", help=QUESTIONS["complaint"])
@click.option("--tag", help="Tag and shelf.")
@click.option("--drum", "facts", multiple=True, metavar="NAME=VALUE", help="A fact of the drum, as in diameter=14 in.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
@click.pass_obj
def command(
    shop: str | None,
    /,
    procedure: str,
    who: str | None,
    facts: tuple[str, ...],
    as_json: bool,
    **said: str | None,
) -> int:
    """Take a drum in for PROCEDURE and open a customer's job. What is not said as an option is asked."""
    from ..job.words import some_lines
    from ..library import Library
    from ..procedure.facts import FACTS
    from ..session import GUEST, Session, require_approval
    from ..sums import compute
    from ..walk.job_acts import fact_data

    here = open_shop(shop)
    linked = Library.of(here.root).get(procedure)
    require_approval(here, linked)
    person = person_id(here, who)
    if person == GUEST:
        raise UsageError("nobody works in this shop yet; `benchwalk people add` adds people")
    answers: dict[str, str] = {}
    for key, question in QUESTIONS.items():
        stated = said.get(key)
        answers[key] = _answer(stated, question, partial(some_lines, what="the answer"), key in MAY_BE_EMPTY)
    drum = drum_facts(facts)
    for name in dict.fromkeys([*linked.needed_facts(), *drum]):
        drum[name] = _answer(drum.get(name), FACTS[name].ask + "?", partial(fact_data, name))
    owner = {"name": answers["owner"], "contact": answers["contact"]}
    session = Session.begin(
        here,
        linked,
        person,
        clock,
        compute,
        kind="customer",
        drum=drum,
        note={key: answers[key] for key in ("instrument", "complaint", "tag") if answers[key]},
        owner={key: value for key, value in owner.items() if value},
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


def _answer(stated: str | None, question: str, understand: Callable[[str], object], may_be_empty: bool = False) -> str:
    """What was stated, or one answer from stdin; at a terminal one that is not understood is asked again.

    Raises UsageError where nobody answers, Refused where it cannot be understood.
    """
    if stated is not None and stated.strip():
        understand(stated)
        return stated.strip()
    while True:
        click.echo(f"{question} ", nl=False, err=True)
        line = sys.stdin.readline(100_000)
        if not line and not may_be_empty:
            raise UsageError(f"nothing answers '{question}'; give it as an option, or type it")
        text = line.strip()
        if not text and may_be_empty:
            return ""
        try:
            if text:
                understand(text)
                return text
        except Refused as refused:
            if not at_terminal():
                raise
            say(refused.message[:1].upper() + refused.message[1:] + ".", complaint=True)
