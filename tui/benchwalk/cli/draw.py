"""`benchwalk draw`: a procedure's steps as text or Mermaid."""

from __future__ import annotations

import click


@click.command("draw")
@click.argument("procedure")
@click.option("--format", "style", type=click.Choice(["text", "mermaid"]), default="text", help="What is drawn.")
@click.option("--walked", is_flag=True, help="Mark the ways that some example walks (text).")
@click.pass_obj
def command(shop: str | None, /, procedure: str, style: str, walked: bool) -> int:
    """Draw the step graph of PROCEDURE (an id or a path)."""
    from ..draw import draw_mermaid, draw_text
    from ..library import Library
    from .common import shop_folder

    linked = Library.of(shop_folder(shop)).get(procedure)
    if style == "mermaid":
        click.echo(draw_mermaid(linked), nl=False)
        return 0
    rehearsals = None
    if walked:
        from ..proof.rehearse import rehearse
        from ..sums import compute

        rehearsals = rehearse(linked, compute)
    click.echo(draw_text(linked, rehearsals), nl=False)
    return 0
