"""Everything that can happen to a job, as plain data.

An event is a dict: `v` (the version of its kind), `n` (its number in the job), `at` (time with offset), `who` (a
person's id), `what` (one of KINDS), then the fields named here. Numbers are text. Events carry results, so that
folding them needs no procedure and no sum.
"""

from __future__ import annotations

from typing import Any

Event = dict[str, Any]
VERSION = 1

KINDS: dict[str, tuple[str, ...]] = {
    # the job
    "opened": (
        *("job", "kind", "procedure", "revision", "title", "text", "content", "texts"),
        *("drum", "given", "note", "owner"),
    ),
    "readied": ("needs", "waived", "hazards"),
    "fact": ("name", "typed", "value", "unit", "known"),
    "paused": ("note", "between_stages"),
    "resumed": ("place",),
    "place_checked": ("visit", "said"),
    "handed_over": ("to", "note", "open"),
    "taken_on": ("note",),  # and `how`: by name or by pin (an event of before says nothing of it)
    "problem": ("visit", "path", "step", "text"),
    "problem_settled": ("problem", "text"),
    "noted": ("visit", "text"),
    "owner_removed": ("job",),
    "lock_taken_over": ("reason", "holder"),
    "turned_away": ("act", "why"),
    # the route
    "entered": ("visit", "run", "path", "text", "step", "title", "stage", "why", "pass", "by_hand"),
    "ran": ("run", "path", "text", "procedure", "revision", "title", "given", "back", "event"),
    "given_again": ("run", "given", "because"),
    "returned": ("run", "path", "outcome", "why"),
    "acknowledged": ("visit", "hazards"),
    "worded": ("visit", "part", "text", "reads"),
    "done": ("visit",),
    "not_yet": ("visit",),
    "chose": ("visit", "name", "way", "say"),
    "confirmed": ("visit", "place"),
    "waiting": ("visit", "until", "latest"),
    "waited": ("visit", "early"),
    "late": ("visit", "go", "reads"),
    "skipped": ("visit", "because", "reason", "sign"),
    "happened": ("visit", "event", "say", "owner_path", "go", "count", "at_most", "then"),
    "took": ("visit", "line", "go", "because", "count", "at_most", "then", "reads"),
    "overruled": ("visit", "line", "go", "because", "reason", "sign", "undoes", "withdraws"),
    "ended": ("visit", "outcome", "proposes", "say"),
    # the record
    # `read` and `corrected` may have `recording`: the kept recording that a note was heard in
    "read": ("visit", "run", "name", "place", "typed", "value", "unit", "verdict", "by", "against", "odd", "late_at"),
    "left_out": ("visit", "run", "name", "place", "why"),  # and `allowed`: why the procedure lets it be left out
    "worked": ("visit", "run", "name", "use", "version", "sources", "outputs", "no_result", "again"),
    "found": ("visit", "run", "finding", "sentence", "grade", "evidence", "proposes", "again"),
    "corrected": ("of", "typed", "value", "unit", "verdict", "by", "against", "odd", "reason", "touches"),
    "rejudged": ("of", "verdict", "by", "because"),
    "stands": ("took", "because"),
    "diverged": ("took", "would", "because"),  # and `keeps`: findings that are left as they were said for now
    "went_back": ("visit", "path", "step", "struck", "reason"),
    # other people
    "released": ("visit", "run", "job", "step", "text", "meaning", "covers", "sign", "again"),
    "refused": ("visit", "run", "job", "step", "text", "meaning", "covers", "sign", "refused_for", "note"),  # `again`
    "not_needed": ("visit", "run", "because"),
    "told": ("visit", "run", "role", "because"),  # and `meaning`: what a look is signed as
    "voided": ("sign_off", "because"),
    "accepted": ("job", "took", "reason", "sign", "covers"),  # and `withdraws`: findings that no longer stand
    "accounted": ("items",),  # and `missing`: what is not there; `sign`: whoever lets the job close with it
    "job_released": ("job", "meaning", "sign", "head", "covers"),
}


def lacking(event: Event) -> str | None:
    """The sentence for an event that is not one: an unknown kind or a field that is not there; else None."""
    kind = event.get("what")
    fields = KINDS.get(kind) if isinstance(kind, str) else None
    if fields is None:
        return f"the kind of event {kind!r} is not known here"
    for field in fields:
        if field not in event:
            return f"the event '{kind}' has no '{field}'"
    return None
