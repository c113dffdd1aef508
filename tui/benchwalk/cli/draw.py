"""`benchwalk draw`: a procedure's steps as text, as Mermaid, or as one page to print."""

from __future__ import annotations

import click

from .common import say, shop_folder
from .document import put


@click.command("draw")
@click.argument("procedure")
@click.option(
    "--format",
    "style",
    type=click.Choice(["text", "mermaid", "svg"]),
    default="text",
    help="What is drawn: text, a Mermaid flowchart, or one A4 page as SVG.",
)
@click.option("--walked", is_flag=True, help="Say at each way how many examples walk it (text and svg).")
@click.option("--out", metavar="FILE", help="Write it there instead of printing it.")
@click.option("--force", is_flag=True, help="Write over a file that is there.")
@click.pass_obj
def command(shop: str | None, /, procedure: str, style: str, walked: bool, out: str | None, force: bool) -> int:
    """Draw the step graph of PROCEDURE (an id or a path): each stop, where it leads and why."""
    from ..draw import draw_mermaid, draw_svg, draw_text
    from ..library import Library

    linked = Library.of(shop_folder(shop)).get(procedure)
    rehearsals = None
    if walked and style != "mermaid":
        from ..proof.rehearse import rehearse
        from ..sums import compute

        rehearsals = rehearse(linked, compute)
    drawn = {"text": draw_text, "svg": draw_svg}
    text = draw_mermaid(linked) if style == "mermaid" else drawn[style](linked, rehearsals)
    put(text, out, over=force, for_eyes=style != "svg")
    if out is not None:
        say(f"The drawing of {linked.id} is in {out}.")
    return 0
