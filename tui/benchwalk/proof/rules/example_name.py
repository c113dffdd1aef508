"""An example that speaks of something that is not there.

`drum`, `given`, `acts`, `assume`, `passes`, `finds` and `ends` of examples (and of `usual`) name facts, readings,
steps, sums and findings; inside a run as `far.gap` and `far/knot`. A misspelt name would change nothing and say
nothing, so each is looked up. Whether the values fit is seen when the example is walked. Findings name an example by
its own name, so no two have the same.

Wrong:

    readings:
      gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 30}
    steps:
      - step: gap
        record: [gap]
        end: done
    examples:
      - example: a gap
        given: {gab: 3}
        ends: done

Says:

    8:14: 'a gap': at gap (stop 1): nothing is given for 'gap'; write given: {gap: ...} in the example or in
      'usual' [example]
    9:13: there is no reading 'gab' to give; did you mean 'gap'? [example-name]

Right:

    readings:
      gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 30}
    steps:
      - step: gap
        record: [gap]
        end: done
    examples:
      - example: a gap
        given: {gap: 3}
        ends: done
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from ...procedure.findings import Finding
from ...procedure.linked import Linked, Path
from ...procedure.model import Example, Usual
from ...procedure.scope import meant
from ...procedure.showing import shortened
from ..findable import key_place

ID = "example-name"


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each name in the examples that is not there."""
    if any(f.severity == "error" for f in linked.findings):
        return  # a name missing here may be the one that could not be read
    yield from _usual(linked, linked.procedure.usual, ("usual",))
    findings = {name for inner in linked.family() for name in inner.procedure.findings}
    outcomes = linked.outcomes()
    seen: dict[str, int] = {}
    for number, example in enumerate(linked.procedure.examples):
        at: Path = ("examples", number)
        if seen.setdefault(example.example, number) != number:
            first = linked.place("examples", seen[example.example], "example").line
            message = f"an example in line {first} is called '{shortened(example.example)}' too"
            yield Finding(ID, f"{message}; call one of them otherwise", linked.place(*at, "example"))
        yield from _usual(linked, example, at)
        yield from _passes(linked, example, at)
        for index, name in enumerate(example.finds or []):
            if name not in findings:
                hint = "; for nothing found write 'finds: []'" if name == "none" else meant(name, findings)
                message = f"there is no finding '{name}'{hint}"
                yield Finding(ID, message, linked.place(*at, "finds", index))
        if example.ends not in outcomes:
            message = f"no step ends {example.ends}; it can end {' or '.join(outcomes) or 'nowhere'}"
            yield Finding(ID, message, linked.place(*at, "ends"))


def _passes(linked: Linked, example: Example, at: Path) -> Iterator[Finding]:
    for index, name in enumerate(example.passes):
        inner, step, known = _inside(linked, name, "/")
        if inner is None or step not in inner.steps:
            hint = meant(name, [*known, *(inner.steps if inner and "/" not in name else [])])
            yield Finding(ID, f"there is no step '{name}' to pass{hint}", linked.place(*at, "passes", index))


def _usual(linked: Linked, part: Usual, at: Path) -> Iterator[Finding]:
    facts = linked.needed_facts()
    for fact in part.drum:
        if fact not in facts:
            message = f"the drum's '{fact}' is not asked for{meant(fact, facts)}"
            yield Finding(ID, message, key_place(linked, (*at, "drum", fact)))
    for name in part.given:
        inner, inside, known = _inside(linked, name.replace("/", "."), ".")
        readings = _readings(inner, top=inner is linked) if inner else []
        if inside not in readings:
            hint = meant(name, [*known, *(readings if "." not in name else [])])
            yield Finding(ID, f"there is no reading '{name}' to give{hint}", key_place(linked, (*at, "given", name)))
    for name, act in part.acts.items():
        yield from _act(linked, name, act, (*at, "acts", name))
    for name, value in part.assume.items():
        yield from _assumed(linked, name, value, (*at, "assume", name))


def _readings(inner: Linked, top: bool) -> list[str]:
    """What can be given of a procedure: readings, ways chosen and, if nobody hands it in, what it takes."""
    p = inner.procedure
    ways = [step.choose.as_ for step in inner.steps.values() if step.choose]
    return [*p.readings, *ways, *(p.takes if top else [])]


def _act(linked: Linked, name: str, act: Any, path: Path) -> Iterator[Finding]:
    inner, step, known = _inside(linked, name, "/")
    if inner is None or step not in inner.steps:
        hint = meant(name, [*known, *(inner.steps if inner and "/" not in name else [])])
        yield Finding(ID, f"there is no step '{name}' to act at{hint}", key_place(linked, path))
    events = {event.event for book in linked.family() for event in book.procedure.whenever}
    visits = act.get("visits") if isinstance(act, Mapping) else None
    acts = [((*path, "visits", n), one) for n, one in enumerate(visits)] if isinstance(visits, list) else [(path, act)]
    for at, one in acts:
        event = one.get("event") if isinstance(one, Mapping) else None
        if event is not None and event not in events:
            yield Finding(ID, f"there is no event '{event}'{meant(str(event), events)}", linked.place(*at, "event"))


def _assumed(linked: Linked, name: str, value: Any, path: Path) -> Iterator[Finding]:
    if name == "count":
        for step in value if isinstance(value, Mapping) else ():
            if step not in linked.steps:
                message = f"there is no step '{step}' to count{meant(step, linked.steps)}"
                yield Finding(ID, message, key_place(linked, (*path, step)))
        return
    inner, inside, known = _inside(linked, name.replace("/", "."), ".")
    sums = {n for n, v in inner.variables.items() if v.sum} if inner else set()
    if inside not in sums:
        hint = meant(name, [*known, *(sums if inner is linked else [])])
        yield Finding(ID, f"there is no sum '{name}' to assume{hint}", key_place(linked, path))


def _inside(linked: Linked, name: str, joint: str) -> tuple[Linked | None, str, list[str]]:
    """(the procedure a name is in, the name there, full names that could be meant)."""
    inner: Linked = linked
    parts = name.split(joint)
    depth = 0
    while depth < len(parts) - 1 and parts[depth] in inner.runs:
        inner = inner.runs[parts[depth]]
        depth += 1
    rest = joint.join(parts[depth:])
    lead = joint.join(parts[:depth])
    known = [f"{lead}{joint}{n}" for n in (*inner.steps, *inner.procedure.readings)] if lead else []
    return inner, rest, known
