"""`benchwalk check`: everything that is wrong with procedures, at once."""

from __future__ import annotations

import click


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
@click.pass_obj
def command(shop: str | None, /, files: tuple[str, ...], as_json: bool, style: str, no_rehearsal: bool) -> int:
    """Prove procedures: FILE is a path or an id; alone, the whole library. Exit 0 clean, 1 findings."""
    from ..library import Library
    from ..proof.check import check_source
    from ..proof.report import render
    from ..sums import compute
    from .common import shop_folder

    library = Library.of(shop_folder(shop))
    names = files or tuple(library.ids())
    checked = []
    for name in names:
        source, linked = library.open(library.path_of(name))
        findings = check_source(source, linked, known=library.ids(), compute=None if no_rehearsal else compute)
        checked.append((source, findings))
    click.echo(render(checked, "json" if as_json else style), nl=False)
    return 1 if any(f.severity == "error" for _source, findings in checked for f in findings) else 0
