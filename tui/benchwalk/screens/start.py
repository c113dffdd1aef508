"""Starting the full screen and what is said on the terminal once it is given back."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Mapping
from typing import Any

from textual.screen import Screen

from ..errors import Failure, UsageError
from ..paths import keys_file
from ..procedure.showing import sentence, shortened
from . import keymap
from .app import BenchwalkApp
from .gate import QUIET
from .looks import kept_look

QUIET_VARIABLE = "BENCHWALK_QUIET"
"""How long the going-on keys must be quiet, in seconds, for hands or switches that need another time."""


def quiet_time(environ: Mapping[str, str] = os.environ) -> float:
    """The bounce gate's time; UsageError where the environment names none from 0 to 5 seconds."""
    said = environ.get(QUIET_VARIABLE, "").strip().replace(",", ".")
    if not said:
        return QUIET
    try:
        seconds = float(said)
    except ValueError:
        seconds = -1.0
    if not 0 <= seconds <= 5:
        raise UsageError(f"${QUIET_VARIABLE} is '{shortened(said)}'; seconds from 0 to 5 are expected")
    return seconds


def own_keys() -> tuple[dict[str, str], str]:
    """(the user's own keys, what is to be said of them): a file that cannot work gives none, and the sentence says
    where and why. A typing error there must keep nobody from the job in hand."""
    try:
        return keymap.load(keys_file()), ""
    except UsageError as error:
        why = sentence(f"{error.where}: {error.message}" if error.where else error.message)
        return {}, f"Your own keys do not hold this time. {why} F1 lists the keys that do."


def on_screen(first: Callable[[str], Screen[Any]], *, mouse: bool = True) -> int:
    """Run the program on the full screen, beginning with the screen that `first` makes; the exit code.

    `first` is given what that screen has to say before anything else, mostly "". Raises Failure where something went
    wrong that nobody foresaw; the terminal is whole by then.
    """
    keys, told = own_keys()
    app = BenchwalkApp(lambda: first(told), look=kept_look(), keys=keys, quiet=quiet_time())
    code = app.run(mouse=mouse)
    if app.return_code == 1:
        where = f"; a report without any of the shop's text is in {app.fault}" if app.fault else ""
        raise Failure(f"this is a fault of Benchwalk itself; what was confirmed as noted is safe{where}")
    sys.stdout.flush()
    return code or 0
