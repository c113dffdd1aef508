"""Where steps lead: branches and their conditions, events, bounds, and the names a step uses."""

from __future__ import annotations

from collections.abc import Iterator

from ..quantities import dimension
from . import model
from .linked import Edge, Linked, Path, covers, quantity_or_none
from .scope import StepScope, bind_condition, meant
from .variables import ROD


def link_ways(linked: Linked) -> None:
    for step in linked.steps.values():
        index = linked.at[step.step]
        at: Path = ("steps", index)
        _step_names(linked, step, at)
        _step_conditions(linked, step, at)
        _step_edges(linked, step, at)
    for reading_name, reading in linked.procedure.readings.items():
        if reading.where is not None:
            _where_moves(linked, reading_name, reading)
    _events(linked)
    for target, step in linked.steps.items():
        if step.entered:
            _known_step(linked, step.entered.then, ("steps", linked.at[target], "entered", "then"))
    ways: list[Edge] = []
    for edge in linked.edges:
        ways.append(edge)
        if linked.steps[edge.target].entered:
            ways += _sent_on(linked, edge)
    linked.edges = ways


def _sent_on(linked: Linked, edge: Edge) -> Iterator[Edge]:
    """Where it leads once the step it leads to was entered too often, on through steps that send on themselves."""
    target, seen = linked.steps[edge.target], {edge.target}
    while target.entered and target.entered.then in linked.steps:
        path: Path = ("steps", linked.at[target.step], "entered", "then")
        target = linked.steps[target.entered.then]
        yield Edge(edge.source, target.step, "sent-on", edge.line, target.entered is not None, path, edge)
        if target.step in seen:
            return
        seen.add(target.step)


def _known_step(linked: Linked, name: str, path: Path) -> bool:
    if name in linked.steps:
        return True
    cure = meant(name, linked.steps)
    if name in ("done", "stopped", "referred"):
        cure = f"; ends are steps: write one with 'end: {name}', and lead to it"
    linked.say("unknown-step", f"there is no step '{name}' here{cure}", *path)
    return False


def _edge(
    linked: Linked, source: str, target: str, kind: str, path: Path, line: int | None = None, bounded: bool = False
) -> None:
    if _known_step(linked, target, path):
        step = linked.steps[target]
        linked.edges.append(Edge(source, target, kind, line, bounded or step.entered is not None, path))


def _step_edges(linked: Linked, step: model.Step, at: Path) -> None:
    name = step.step
    if step.wait and step.wait.late:
        _edge(linked, name, step.wait.late.go, "late", (*at, "wait", "late", "go"))
    if step.choose and step.choose.ways[0].go:
        for i, way in enumerate(step.choose.ways):
            _edge(linked, name, way.go or "", "way", (*at, "choose", "ways", i, "go"), i)
    elif step.lines:
        key = "branches" if step.branches else "first_of"
        for i, line in enumerate(step.lines):
            _edge(linked, name, line.go, "branch", (*at, key, i, "go"), i, line.at_most is not None)
            if line.then:
                _edge(linked, name, line.then, "then", (*at, key, i, "then"), i)
    elif step.go:
        _edge(linked, name, step.go, "go", (*at, "go"))
    elif not step.end:
        following = linked.next_of(name)
        if following is None:
            linked.say(
                "no-end", f"'{name}' is the last step and does not say how the procedure ends; write end: done", *at
            )
        else:
            _edge(linked, name, following, "next", at)


def _step_names(linked: Linked, step: model.Step, at: Path) -> None:
    p = linked.procedure
    for i, name in enumerate(step.record):
        if name not in p.readings:
            linked.say("unknown-name", f"there is no reading '{name}' here{meant(name, p.readings)}", *at, "record", i)
    for i, name in enumerate(step.work_out):
        if name not in p.sums:
            linked.say("unknown-name", f"there is no sum '{name}' here{meant(name, p.sums)}", *at, "work_out", i)
    if step.each and any(word.startswith("rod") for word in step.each) and "rods" not in p.drum:
        linked.say("unknown-fact", "each rod is asked, but 'drum:' does not ask for rods", *at, "each")
    if step.wait:
        for key, text in (("for", step.wait.for_), ("at_latest", step.wait.at_latest)):
            time = quantity_or_none(text, "min") if text is not None else None
            if text is not None and time is None:
                linked.say("quantity", f"'{text}' is not a time, such as 30 min or 2 h", *at, "wait", key)
            elif time and time.value <= 0:
                linked.say("quantity", f"'{text}' lets no time pass; write a time, such as 30 min", *at, "wait", key)
            elif time and not any(letter.isalpha() for letter in time.typed):
                linked.say("quantity", f"'{text}' has no unit; write one, as in {text} min", *at, "wait", key)
        if step.wait.from_:
            _known_step(linked, step.wait.from_, (*at, "wait", "from"))
    if step.hold:
        for i, name in enumerate(step.hold.covers):
            if linked.reading(name) is None and name not in linked.variables:
                linked.say(
                    "unknown-name", f"there is no reading '{name}' for the sign-off to cover", *at, "hold", "covers", i
                )
    if step.run and step.run.as_ in linked.runs:
        _run_values(linked, step.run, (*at, "run"))


