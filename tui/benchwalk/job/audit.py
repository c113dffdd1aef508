"""Whether the records of a shop are as they were written: every line, every text, every file, every signature."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from ..errors import BenchwalkError
from .folder import NOT_OPENED, JobFolder, never_opened, unlike_their_names
from .line import Event
from .owner import owner_matches
from .reading import Reading, read, verify
from .shop import Shop
from .trouble import DamagedLog

SIGNATURES = frozenset({"released", "refused", "accepted", "job_released"})
_HASH = re.compile(r"[0-9a-f]{64}")
_MOST_TOLD = 5
# Kinds of event whose `text` is what a person wrote, not the hash of a procedure's text.
_WORDED = frozenset({"problem", "problem_settled", "noted"})


def audit(
    shop: Shop, jobs: Iterable[str] | None = None, heads: Mapping[str, str] | None = None
) -> list[dict[str, Any]]:
    """Audit jobs (all, if none are named): for each `job`, `events`, `ok`, `first_bad_line`, `why` and `head`.

    A job that was never opened is `ok`, with no events, and `why` says so.

    `heads` are heads kept outside, by job; without one nobody can tell that whole lines are missing at a log's end.
    Nothing is changed, and no job stops the audit of the next.
    """
    kept = heads or {}
    return [audit_job(shop, name, kept.get(name)) for name in (shop.jobs() if jobs is None else jobs)]


def audit_job(shop: Shop, name: str, head: str | None = None) -> dict[str, Any]:
    """The audit of one job, as a row of `audit`."""
    row: dict[str, Any] = {"job": name, "events": 0, "ok": False, "first_bad_line": None, "why": None, "head": None}
    try:
        job = shop.job(name)
        if head is None and never_opened(job):
            return {**row, "ok": True, "why": NOT_OPENED}
        reading = read(job.log, strict=True)
        if reading.torn is not None:
            reading = read(job.log, strict=True)  # a writer may just have been in the midst of a line
    except DamagedLog as damage:
        return {**row, "events": (damage.line or 1) - 1, "first_bad_line": damage.line, "why": damage.why}
    except BenchwalkError as error:
        return {**row, "why": error.message}
    row |= {"events": len(reading.events), "head": reading.head}
    wrong = [*_wrong_lines(job, reading), *((None, why) for why in _wrong_beside(job, reading, head))]
    if not wrong:
        return {**row, "ok": True}
    told = [f"line {line}: {why}" if line else why for line, why in wrong[:_MOST_TOLD]]
    if len(wrong) > _MOST_TOLD:
        told.append(f"and {len(wrong) - _MOST_TOLD} more")
    lines = [line for line, _ in wrong if line is not None]
    return {**row, "first_bad_line": min(lines, default=None), "why": "; ".join(told)}


def _wrong_lines(job: JobFolder, reading: Reading) -> Iterator[tuple[int, str]]:
    """What is wrong with events although the chain holds, each with its line."""
    hashes: set[str] = set()
    for event in reading.events:
        for why in _wrong_event(job, event, hashes):
            yield event["n"], why
        hashes.add(event["hash"])
    if reading.torn is not None:
        yield (
            len(reading.events) + 1,
            f"it is cut short ({len(reading.torn)} bytes) and counts as not written;"
            " opening the job for work sets it aside",
        )


def _wrong_event(job: JobFolder, event: Event, hashes: set[str]) -> Iterator[str]:
    what, n = event["what"], event["n"]
    if n == 1 and event.get("job", job.id) != job.id:
        yield f"the log was begun as that of job {event['job']}"
    if what in SIGNATURES:
        yield from _wrong_signature(job, event, hashes)
    for name in _texts(event):
        if not (job.texts / f"{name}.yaml").is_file():
            yield f"the procedure's text {name[:16]} it names is not kept with the job"


def _wrong_signature(job: JobFolder, event: Event, hashes: set[str]) -> Iterator[str]:
    what, n = event["what"], event["n"]
    signed_for = event.get("job")
    if signed_for != job.id:
        yield f"this signature ('{what}' by {event['who']}) is for job {signed_for or 'unnamed'}, not for this one"
    covers = event.get("covers")
    if not isinstance(covers, list):
        yield f"this signature ('{what}' by {event['who']}) does not say which events it covers"
        return
    for covered in covers:
        number = int(covered) if isinstance(covered, str) and covered.isascii() and covered.isdigit() else covered
        if type(number) is not int or not 1 <= number < n:
            yield f"this signature covers event {covered!r}, which does not come before it"
    head = event.get("head")
    if isinstance(head, str) and _HASH.fullmatch(head) and head not in hashes:
        yield "this signature names a head that no event before it has"


def _texts(event: Event) -> Iterator[str]:
    """The hashes of procedures' texts an event names."""
    named: list[object] = []
    if event["what"] not in _WORDED:
        named.append(event.get("text"))
    texts = event.get("texts")
    if isinstance(texts, dict):
        named += texts.values()
    for name in dict.fromkeys(named):
        if isinstance(name, str) and _HASH.fullmatch(name):
            yield name


def _wrong_beside(job: JobFolder, reading: Reading, head: str | None) -> Iterator[str]:
    """What is wrong beside the log: files, the owner's facts, and the head kept outside."""
    yield from unlike_their_names(job.texts)
    yield from unlike_their_names(job.files)
    try:
        named = [event["owner"] for event in reading.events if isinstance(event.get("owner"), str)]
        if named and _HASH.fullmatch(named[-1]) and owner_matches(job, named[-1]) is False:
            yield "the owner's facts are not those the log speaks of"
        if head is not None:
            verify(job.log, head)
    except BenchwalkError as error:
        yield error.message
