"""`benchwalk walk`: walk a procedure, full screen or line by line."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Mapping
from contextlib import nullcontext
from datetime import datetime
from typing import TYPE_CHECKING

import click

from ..errors import UsageError
from ..procedure.collector import collector_rests
from ..procedure.showing import sentence
from .common import (
    clock,
    drum_facts,
    full_screen,
    mouse,
    open_shop,
    pairs,
    person_id,
    program,
    say,
    say_command,
    shop_folder,
)

if TYPE_CHECKING:
    from ..job.shop import Shop
    from ..procedure.linked import Linked
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
    /,
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
    """Walk PROCEDURE (an id or a path): a customer's job with --job, or a practice job with --practice.

    Every answer but a PIN may come through a pipe. What is noted is on disk at once: ctrl+c, a closed input and a kill
    lose nothing, and the same job goes on where it stood.
    """
    if job is not None:
        if practice or facts or given:
            raise UsageError("--practice, --drum and --with begin a new job; --job goes on with one")
    elif take_over is not None:
        raise UsageError("--take-over speaks of a job; name it with --job ID")
    elif procedure is None:
        raise UsageError("name a procedure to walk, or a job with --job ID")
    elif not practice:
        from ..library import Library

        Library.of(shop_folder(shop)).path_of(procedure)  # no such procedure is said before how to walk one
        raise UsageError("say --practice, or --job ID for a customer's job that `benchwalk intake` opened")
    with nullcontext() if plain or not full_screen() else collector_rests():
        if job is not None:
            return _go_on(open_shop(shop), job, procedure, who, terse, take_over, plain)
        assert procedure is not None
        from ..library import Library

        drum, taken = drum_facts(facts), pairs(given)
        linked = Library.of(shop_folder(shop)).get(procedure)
        return practise(_practice_shop(shop), linked, who, drum, terse=terse, clock=clock, given=taken, plain=plain)


def _go_on(
    shop: Shop, job: str, procedure: str | None, who: str | None, terse: bool, take_over: str | None, plain: bool
) -> int:
    from ..job.held import held_words
    from ..job.people import load_people
    from ..job.trouble import HeldElsewhere
    from ..session import Session
    from ..sums import compute

    person = person_id(shop, who)
    try:
        taken_up = Session.resume(shop, job, person, clock, compute, take_over=take_over)
    except HeldElsewhere as held:
        names = {each.id: each.name for each in load_people(shop).by_id.values()}
        raise HeldElsewhere(held_words(held, names, clock()), held.holder, held.where) from None
    with taken_up as session:
        if procedure is not None and session.state.procedure != _stem(procedure):
            raise UsageError(f"job {job} is worked to '{session.state.procedure}', not to '{procedure}'")
        return talk_through(session, terse, plain=plain)


def practise(
    shop: Shop,
    linked: Linked,
    who: str | None,
    drum: Mapping[str, str],
    *,
    terse: bool,
    clock: Callable[[], datetime],
    given: Mapping[str, str] | None = None,
    resume: str = "",
    plain: bool = True,
) -> int:
    """Open a practice job in a shop and walk it."""
    from ..session import Session
    from ..sums import compute

    person = person_id(shop, who)
    session = Session.begin(shop, linked, person, clock, compute, kind="practice", drum=drum, given=given)
    with session:
        return talk_through(session, terse, resume, plain)


def talk_through(session: Session, terse: bool, resume: str = "", plain: bool = True) -> int:
    """Walk a job that is in hand with whoever sits here; `resume` is the command that takes it up again.

    A terminal that can be written all over gets the full screen, anything else lines.
    """
    if not plain and full_screen():
        return _on_screen(session, terse, resume)
    from ..plain.stopping import Stopping
    from ..plain.talk import Talk
    from ..plain.walk import PlainWalk

    for notice in session.log.notices:
        say(sentence(notice))
    if session.state.released:
        _say_done(session)
        return 0
    with Stopping() as stopping:
        return PlainWalk(session, Talk.here(stopping), terse, lambda: resume or resume_line(session, plain=True)).go()


def _on_screen(session: Session, terse: bool, resume: str) -> int:
    from ..screens.hand import Hand
    from ..screens.start import on_screen
    from ..screens.walk import WalkScreen
    from ..session import BROKEN_OFF

    notices = [sentence(notice) for notice in session.log.notices]
    if session.take_up_broken():
        notices.append(BROKEN_OFF)
    if session.state.released:
        notices.append(_head_words(session))

    def first(told: str) -> WalkScreen:
        return WalkScreen(Hand(session), terse=terse, told=tuple(filter(None, [told, *notices])))

    code = on_screen(first, mouse=mouse())
    if session.state.released:
        _say_done(session)
    else:
        say(f"All that was noted is kept in job {session.state.job}. Go on with:")
        say_command(resume or resume_line(session))
    return code


def _say_done(session: Session) -> None:
    """What came of a job that is finished, and what to keep of it."""
    from ..shop.pages import closing

    say(f"Job {session.state.job} is finished.")
    for line in closing(session.state, session.names):
        say(line)
    say(_head_words(session))
    say("Its report:")
    say_command(f"{_called(session)} report {session.state.job}")


def _head_words(session: Session) -> str:
    return f"The head of its log, to be written down where the log is not: {session.head[:16]}"


def _called(session: Session) -> str:
    """This program, and the shop where it is not the one meant anyway."""
    from ..paths import shop_folder

    root = session.shop.root
    return program() + ("" if root == shop_folder() else f" --shop {shlex.quote(str(root))}")


def resume_line(session: Session, *, plain: bool = False) -> str:
    """The command that takes this job up again; `plain`: line by line."""
    from ..session import GUEST

    who = "" if session.who == GUEST else f" --who {session.who}"
    return f"{_called(session)} walk --job {session.state.job}{who}{' --plain' if plain else ''}"


def _practice_shop(asked: str | None) -> Shop:
    """The shop that is meant, or a new one where there is none: practice must not need setting up."""
    from ..job.shop import Shop
    from ..paths import shop_folder

    folder = shop_folder(asked)
    if not folder.exists():
        return Shop.create(folder, "My shop")
    return open_shop(asked)


def _stem(name: str) -> str:
    return name.rpartition("/")[2].removesuffix(".yaml")
