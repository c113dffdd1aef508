"""`benchwalk approve`: a second person approves a procedure for customers' jobs."""

from __future__ import annotations

import click

from ..errors import Refused, UsageError
from .common import clock, open_shop, say


@click.command("approve")
@click.argument("procedure")
@click.option("--who", required=True, metavar="NAME", help="Who approves; their PIN is asked at the terminal.")
@click.option("--author", metavar="NAME", help="Who wrote it (a shipped one: the Benchwalk authors).")
@click.pass_obj
def command(shop: str | None, /, procedure: str, who: str, author: str | None) -> int:
    """Approve exactly this revision of PROCEDURE, with exactly what it runs."""
    from ..data import shipped_folder
    from ..job.approvals import approve
    from ..job.people import check_pin, load_people, read_pin
    from ..library import Library
    from ..proof.check import check_source
    from ..session import called, runs_of
    from ..sums import compute

    here = open_shop(shop)
    library = Library.of(here.root)
    linked = library.get(procedure)
    if author is None:
        if library.path_of(procedure).resolve().parent != shipped_folder().resolve():
            raise UsageError("say who wrote it with --author; a second person approves")
        author = "the Benchwalk authors"
    # The PIN comes before the proof, which takes a moment: what is typed while nothing asks would be shown.
    person = called(load_people(here), who)
    signed = check_pin(here, person.id, read_pin(f"PIN of {person.name} (not shown): "), clock())
    for book in linked.family():
        errors = [
            f for f in check_source(book.source, book, known=library.ids(), compute=compute) if f.severity == "error"
        ]
        if errors:
            place = f"{book.source.name}:{errors[0].pos.line}:{errors[0].pos.column}"
            raise Refused(f"it is not clean, so it is not approved: {errors[0].message}", place)
    approval = approve(
        here, linked.id, str(linked.procedure.revision), linked.content, runs_of(linked), author, signed, clock()
    )
    runs = ", ".join(approval.runs) or "nothing else"
    say(f"{linked.id} revision {approval.revision} is approved by {approval.name}; it runs {runs}.")
    return 0
