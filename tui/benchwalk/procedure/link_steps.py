"""Steps, stages and the procedures they run: ids once each, no recursion, everything taken is given."""

from __future__ import annotations

from collections.abc import Iterable

from . import model
from .findings import Related
from .linked import Find, Linked, Path
from .scope import meant


def link_steps(linked: Linked) -> None:
    stage = ""
    seen_stages: dict[str, int] = {}
    for index, step in enumerate(linked.procedure.steps):
        if step.step in linked.steps:
            first = linked.at[step.step]
            linked.say(
                "duplicate-id",
                f"a step called '{step.step}' stands here already; each id is used once",
                "steps",
                index,
                "step",
                related=(Related(linked.place("steps", first, "step"), "the first stands here"),),
            )
            continue
        linked.steps[step.step] = step
        linked.at[step.step] = index
        if step.stage:
            stage = step.stage.id
            if stage in seen_stages:
                linked.say(
                    "duplicate-id", f"a stage called '{stage}' begins here a second time", "steps", index, "stage", "id"
                )
            seen_stages[stage] = index
        if stage:
            linked.stage[step.step] = stage


def link_runs(linked: Linked, find: Find, above: tuple[str, ...]) -> None:
    for run, path in _all_runs(linked):
        name = run.procedure
        if name == linked.id or name in above:
            linked.say("recursion", f"'{name}' would come to run itself; a procedure cannot", *path, "procedure")
            continue
        known = linked.runs.get(run.as_)
        if known is not None and known.id != name:
            linked.say("duplicate-id", f"the name '{run.as_}' already stands for a run of '{known.id}'", *path, "as")
            continue
        inner = known or find(name)
        if inner is None:
            linked.say("unknown-procedure", f"there is no procedure '{name}' that can be run here", *path, "procedure")
            continue
        if any(linked.id == family.id for family in inner.family()):
            linked.say("recursion", f"'{name}' itself runs '{linked.id}'; a procedure cannot come to run itself", *path)
            continue
        if not inner.sound:
            linked.say("broken-run", f"'{name}' has errors of its own; check it first", *path, "procedure")
            continue
        linked.runs[run.as_] = inner
        for taken in inner.procedure.takes:
            if taken not in run.with_:
                linked.say("run-with", f"'{name}' takes '{taken}', and it is not given here", *path)
        for given in run.with_:
            if given not in inner.procedure.takes:
                linked.say(
                    "run-with",
                    f"'{name}' takes no '{given}'{meant(given, inner.procedure.takes)}",
                    *path,
                    "with",
                    given,
                )


def _all_runs(linked: Linked) -> Iterable[tuple[model.Run, Path]]:
    for step in linked.steps.values():
        if step.run:
            yield step.run, ("steps", linked.at[step.step], "run")
    for index, event in enumerate(linked.procedure.whenever):
        if event.run:
            yield event.run, ("whenever", index, "run")
