"""The command line: each command in a file of its own, loaded only when it is asked for."""

from __future__ import annotations

import contextlib
import importlib
import io
import itertools
import json
import os
import sys
from collections.abc import Sequence

import click

from .. import __version__
from ..errors import BenchwalkError

COMMANDS: dict[str, str] = {
    "walk": "Walk a procedure, line by line with --plain.",
    "demo": "Walk the snare re-tie as a practice job in a scratch shop.",
    "rehearse": "Walk a procedure's examples, or one file of answers, without anybody.",
    "check": "Say everything that is wrong with procedures.",
    "write": "Write a procedure, with what is wrong told as you write.",
    "draw": "Draw a procedure's steps as text, Mermaid, or one page to print.",
    "sheet": "A procedure on paper, blank or as far as a job is, to be filled in by hand.",
    "changes": "What changed between two texts of a procedure, in a technician's words.",
    "approve": "Approve a procedure for customers' jobs.",
    "people": "Who works in the shop: list, add, change, set a PIN.",
    "intake": "Take a drum in: whose it is, which drum, what is known of it.",
    "jobs": "The shop's jobs, all or those that have all the words.",
    "show": "The pages of a job.",
    "report": "A job as a report for its owner or the shop, as HTML, Markdown or text.",
    "learned": "What the shop's logs say of a procedure, for whoever writes it.",
    "audit": "Verify the logs of jobs; --again works everything out once more.",
    "tap": "The note of each tap in recordings, how sure it is, or why there is none.",
    "sum": "Work out a registered sum on JSON from stdin; alone, list them.",
    "practise": "A practice drum: turn, press, tap and tune it, and hear what was hidden.",
    "serve": "The bench in a browser on this machine, such as for a tablet.",
    "where": "Every file and folder that is used.",
}


MOUSE = "benchwalk.mouse"
"""The key in a context's `meta` that says whether the full screen takes the mouse."""


class LazyGroup(click.Group):
    """A group whose commands are imported when they run, so that --help and check stay light."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f".{cmd_name}", __name__)
        command = module.command
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError:
            import difflib

            near = difflib.get_close_matches(args[0], list(COMMANDS), 1)
            hint = f"; did you mean '{near[0]}'?" if near else "; `benchwalk --help` lists them"
            raise click.UsageError(f"there is no command '{args[0][:40]}'{hint}") from None


@click.group(cls=LazyGroup, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.option("--shop", metavar="DIR", help="The shop's folder (else $BENCHWALK_SHOP, else your data folder).")
@click.option("--plain", is_flag=True, help="Without a command: the bench as lines, not on the full screen.")
@click.option("--no-mouse", is_flag=True, help="Leave the mouse to the terminal on the full screen.")
@click.version_option(__version__, prog_name="benchwalk")
@click.pass_context
def main(ctx: click.Context, shop: str | None, plain: bool, no_mouse: bool) -> None:
    """Walks a percussion repair technician through a repair, one step at a time, and keeps the record.

    Alone: the bench, which is the jobs in hand and what each waits for.
    """
    ctx.obj = shop
    ctx.meta[MOUSE] = not no_mouse
    if ctx.invoked_subcommand is not None:
        return
    from ..paths import shop_folder
    from .common import full_screen

    folder = shop_folder(shop)
    full = not plain and full_screen()
    if shop is None and not folder.exists() and not full:
        click.echo(ctx.get_help())
        return
    from .bench import bench, bench_on_screen

    if full:
        ctx.exit(bench_on_screen(folder, begin=shop is None, mouse=not no_mouse))
    bench(folder)


def run(arguments: Sequence[str]) -> int:
    """Run one command; its exit code: 0 fine, 1 findings or a refusal, 2 usage, 3 failure, 128+n on a signal."""
    as_json = _wants_json(arguments)
    _standard_files()
    try:
        code = _run(arguments, as_json)
        sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as error:  # what was said could not be written
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
        return _complain(f"what was to be said could not be written: {error.strerror or error}", None, 3, False)
    return code


def _run(arguments: Sequence[str], as_json: bool) -> int:
    try:
        result = main.main(list(arguments), prog_name="benchwalk", standalone_mode=False)
        return result if isinstance(result, int) else 0
    except BenchwalkError as error:
        return _complain(error.message, error.where, error.exit_code, as_json)
    except click.exceptions.Exit as stop:
        return stop.exit_code
    except (click.exceptions.Abort, KeyboardInterrupt):
        if sys.stderr.isatty():
            sys.stderr.write("\n")  # the terminal has shown ^C where it was pressed
        return _complain("stopped with ctrl+c", None, 130, as_json)
    except click.UsageError as error:
        where = error.ctx.command_path if error.ctx else None
        return _complain(error.format_message(), where, 2, as_json)
    except click.ClickException as error:
        return _complain(error.format_message(), None, error.exit_code, as_json)
    except BrokenPipeError:
        raise
    except OSError as error:
        place = str(error.filename) if error.filename else None
        return _complain(f"the machine answered: {error.strerror or error}", place, 3, as_json)
    except Exception as error:
        if os.environ.get("BENCHWALK_DEBUG"):
            raise
        fault = f"{type(error).__name__}: {error}"[:200]
        sentence = f"this is a fault of Benchwalk itself ({fault}); what was confirmed as noted is safe"
        return _complain(f"{sentence}. BENCHWALK_DEBUG=1 shows where it happened", None, 3, as_json)


def _wants_json(arguments: Sequence[str]) -> bool:
    """Whether a complaint must be JSON too."""
    after = dict(itertools.pairwise(arguments))
    return "--json" in arguments or after.get("--format") == "json" or "--format=json" in arguments


def _standard_files() -> None:
    """A closed stdin, stdout or stderr is an empty one: no log may ever get its number, and every name is writable."""
    for number, name, mode in ((0, "stdin", "r"), (1, "stdout", "w"), (2, "stderr", "w")):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest number that is free, which is this one
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, mode, encoding="utf-8"))  # noqa: SIM115
    for stream, errors in ((sys.stdin, "replace"), (sys.stdout, "backslashreplace"), (sys.stderr, "backslashreplace")):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=errors)


def _complain(message: str, where: str | None, code: int, as_json: bool) -> int:
    from ..procedure.showing import safe_text, sentence

    if as_json:
        sys.stdout.write(json.dumps({"error": {"message": message, "where": where}}) + "\n")
        return code
    said = sentence(safe_text(message))
    with contextlib.suppress(OSError):  # nobody reads complaints either
        sys.stderr.write(f"{safe_text(where)}: {said}\n" if where else f"{said}\n")
        sys.stderr.flush()
    return code
