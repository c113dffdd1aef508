"""One event of a log in words: who, when, what, and its place in the log."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from ..procedure.showing import in_words, words_of
from ..walk.events import KINDS
from ..walk.wording import moment

Names = Mapping[str, str]
Event = Mapping[str, Any]

WHAT: dict[str, str] = {
    "opened": "The job was opened",
    "readied": "What is needed was laid out, and the hazards were read",
    "fact": "A fact of the drum was noted",
    "paused": "The work was put down",
    "resumed": "The work was taken up again",
    "place_checked": "The drum was looked at again, before going on",
    "handed_over": "The work was handed over",
    "taken_on": "The work was taken on",
    "problem": "A problem with a step was reported",
    "problem_settled": "The problem was settled",
    "noted": "A note was written",
    "lock_taken_over": "The log was taken over from another writer",
    "turned_away": "An act was turned away",
    "entered": "A stop began",
    "ran": "Another procedure was begun here",
    "given_again": "What was handed in to it was handed in anew",
    "returned": "The procedure that was run came back",
    "acknowledged": "The hazards of this stop were read",
    "worded": "The action was told with these values",
    "done": "The action was done",
    "not_yet": "It was not yet so",
    "chose": "One of several ways was chosen",
    "confirmed": "A place was confirmed",
    "waiting": "A time began to run",
    "waited": "The time was over",
    "late": "The latest time had passed",
    "skipped": "The step was left out",
    "happened": "Something happened that the procedure foresees",
    "took": "A branch was taken",
    "overruled": "Another branch than the one that fits was taken",
    "ended": "The procedure came to its end",
    "read": "A reading was noted",
    "left_out": "A reading was left out",
    "worked": "A sum was worked out",
    "found": "Something was found",
    "corrected": "What was noted was corrected",
    "rejudged": "A reading was judged anew",
    "stands": "A branch still stands after a correction",
    "diverged": "A corrected value leads elsewhere than the walk went",
    "went_back": "The walk went back",
    "released": "Somebody looked, and released it",
    "refused": "Somebody looked, and refused it",
    "not_needed": "The look was not needed",
    "told": "Somebody was told, and could look",
    "voided": "A sign-off became void",
    "accepted": "The way as it went was accepted",
    "accounted": "The tools were counted",
    "job_released": "The job was released",
    "owner_removed": "What was kept of the owner was removed",
}
"""What each kind of event says."""

_FRAME = ("v", "n", "at", "who", "what", "before", "hash")
_SAID = {
    "visit": "stop",
    "of": "event that was corrected",
    "against": "judged by the sum of event",
    "reads": "rests on events",
    "sources": "rests on events",
    "evidence": "proved by events",
    "covers": "looks at events",
    "sign_off": "sign-off of event",
    "sign": "signed",
    "run": "run number",
}
_NAMES = frozenset(
    (
        *("name", "step", "path", "go", "would", "stage", "event", "owner_path", "way", "use", "finding", "grade"),
        *("proposes", "kind", "part"),
    )
)
"""Fields that hold a name out of a procedure, or a word of this program's own."""
_SENTENCES = frozenset(("because", "why", "stale"))
"""Fields that hold a sentence (or some) in which steps may be named."""
_INSIDE = frozenset(("step", "path", "waits_for", "stale"))
"""The same of what stands inside a field; a name there is a person's."""
_SNAKE = re.compile(r"[a-z][a-z0-9]*(?:_[a-z0-9]+)+")  # such as the word of a choice
_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\S*")
_LONGEST = 3  # levels of what stands inside a field


def event_words(events: Sequence[Event], n: int, names: Names) -> list[str]:
    """The event of that number as lines; one line that says so where the log has none."""
    if not 1 <= n <= len(events):
        return [f"There is no event {n}; this log has {len(events)}."]
    event = events[n - 1]
    who = str(event["who"])
    lines = [
        f"{WHAT.get(event['what'], event['what'])}.",
        f"By {names.get(who, who)}, {moment(event['at'])}.",
        "",
    ]
    steps = {str(each[key]) for each in events for key in ("step", "go", "would") if each.get(key)}
    fields = [*KINDS.get(event["what"], ()), *(key for key in event if key not in KINDS.get(event["what"], ()))]
    for key in fields:
        if key in event and key not in _FRAME and event[key] not in (None, "", [], {}, False):
            lines += _field(key, _worded(key, event[key], steps), names, 0)
    later = [e["n"] for e in events[n:] if _rests_on(e, n)]
    if later:
        lines += ["", f"Corrected or judged anew by event {', '.join(map(str, later))}."]
    place = f"Event {n} of {len(events)}, line {n} of the log"
    return [*lines, "", f"{place}; {str(event.get('hash', ''))[:16]} after {str(event.get('before', ''))[:16]}."]


def _rests_on(event: Event, n: int) -> bool:
    return event["what"] in ("corrected", "rejudged") and event.get("of") == n


def _worded(key: str, value: Any, steps: set[str]) -> Any:
    """What a field of an event holds, without names of a procedure in it; people's names and notes stay as they are."""
    if isinstance(value, Mapping):
        return {part: _worded(part, inner, steps) if part in _INSIDE else inner for part, inner in value.items()}
    if key in _SENTENCES:
        some = [in_words(str(each), steps) for each in (value if isinstance(value, list) else [value])]
        return some if isinstance(value, list) else some[0]
    if key not in _NAMES and not (key in ("typed", "value") and _SNAKE.fullmatch(str(value))):
        return value
    return [words_of(str(each)) for each in value] if isinstance(value, list) else words_of(str(value))


def _field(key: str, value: Any, names: Names, depth: int) -> list[str]:
    inset = "  " * depth
    said = _SAID.get(key, words_of(key))
    if isinstance(value, Mapping) and value and depth < _LONGEST:
        lines = [f"{inset}{said}:"]
        for part, inner in value.items():
            lines += _field(str(part), inner, names, depth + 1)
        return lines
    if isinstance(value, list):
        if any(isinstance(each, Mapping | list) for each in value) and depth < _LONGEST:
            return [f"{inset}{said}:", *(row for each in value for row in _field("-", each, names, depth + 1))]
        value = ", ".join(map(str, value)) or "none"
    if isinstance(value, bool):
        value = "yes" if value else "no"
    if key in ("who", "to"):
        value = names.get(str(value), value)
    if isinstance(value, str) and _TIME.fullmatch(value):
        value = moment(value)
    return [f"{inset}{said}: {value}"]
