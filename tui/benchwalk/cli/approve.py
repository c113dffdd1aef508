"""`benchwalk approve`: a second person approves a procedure for customers' jobs."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import click

from ..errors import Refused, UsageError
from .common import answer, clock, open_shop, say, signed

if TYPE_CHECKING:
    from ..job.shop import Shop


@click.command("approve")
@click.argument("procedure")
@click.option("--who", required=True, metavar="NAME", help="Who approves; their PIN is asked at the terminal.")
@click.option("--author", metavar="NAME", help="Who wrote it (a shipped one: the Benchwalk authors).")
@click.option("--withdraw", is_flag=True, help="Take the approval of a revision back, with a reason.")
@click.option("--reason", metavar="TEXT", help="Why it is taken back; asked where it is not given.")
@click.option("--revision", metavar="N", help="The revision taken back; without it the one the library has now.")
@click.pass_obj
def command(
    shop: str | None,
    /,
    procedure: str,
    who: str,
    author: str | None,
    withdraw: bool,
    reason: str | None,
    revision: str | None,
) -> int:
    """Approve exactly this revision of PROCEDURE, with exactly what it runs.

    With --withdraw, take the approvals of a revision back: no new customer's job begins with it. Jobs that are open go
    on with the texts they keep.
    """
    if withdraw:
        if author is not None:
            raise UsageError("--author belongs to an approval, not to taking one back")
        return _withdraw(open_shop(shop), procedure, revision, who, reason)
    if reason is not None or revision is not None:
        raise UsageError("--reason and --revision belong to --withdraw; an approval is of the revision the library has")
    return _approve(open_shop(shop), procedure, who, author)


def _approve(here: Shop, procedure: str, who: str, author: str | None) -> int:
    from ..data import shipped_folder
    from ..job.approvals import approve, may_approve
    from ..job.people import called, load_people
    from ..library import Library
    from ..session import runs_of
    from ..shop.approvable import must_be_clean

    library = Library.of(here.root)
    linked = library.get(procedure)
    if author is None:
        if library.path_of(procedure).resolve().parent != shipped_folder().resolve():
            raise UsageError("say who wrote it with --author; a second person approves")
        author = "the Benchwalk authors"
    # The PIN comes before the proof, which takes a moment: what is typed while nothing asks would be shown.
    person = called(load_people(here), who)
    may_approve(here, person, author)
    what = f"{linked.id} revision {linked.procedure.revision}"
    proved = signed(here, person, f"You sign: {what} as approved. PIN of {person.name} (not shown): ")
    say("First it is checked and its examples are walked; this takes some seconds.")
    must_be_clean(here, linked, library)
    approval = approve(
        here, linked.id, str(linked.procedure.revision), linked.content, runs_of(linked), author, proved, clock()
    )
    runs = ", ".join(approval.runs) or "nothing else"
    say(f"{linked.id} revision {approval.revision} is approved by {approval.name}; it runs {runs}.")
    same = ", who approved it: a shop of one" if approval.same_hand else ""
    say(f"It was written by {approval.written_by}{same}.")
    return 0


def _withdraw(here: Shop, procedure: str, revision: str | None, who: str, reason: str | None) -> int:
    from ..job.approvals import approvals, may_approve, withdraw
    from ..job.people import called, load_people
    from ..job.words import one_line
    from ..library import Library

    if revision is None:
        linked = Library.of(here.root).get(procedure)
        procedure, revision = linked.id, str(linked.procedure.revision)
    standing = [a.revision for a in approvals(here) if a.procedure == procedure]
    if revision not in standing:
        known = f"; approved is revision {', '.join(dict.fromkeys(standing))}" if standing else ""
        raise Refused(f"revision {revision} of '{procedure}' is not approved, so nothing can be taken back{known}")
    person = called(load_people(here), who)
    may_approve(here, person)
    because = answer(reason, "Why is the approval taken back?", partial(one_line, what="the reason"))
    proved = signed(here, person, f"PIN of {person.name} (not shown): ")
    withdraw(here, procedure, revision, because, proved, clock())
    say(f"{procedure} revision {revision} is no longer approved; {person.name} took it back: {because}")
    return 0
