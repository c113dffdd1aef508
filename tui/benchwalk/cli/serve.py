"""`benchwalk serve`: the full screens in a browser on this machine, such as for a tablet at the bench."""

from __future__ import annotations

import sys

import click

from .common import open_shop


@click.command("serve")
@click.option("--port", type=int, default=8480, show_default=True, metavar="N", help="Where to listen; 0: a free port.")
@click.option(
    "--keep",
    type=click.IntRange(0, 24 * 60),
    default=30,
    show_default=True,
    metavar="MIN",
    help="For how long a tab may sleep before its work is put down.",
)
@click.pass_obj
def command(shop: str | None, /, port: int, keep: int) -> int:
    """Show the bench in a browser, at the address that is printed; ctrl+c ends it and puts down work in hand.

    Only this machine is listened to, and only the whole address opens the bench: who has it works in your name. A
    tablet reaches it through an ssh tunnel, or through a reverse proxy with TLS that you set up yourself and that
    passes Host and Origin on as this address.

    A tablet that sleeps, or whose line breaks, finds its walk where it was; a tab that is closed puts its walk down.
    """
    from ..serving.server import serve

    # -P: a folder that happens to hold a benchwalk.py must not stand in for the program.
    program = [sys.executable, "-P", "-m", "benchwalk", "--shop", str(open_shop(shop).root)]
    number = serve(program, port, click.echo, keep)
    if number == 2:
        raise KeyboardInterrupt
    return 128 + number
