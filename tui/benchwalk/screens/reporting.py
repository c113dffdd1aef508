"""Making a job's report from a screen: which one, where it is to lie, and where it lies then."""

from __future__ import annotations

import asyncio
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from textual.screen import Screen
from textual.widgets import Static

from ..errors import BenchwalkError
from ..job.shop import Shop
from ..procedure.showing import sentence
from .asking import AskLine, Confirm, Pick, Reading
from .looks import plain

if TYPE_CHECKING:
    from .walk import WalkScreen

KINDS = (
    ("owner", "html", "For the owner: a fair copy, as a page to print or to send (HTML)"),
    ("owner", "text", "For the owner, as plain text"),
    ("owner", "md", "For the owner, as Markdown"),
    ("shop", "html", "For the shop: the whole record, as a page (HTML)"),
    ("shop", "text", "For the shop, as plain text"),
    ("shop", "md", "For the shop, as Markdown"),
)
"""For whom, in which format, and how that is called."""


async def make_report(screen: Screen[Any], shop: Shop, job: str) -> None:
    """Ask for whom a report is and where it is to lie, write it, and say where it lies; or leave it.

    Raises Refused or Failure where the job cannot be read.
    """
    choices = [words for _audience, _form, words in KINDS]
    index = await screen.app.push_screen_wait(Pick(f"A report of {job}", "Nothing of the job is changed.", choices))
    if index is None:
        return
    audience, form, _words = KINDS[index]
    text, name = await asyncio.to_thread(_made, shop, job, audience, form)
    path = await _written(screen, text, name)
    if path is not None:
        told = f"It lies in\n\n{path}"
        if screen.app.is_web:
            told += "\n\non the machine that shows this page, not on the one you hold."
        await screen.app.push_screen_wait(Reading(f"The report of {job} for the {audience} is written", _said(told)))


def _made(shop: Shop, job: str, audience: str, form: str) -> tuple[str, str]:
    """(the report, what its file is called)."""
    from ..report.making import file_name, record_of, report_of  # only now: every other key is quicker without
    from ..session import Books

    return report_of(record_of(shop, job, Books), audience, form), file_name(job, audience, form)


def _said(text: str) -> Static:
    return Static(plain(text))


async def _written(screen: Screen[Any], text: str, name: str) -> Path | None:
    """The file that was written; None where that was left. What cannot be is said and asked again."""
    from ..report.making import Exists, write

    typed, why = name, ""
    while True:
        told = f"{why} " if why else ""
        told += f"Enter alone takes this name, in the folder {os.getcwd()}; another name or a whole path may be typed."
        answer = await screen.app.push_screen_wait(AskLine("Where is it to lie?", told, value=typed))
        if answer is None:
            return None
        typed = answer
        out = os.path.expanduser(typed)
        if os.path.isdir(out):
            out = os.path.join(out, name)
        try:
            return await asyncio.to_thread(write, out, text)
        except Exists:
            sure = Confirm("There is a file of that name already", f"{out}: is it to be written over?")
            if await screen.app.push_screen_wait(sure):
                why, path = await asyncio.to_thread(_over, out, text)
                if path is not None:
                    return path
            else:
                why = "That file stays as it is."
        except BenchwalkError as error:
            why = sentence(error.message)


def _over(out: str, text: str) -> tuple[str, Path | None]:
    """Write over a file: (why it cannot be, or ""; the file, or None)."""
    from ..report.making import write

    try:
        return "", write(out, text, over=True)
    except BenchwalkError as error:
        return sentence(error.message), None


async def report(screen: WalkScreen) -> None:
    """Make the report of the job in hand."""
    await make_report(screen, screen.session.shop, screen.session.state.job)
