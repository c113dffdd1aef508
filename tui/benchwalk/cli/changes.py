"""`benchwalk changes`: what changed between two texts of a procedure, in a technician's words."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from ..errors import Refused, UsageError
from .common import open_shop, say_json, shop_folder

if TYPE_CHECKING:
    from ..job.approvals import Approval
    from ..job.shop import Shop
    from ..library import Library
    from ..procedure.linked import Linked


@click.command("changes")
@click.argument("old")
@click.argument("new", required=False)
@click.option("--approved", is_flag=True, help="From the revision that the shop approved last to the one it has now.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
@click.pass_obj
def command(shop: str | None, /, old: str, new: str | None, approved: bool, as_json: bool) -> int:
    """Say what changed from OLD to NEW (ids or paths); or, with --approved, in the procedure OLD since its approval.

    What matters for the hands comes first; layout and comments are nothing. Exit 0 where nothing changed, 1 where
    something did.
    """
    from ..changes import as_data, as_lines, compare
    from ..library import Library

    if approved == (new is not None):
        raise UsageError("name two texts, or one procedure with --approved")
    library = Library.of(shop_folder(shop))
    now = _linked(library, new or old)
    before = _approved(open_shop(shop), library, now) if approved else _linked(library, old)
    found = compare(before, now)
    if as_json:
        say_json(as_data(before, now, found))
    else:
        click.echo("\n".join(as_lines(before, now, found)))
    return 1 if found else 0


def _linked(library: Library, name: str) -> Linked:
    """A procedure to compare, also one that is not sound yet; Refused where the file does not have the shape of one."""
    _source, linked = library.open(library.path_of(name))
    return linked if linked is not None else library.get(name)


def _approved(here: Shop, library: Library, now: Linked) -> Linked:
    """The text of the revision that was approved last, with what it runs.

    An approval keeps no text, only its hash: the text is the one of now, or one that came with the program, or one that
    a job keeps that was worked to it. Raises Refused where nothing is approved, or no such text is there any more.
    """
    from ..data import shipped_procedures
    from ..job.approvals import approvals

    given = [approval for approval in approvals(here) if approval.procedure == now.id]
    if not given:
        raise Refused(f"no revision of '{now.id}' is approved in this shop, so there is nothing to compare with")
    approval = given[-1]
    candidates = [now]
    if shipped := shipped_procedures().get(now.id):
        _source, linked = library.open(shipped)
        candidates += [linked] if linked is not None else []
    for each in candidates:
        if _is_approved(each, approval):
            return each
    kept = _kept(here, approval)
    if kept is None:
        raise Refused(
            f"the approval of '{now.id}' revision {approval.revision} keeps only the hash of its text, and neither the "
            "program nor a job of this shop has that text; compare with the old file: benchwalk changes OLD NEW"
        )
    return kept


def _is_approved(linked: Linked, approval: Approval) -> bool:
    """Whether exactly this, with exactly what it runs, was approved."""
    from ..session import runs_of

    return linked.content == approval.content and linked.sound and runs_of(linked) == dict(approval.runs)


def _kept(here: Shop, approval: Approval) -> Linked | None:
    """The approved text out of a job that was worked to it, the latest job first; None where no job has it."""
    from ..errors import BenchwalkError
    from ..job.folder import load_text
    from ..procedure.read import read
    from ..session import Books

    seen: set[str] = set()
    for glance in sorted(here.glances(), key=lambda glance: glance.job, reverse=True):
        opened = glance.first or {}
        texts = {**opened.get("texts", {})}
        if opened.get("procedure"):
            texts[opened["procedure"]] = opened.get("text", "")
        text = texts.get(approval.procedure, "")
        if not text or text in seen:
            continue
        seen.add(text)
        folder = here.job(glance.job)
        try:
            if read(load_text(folder, text), glance.job).content_hash == approval.content:
                linked = Books(folder, texts)(text)
                if _is_approved(linked, approval):
                    return linked
        except BenchwalkError:
            continue  # that job's copy is gone or damaged: `benchwalk audit` tells of it
    return None
