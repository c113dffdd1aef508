"""`benchwalk write`: a procedure as text, with everything that is wrong with it told while it is written."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..errors import UsageError
from .common import full_screen, mouse, shop_folder

if TYPE_CHECKING:
    from textual.screen import Screen

    from ..authoring.draft import Draft
    from ..library import Library


@click.command("write")
@click.argument("procedure")
@click.option("--new", "anew", is_flag=True, help="Begin a new procedure of that id, from a small one that works.")
@click.pass_obj
def command(shop: str | None, /, procedure: str, anew: bool) -> int:
    """Write PROCEDURE (an id or a path) on the full screen.

    One that came with the program is written as the shop's own copy, which then goes before it.
    """
    if not full_screen():
        raise UsageError("writing needs a terminal; in a pipe, edit the file and run `benchwalk check` on it")
    from ..authoring.draft import opened
    from ..library import Library
    from ..screens.start import on_screen

    root = shop_folder(shop)
    library = Library.of(root)
    draft = _new(library, procedure, root) if anew else opened(library, procedure, root)

    def first(told: str) -> Screen[Any]:
        from ..screens.write import WriteScreen

        return WriteScreen(draft, library, root, told)

    return on_screen(first, mouse=mouse())


def _new(library: Library, name: str, root: Path | None) -> Draft:
    from ..authoring.draft import Draft
    from ..authoring.skeleton import skeleton

    if "/" in name or name.endswith((".yaml", ".yml")):
        path = Path(name)
        return Draft.new(path, skeleton(path.stem))
    if name in library.ids():
        raise UsageError(f"there is a procedure '{name}' already; name it without --new")
    folder = root / "procedures" if root is not None and root.is_dir() else Path.cwd()
    return Draft.new(folder / f"{name}.yaml", skeleton(name))
