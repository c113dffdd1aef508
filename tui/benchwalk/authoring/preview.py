"""A step as an apprentice will see it: the page of a walk that an example leads to that step."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, cast

from ..daybook.ink import Line, Span, Tone
from ..daybook.page import Page
from ..daybook.right import page_of
from ..errors import Misread, Refused
from ..procedure.linked import Linked
from ..procedure.model import Example
from ..proof.rehearse import MOST_ACTS, REHEARSER, Player
from ..walk import acts
from ..walk.phase import AUTOMATIC, Now, now

Compute = Callable[[str, dict[str, Any]], Any]


class Led(Player):
    """An example walked as far as one step; `done` are the acts that led there, the opening of the job left out."""

    def __init__(self, linked: Linked, example: Example, compute: Compute) -> None:
        super().__init__(linked, example, compute)
        self.done: list[acts.Act] = []

    def act(self, act: acts.Act) -> None:
        super().act(act)
        if not isinstance(act, acts.Open):
            self.done.append(act)

    def lead(self, step: str) -> Now | None:
        """Walk until that step, or what it runs, asks something beyond its hazards; None where the walk does not come
        there."""
        run = self.linked.steps[step].run
        try:
            self.begin()
            for _ in range(MOST_ACTS):
                here = now(self.state, self.bench)
                path = here.visit.path if here.visit is not None else ""
                inside = run is not None and path.partition("/")[0] == run.as_
                at_it = here.visit is not None and (inside or (here.visit.step == step and not path))
                if at_it and here.kind not in AUTOMATIC and here.kind != "hazard":
                    return here
                if here.kind in ("ended", "account", "sign-again", "released"):
                    return None
                self.act(self.answer(here))
        except (Refused, Misread):
            pass
        return None


def led_to(linked: Linked, step: str, compute: Compute) -> tuple[Led, Now] | None:
    """The first of the examples (else of what is usual alone) that leads to a step; None where none does."""
    for example in [*linked.procedure.examples, Example.of({"example": "what is usual"})]:
        led = Led(linked, example, compute)
        here = led.lead(step)
        if here is not None:
            return led, here
    return None


def preview(linked: Linked, step: str, compute: Compute) -> list[Line]:
    """The right page of the walk at a step; a sentence where no example leads there."""
    found = led_to(linked, step, compute)
    if found is None:
        return [
            (Span(f"No example comes to '{step}' yet, so it cannot be shown as it will stand in a walk.", "quiet"),)
        ]
    led, here = found
    return page_lines(page_of(led.state, here, led.bench, REHEARSER))


def page_lines(page: Page) -> list[Line]:
    """A right page in lines, its parts in the order of the screen."""
    lines: list[Line] = [(Span(page.place, "brass"), Span(f"   {page.stage}" if page.stage else "", "quiet"))]
    if page.why:
        lines.append((Span(f"Why you are here: {page.why}.", "quiet"),))
    for hazard in page.hazards:
        told = " ".join(f"{part.rstrip('.')}." for part in (hazard.hazard, hazard.consequence) if part)
        lines += [(), (Span(f"{hazard.grade.upper()}  ", cast(Tone, hazard.grade)), Span(told))]
        lines.append((Span(f"Avoid it: {hazard.avoid}"),))
    lines += [(), *([(Span(page.action, "loud"),)] if page.action else []), *([(Span(t),) for t in page.lead])]
    if page.expect:
        lines += [(), (Span(f"You should see: {page.expect}", "quiet"),)]
    if page.question:
        lines += [(), (Span(page.question, "loud"),)]
    lines += [
        (Span(f"  {choice.number}  {choice.said}"), Span("   wanted" if choice.wanted else "", "quiet"))
        for choice in page.choices
    ]
    lines += [(Span("   ".join(page.hints), "quiet"),)] if page.hints else []
    lines += [(Span(f"> {page.entry}", "quiet"),)] if page.entry is not None else []
    return lines
