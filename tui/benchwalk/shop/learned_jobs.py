"""Which jobs of a shop were worked to a procedure, each followed through its log; and those that cannot be read."""

from __future__ import annotations

from collections.abc import Iterator

from ..errors import BenchwalkError, Failure
from ..job.folder import JobFolder, never_opened
from ..job.glance import glance
from ..job.line import Event
from ..job.log import read
from ..job.shop import Shop
from ..job.so_far import read_so_far
from ..procedure.collector import collector_rests
from ..procedure.linked import Linked
from .index import MakeBooks
from .learned_follow import Followed, follow
from .learned_numbers import LeftOut

REHEARSAL = "rehearsal"


Known = dict[tuple[tuple[str, str], ...], Linked]
"""The procedure as it was found for the texts that a job keeps: two jobs that keep the same have the same."""


def worked_to(shop: Shop, procedure: str, books: MakeBooks) -> Iterator[Followed | LeftOut]:
    """The jobs in which the procedure was walked, by itself or run by another, in the order of their numbers.

    Of each log the first line is looked at, and the whole is read only where that names the procedure. Rehearsals are
    passed over. A job that cannot be read is left out with why, unless its first line says that it has nothing to do
    with the procedure. Each is read when it is asked for; `books` gives the procedures that a job's folder keeps.
    Raises Failure where the jobs cannot be listed.
    """
    known: Known = {}
    for job in shop.jobs():
        try:
            followed = _followed(JobFolder(job, shop.jobs_folder / job), procedure, books, known)
        except BenchwalkError as error:
            yield LeftOut(job, error.message)
            continue
        if followed is not None:
            yield followed


@collector_rests()
def _followed(folder: JobFolder, procedure: str, books: MakeBooks, known: Known) -> Followed | None:
    """The job followed, None where the procedure was not walked in it. Raises BenchwalkError if that is not known."""
    first = _first(folder)
    texts = first.get("texts") if first is not None and first.get("kind") != REHEARSAL else None
    if not isinstance(texts, dict) or procedure not in texts:
        return None
    events = read(folder.log).events
    try:
        key = tuple(sorted(texts.items()))
        if key not in known:
            linked = books(folder, texts)
            linked(events[0]["text"])  # with it comes all that it runs
            known[key] = linked(texts[procedure])
        followed = follow(folder.id, events, known[key])
    except (LookupError, TypeError, ValueError, AttributeError, StopIteration):
        # The chain holds, so every line is as it was written; but no Benchwalk wrote these.
        raise Failure("its lines are as they were written, but do not make up a job", str(folder.log)) from None
    walked = any(frame.text == followed.linked.text for frame in followed.state.begun.values())
    return followed if walked else None


def _first(folder: JobFolder) -> Event | None:
    """The event a job was opened with; None for one that never was. Raises BenchwalkError where it cannot be read."""
    seen = glance(folder)
    if seen.first is not None:
        return seen.first
    if never_opened(folder):
        return None
    reading, damage = read_so_far(folder.log)  # damaged further down, the first line may still say what it was
    if not reading.events:
        raise damage or Failure("its log is empty; nothing was ever opened in it", str(folder.log))
    return reading.events[0]
