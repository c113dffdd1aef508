"""`benchwalk intake`: whose drum, which drum, what is known of it; opens a customer's job."""

from __future__ import annotations

import json
import os

import click

from ..errors import UsageError

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
    shop: str | None, procedure: str, who: str | None, facts: tuple[str, ...], as_json: bool, **said: str
) -> int:
    """Take a drum in for PROCEDURE and open a customer's job. What is not said as an option is asked."""
    from ..library import Library
    from ..procedure.facts import FACTS
    from ..session import Session, require_approval
    from ..sums import compute
    from .common import clock, open_shop
    from .walk import pairs, person_id

    here = open_shop(shop)
    linked = Library.of(here.root).get(procedure)
    require_approval(here, linked)
    person = person_id(here, who, guest=False)
    answers = {key: said.get(key) or _ask(key, QUESTIONS[key], key in MAY_BE_EMPTY) for key in QUESTIONS}
    drum = pairs(facts)
    for name in linked.needed_facts():
        if name not in drum:
            drum[name] = _ask(f"drum {name}", FACTS[name].ask + "?", False)
    owner = {"name": answers["owner"], "contact": answers["contact"]}
    note = {key: answers[key] for key in ("instrument", "complaint", "tag") if answers[key]}
    session = Session.begin(
        here,
        linked,
        person,
        clock,
        compute,
        kind="customer",
        drum=drum,
        note=note,
        owner={k: v for k, v in owner.items() if v},
        salt=os.urandom(16),
    )
    with session:
        job = session.state.job
    if as_json:
        click.echo(json.dumps({"job": job, "procedure": linked.id, "revision": linked.procedure.revision}))
    else:
        click.echo(f"Job {job} is open. Go on with: benchwalk walk --job {job} --plain")
    return 0


def _ask(key: str, question: str, may_be_empty: bool) -> str:
    """One answer from stdin; UsageError where nobody answers."""
    while True:
        click.echo(f"{question} ", nl=False, err=True)
        line = click.get_text_stream("stdin", errors="replace").readline()
        if not line and not may_be_empty:
            raise UsageError(f"nothing is said of {key}; give it as an option or type it")
        if line.strip() or may_be_empty:
            return line.strip()