def _run_values(linked: Linked, run: model.Run, at: Path) -> None:
    inner = linked.runs[run.as_]
    for key, text in run.with_.items():
        take = inner.procedure.takes.get(key)
        if take is None:
            continue
        here = linked.variables.get(text)
        if take.choices:
            if text in take.choices:
                if here is not None:
                    linked.say(
                        "run-with",
                        f"'{text}' is a choice of '{key}' and also a name here; rename one",
                        *at,
                        "with",
                        key,
                    )
            elif here is None or not set(here.choices) or not set(here.choices) <= set(take.choices):
                linked.say(
                    "run-with", f"'{key}' is one of {', '.join(take.choices)}, and '{text}' is not", *at, "with", key
                )
        elif take.range:
            if here is None or here.kind != "range" or dimension(here.unit) != dimension(take.range):
                linked.say("run-with", f"'{key}' takes a range in {take.range}, and '{text}' is none", *at, "with", key)
        else:
            unit = take.unit or ""
            limit = linked.limits.get(text)
            number = (
                here is not None and here.is_number and here.places is None and dimension(here.unit) == dimension(unit)
            )
            if (
                not number
                and not (limit and dimension(limit.unit) == dimension(unit))
                and quantity_or_none(text, unit) is None
            ):
                linked.say(
                    "run-with",
                    f"'{key}' takes a number in {unit or 'plain numbers'}, and '{text}' is none",
                    *at,
                    "with",
                    key,
                )


def _step_conditions(linked: Linked, step: model.Step, at: Path) -> None:
    scope = StepScope(linked, step)
    key = "branches" if step.branches else "first_of"
    for i, line in enumerate(step.lines):
        if line.when.strip() == "otherwise":
            if i != len(step.lines) - 1:
                linked.say("otherwise", "'otherwise' stands last, after every condition", *at, key, i, "when")
            continue
        bind_condition(linked, line.when, scope, (*at, key, i, "when"))
        for j, found in enumerate(line.find):
            if found not in linked.procedure.findings:
                linked.say(
                    "unknown-name",
                    f"there is no finding '{found}' here{meant(found, linked.procedure.findings)}",
                    *at,
                    key,
                    i,
                    "find",
                    j,
                )
    for i, word in enumerate(step.each or []):
        if " where " in word:
            start = word.index(" where ") + 7
            bind_condition(linked, word[start:], scope, (*at, "each", i), each=ROD, offset=start)


def _where_moves(linked: Linked, name: str, reading: model.Reading) -> None:
    where = linked.variables.get(reading.where or "")
    at: Path = ("readings", name, "where")
    if where is None or where.sum is None or where.places is None:
        linked.say("unknown-name", f"'{reading.where}' is not a sum's value for each place", *at)
    unit = reading.unit or ""
    if reading.elsewhere is not None and reading.sort != "choice" and quantity_or_none(reading.elsewhere, unit) is None:
        linked.say(
            "quantity",
            f"'{reading.elsewhere}' is not a value in {unit or 'plain numbers'}",
            "readings",
            name,
            "elsewhere",
        )


def _events(linked: Linked) -> None:
    stages = set(linked.stage.values())
    seen: dict[str, int] = {}
    for index, event in enumerate(linked.procedure.whenever):
        at: Path = ("whenever", index)
        if event.event in seen:
            linked.say("duplicate-id", f"an event called '{event.event}' stands here already", *at, "event")
        seen[event.event] = index
        for i, word in enumerate(event.during):
            known = word == "everywhere" or word in linked.steps or (word.startswith("stage ") and word[6:] in stages)
            if not known:
                names = [*linked.steps, *(f"stage {s}" for s in stages), "everywhere"]
                linked.say(
                    "unknown-step",
                    f"'{word}' is no step here, no 'stage ...' and not 'everywhere'{meant(word, names)}",
                    *at,
                    "during",
                    i,
                )
        if event.run and event.run.as_ in linked.runs:
            _run_values(linked, event.run, (*at, "run"))
        for step in linked.steps:
            if not covers(event, step, linked.stage.get(step)):
                continue
            if event.go in linked.steps:
                _edge(linked, step, event.go, "event", (*at, "go"), index, event.at_most is not None)
            if event.then in linked.steps:
                _edge(linked, step, event.then, "then", (*at, "then"), index)
        for key, target in (("go", event.go), ("then", event.then)):
            if target is not None:
                _known_step(linked, target, (*at, key))
