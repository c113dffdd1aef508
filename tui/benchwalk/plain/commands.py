"""What can be done at every prompt beside answering it: commands that begin with a slash, and the help."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..daybook import lines
from ..errors import Refused
from ..heard import can_hear, practises
from ..procedure.showing import shortened
from ..walk.phase import Now
from ..walk.signing import just_taken
from ..walk.step_acts import happenings
from . import asides, corrections
from .asides import Leave

if TYPE_CHECKING:
    from .walk import PlainWalk

__all__ = ["COMMANDS", "Command", "Leave", "help_lines", "is_command", "run_command"]


def _always(walk: PlainWalk, here: Now) -> bool:
    return True


def _at_step(walk: PlainWalk, here: Now) -> bool:
    return here.step is not None and here.kind != "recheck"


def _walked(walk: PlainWalk, here: Now) -> bool:
    return bool(walk.session.state.visits)


def _may_go_back(walk: PlainWalk, here: Now) -> bool:
    return _walked(walk, here) and here.kind not in ("paused", "handover")


def _may_fix(walk: PlainWalk, here: Now) -> bool:
    return bool(walk.session.state.entries) and here.kind not in ("paused", "handover", "problem")


@dataclass(frozen=True)
class Command:
    """One command: what it does, what follows its name, and where it makes sense."""

    does: str
    run: Callable[[PlainWalk, Now, str], None]
    takes: str = ""
    fits: Callable[[PlainWalk, Now], bool] = _always


def is_command(typed: str) -> bool:
    """Whether a line is meant as a command: a slash and one word of letters. The path of a file is not."""
    return re.match(r"/[A-Za-z]*( |$)", typed) is not None


def run_command(walk: PlainWalk, here: Now, typed: str) -> None:
    """Do what a line beginning with a slash asks for; Refused where there is no such command."""
    name, _, rest = typed[1:].partition(" ")
    name = _ALSO.get(name.lower(), name.lower())
    if name not in COMMANDS:
        near = difflib.get_close_matches(name[:40], list(COMMANDS), 1)
        hint = f"; did you mean /{near[0]}?" if near else "; type ? to hear what can be done here"
        raise Refused(f"/{shortened(name, 20)} is no command here{hint}")
    COMMANDS[name].run(walk, here, rest.strip(" \t"))


def help_lines(walk: PlainWalk, here: Now) -> Iterator[str]:
    """What can be typed here: the answers, then the commands that make sense at this point."""
    from .points import POINTS

    asked = asides.asked_reading(walk, here)
    yield POINTS[here.kind].help if asked is None else lines.typed_help(asked.reading, here.kind == "do")
    for name, command in COMMANDS.items():
        if command.fits(walk, here):
            yield _line(name, command)


def few_lines(walk: PlainWalk, here: Now) -> Iterator[str]:
    """The answers, and the commands that are wanted most often; how to hear of the others."""
    yield next(help_lines(walk, here))
    fit = [name for name in COMMON if COMMANDS[name].fits(walk, here)]
    for name in fit:
        yield _line(name, COMMANDS[name])
    if len(fit) < sum(command.fits(walk, here) for command in COMMANDS.values()):
        yield "Type ?? for all that can be done here."


def _line(name: str, command: Command) -> str:
    return f"/{name}{' ' + command.takes if command.takes else ''}: {command.does}"


def _branches(walk: PlainWalk, here: Now) -> bool:
    at_branches = _at_step(walk, here) and here.step is not None and bool(here.step.lines)
    return at_branches or just_taken(walk.session.state) is not None


def _several(walk: PlainWalk, here: Now) -> bool:
    return len(walk.session.bench.roles) > 1


def _working(walk: PlainWalk) -> bool:
    return any("rods" in known for known in (walk.session.state.facts, walk.session.state.drum))


def _lazily(name: str) -> Callable[[PlainWalk, Now, str], None]:
    """A command whose module is loaded when somebody wants it: sound and its sums are wanted by few."""

    def run(walk: PlainWalk, here: Now, rest: str) -> None:
        from . import hearing

        getattr(hearing, name)(walk, here, rest)

    return run


COMMANDS: dict[str, Command] = {
    "again": Command("say the step again", asides.again, fits=_at_step),
    "why": Command("why you are here, and the background of this step", asides.why, fits=_walked),
    "notyet": Command(
        "you do not see yet what you should: what to try",
        asides.not_yet,
        fits=lambda walk, here: here.kind in ("do", "way", "each"),
    ),
    "note": Command("write a note into the job", asides.note, "TEXT"),
    "none": Command(
        "leave this reading out",
        asides.leave_out,
        "[WHY]",
        fits=lambda walk, here: (
            (asked := asides.asked_reading(walk, here)) is not None and bool(asked.reading.optional)
        ),
    ),
    "hear": Command(
        "hear this by microphone, or out of a recording",
        _lazily("hear"),
        "[FILE]",
        fits=lambda walk, here: can_hear(asides.asked_reading(walk, here)),
    ),
    "drum": Command(
        "work on the practice drum: /drum tap 3, /drum turn 3 1/8, /drum take; /drum alone says all",
        _lazily("drum"),
        "[ORDER]",
        fits=lambda walk, here: practises(walk.session) and _working(walk),
    ),
    "late": Command(
        "note a reading that was taken earlier",
        asides.late,
        "TIME VALUE",
        fits=lambda walk, here: asides.asked_reading(walk, here) is not None,
    ),
    "at": Command(
        "note this reading at another place",
        asides.at_place,
        "PLACE VALUE",
        fits=lambda walk, here: (asked := asides.asked_reading(walk, here)) is not None and bool(asked.reading.where),
    ),
    "happened": Command(
        "something happened that the procedure foresees",
        asides.happened,
        "[WHICH]",
        fits=lambda walk, here: bool(happenings(walk.session.state, walk.session.bench)),
    ),
    "skip": Command(
        "leave this step out",
        asides.skip,
        "[WHY]",
        fits=lambda walk, here: _at_step(walk, here) and here.step is not None and here.step.may_skip is not None,
    ),
    "fix": Command(
        "correct the last reading, or the one with that number in /log", corrections.fix, "[NUMBER]", _may_fix
    ),
    "back": Command(
        "go back to an earlier stop; what was noted since no longer counts", corrections.back, "[STOP]", _may_go_back
    ),
    "other": Command("take another branch; whoever may decide that signs", asides.other, fits=_branches),
    "problem": Command("this step cannot be followed as written", asides.problem, "[TEXT]", _at_step),
    "hand": Command("hand the work to another person", asides.hand, "[NAME]", _several),
    "route": Command("the stops so far", asides.route, fits=_walked),
    "log": Command("the last stops of this job as its pages have them, or all", asides.log, "[all]"),
    "terse": Command("fewer words, or all of them again", asides.terse),
    "leave": Command("put the work down; all that was noted is kept", asides.leave, "[HOW IT STANDS]"),
}
COMMON = ("note", "why", "fix", "back", "leave")
"""The commands that `?` tells of; `??` tells of all."""
_ALSO = {"quit": "leave", "exit": "leave", "pause": "leave"}
