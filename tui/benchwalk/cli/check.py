"""`benchwalk check`: everything that is wrong with procedures, at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from .common import say, shop_folder

if TYPE_CHECKING:
    from pathlib import Path

    from ..job.approvals import Approval
    from ..library import Library


@click.command("check")
@click.argument("files", nargs=-1, metavar="[FILE...]")
@click.option("--json", "as_json", is_flag=True, help="Print JSON (the same as --format json).")
@click.option(
    "--format",
    "style",
    type=click.Choice(["text", "json", "sarif", "ci"]),
    default="text",
    help="How findings are said.",
)
@click.option("--no-rehearsal", is_flag=True, help="Do not walk the examples.")
@click.option("--propose", is_flag=True, help="Print examples, each proven, for the ways that no example walks.")
@click.pass_obj
def command(
    shop: str | None, /, files: tuple[str, ...], as_json: bool, style: str, no_rehearsal: bool, propose: bool
) -> int:
    """Prove procedures: FILE is a path or an id; alone, the whole library. Exit 0 clean, 1 findings."""
    from ..kept_walks import told
    from ..library import Library, lasting_name
    from ..proof.check import check_source
    from ..proof.report import render
    from ..sums import compute

    style = "json" if as_json else style
    if propose:
        _proposable(style, no_rehearsal)
    folder = shop_folder(shop)
    library = Library.of(folder)
    names = files or tuple(library.ids())
    approvals, roles = _approvals(folder), _roles(folder)
    checked = []
    for name in names:
        path = library.path_of(name)
        source, linked = library.open(path)
        findings = check_source(
            source,
            linked,
            known=library.ids(),
            tell=None if no_rehearsal else told,
            approvals=approvals if linked is not None and _is_used(library, linked.id, path) else (),
            roles=roles,
            file=lasting_name(path),
        )
        checked.append((source, findings))
    if propose:
        from ..proof.proposals import with_proposals  # only now: a plain check wants none of it

        linked_files = [library.open(library.path_of(name))[1] for name in names]
        for piece in with_proposals(checked, linked_files, compute, style):
            click.echo(piece, nl=False)
    else:
        click.echo(render(checked, style), nl=False)
    return 1 if any(f.severity == "error" for _source, findings in checked for f in findings) else 0


def _proposable(style: str, no_rehearsal: bool) -> None:
    """UsageError where examples cannot be proposed as the command is called."""
    from ..errors import UsageError

    if no_rehearsal:
        raise UsageError("--propose walks the examples there are; leave out --no-rehearsal")
    if style not in ("text", "json"):
        raise UsageError(f"--propose prints text or JSON, and the format is {style}; leave out one of them")


def _is_used(library: Library, procedure: str, path: Path) -> bool:
    """Whether this file is the one that the library has under that id; a draft elsewhere is nobody's yet."""
    from ..errors import UsageError

    try:
        return library.path_of(procedure).resolve() == path.resolve()
    except UsageError:
        return False


def _approvals(folder: Path | None) -> list[Approval]:
    """The approvals of the shop that is here; none, and a complaint, where they cannot be read."""
    if folder is None or not (folder / "procedures" / "approvals.jsonl").exists():
        return []
    from ..errors import BenchwalkError
    from ..job.approvals import approvals
    from ..job.shop import Shop

    try:
        return approvals(Shop.open(folder))
    except BenchwalkError as error:
        say(f"Revisions are not held against the shop's approvals: {error.message}", complaint=True)
        return []


def _roles(folder: Path | None) -> frozenset[str]:
    """The roles that the people of the shop that is here have; none where nobody works here, or they cannot be read."""
    if folder is None or not (folder / "shop.yaml").exists():
        return frozenset()
    from ..errors import BenchwalkError
    from ..job.people import load_people
    from ..job.shop import Shop

    try:
        people = load_people(Shop.open(folder)).by_id.values()
    except BenchwalkError as error:
        say(f"It is not looked at who could sign: {error.message}", complaint=True)
        return frozenset()
    return frozenset(role for person in people for role in person.roles)
