"""`benchwalk walk`: walk a procedure, line by line."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import TYPE_CHECKING

import click

from ..errors import UsageError

if TYPE_CHECKING:
    from ..job.shop import Shop
    from ..session import Session


@click.command("walk")
@click.argument("procedure", required=False)
@click.option("--job", metavar="ID", help="Take this job up, or go on with it.")
@click.option("--who", metavar="NAME", help="Who works.")
@click.option("--plain", is_flag=True, help="Line by line on stdin and stdout.")
@click.option("--practice", is_flag=True, help="A new practice job; it never counts.")
@click.option("--terse", is_flag=True, help="Fewer words, the same record.")
@click.option("--drum", "facts", multiple=True, metavar="NAME=VALUE", help="A fact of the drum, as in rods=10.")
@click.option("--with", "given", multiple=True, metavar="NAME=VALUE", help="What the procedure takes, walked alone.")
@click.option("--take-over", metavar="REASON", help="Take the job from a writer on another machine, with a reason.")
@click.pass_obj
def command(
    shop: str | None,
    procedure: str | None,
    job: str | None,
    who: str | None,
    plain: bool,
    practice: bool,
    terse: bool,
    facts: tuple[str, ...],
    given: tuple[str, ...],
    take_over: str | None,
) -> int:
    """Walk PROCEDURE (an id or a path): a customer's job with --job, or a practice job with --practice."""
    from ..sums import compute
    from .common import clock, open_shop

    if not plain:
        click.echo("The full screen comes later; this walk goes line by line (--plain).", err=True)
    if job is not None:
        from ..session import Session

        here = open_shop(shop)
        person = person_id(here, who, guest=False)
        with Session.resume(here, job, person, clock, compute, take_over=take_over) as session:
            if procedure is not None and session.state.procedure not in (procedure, _stem(procedure)):
                raise UsageError(f"job {job} is worked to '{session.state.procedure}', not to '{procedure}'")
            return talk_through(session, terse)
    if procedure is None:
        raise UsageError("name a procedure to walk, or a job with --job ID")
    if not practice:
        raise UsageError("say --practice, or --job ID for a customer's job that `benchwalk intake` opened")
    return practise(_practice_shop(shop), procedure, who, pairs(facts), terse=terse, clock=clock, given=pairs(given))


def practise(
    shop: Shop,
    procedure: str,
    who: str | None,
    drum: Mapping[str, str],
    *,
    terse: bool,
    clock: Callable[[], datetime],
    given: Mapping[str, str] | None = None,
) -> int:
    """Open a practice job in a shop and walk it."""
    from ..library import Library
    from ..session import Session
    from ..sums import compute

    linked = Library.of(shop.root).get(procedure)
    person = person_id(shop, who, guest=True)
    session = Session.begin(shop, linked, person, clock, compute, kind="practice", drum=drum, given=given)
    with session:
        return talk_through(session, terse)


def talk_through(session: Session, terse: bool) -> int:
    """Walk a job that is in hand with whoever sits here."""
    from ..plain.talk import Talk
    from ..plain.walk import PlainWalk

    for notice in session.log.notices:
        click.echo(notice)
    PlainWalk(session, Talk.here(), terse, resume_line(session)).go()
    return 0


def resume_line(session: Session) -> str:
    """The command that takes this job up again."""
    import shlex

    from ..paths import shop_folder
    from ..session import GUEST

    root = session.shop.root
    shop = "" if root == shop_folder() else f" --shop {shlex.quote(str(root))}"
    who = "" if session.who == GUEST else f" --who {session.who}"
    return f"benchwalk{shop} walk --job {session.state.job}{who} --plain"


def person_id(shop: Shop, who: str | None, guest: bool) -> str:
    from ..job.people import load_people
    from ..session import GUEST, called

    people = load_people(shop)
    for notice in people.notices:
        click.echo(notice, err=True)
    if guest and not people.by_id:
        return GUEST
    if who is not None:
        return called(people, who).id
    if len(people.by_id) == 1:
        return next(iter(people.by_id))
    names = ", ".join(p.name for p in people.by_id.values()) or "nobody yet; add people with `benchwalk people add`"
    raise UsageError(f"say who works with --who; here work: {names}")


def _practice_shop(asked: str | None) -> Shop:
    """The shop that is meant, or a new one where there is none: practice must not need setting up."""
    from ..job.shop import Shop
    from ..paths import shop_folder
    from .common import open_shop

    folder = shop_folder(asked)
    if not folder.exists():
        return Shop.create(folder, "My shop")
    return open_shop(asked)


def pairs(items: tuple[str, ...]) -> dict[str, str]:
    """NAME=VALUE options as a mapping; UsageError where one is not of that form."""
    found: dict[str, str] = {}
    for item in items:
        name, equals, value = item.partition("=")
        if not equals or not name.strip() or not value.strip():
            raise UsageError(f"'{item[:40]}' is not of the form NAME=VALUE, as in rods=10")
        found[name.strip()] = value.strip()
    return found


def _stem(name: str) -> str:
    return name.rpartition("/")[2].removesuffix(".yaml")
