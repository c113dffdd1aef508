"""Acts about the job as a whole: opening it, getting ready, putting it down, handing it over, problems and notes."""

from __future__ import annotations

from typing import Any

from ..errors import Refused
from ..procedure.facts import FACTS
from ..procedure.linked import Linked
from ..procedure.parts import HazardText, Take
from ..quantities import likelier, parse_quantity, parse_range
from . import acts
from .desk import Desk
from .figures import exact, range_data
from .phase import Now
from .state import State, Visit
from .wording import listed

BARE = frozenset(
    ("yes", "y", "ok", "okay", "all", "ready", "done", "no", "n", "not yet", "none", "nothing", "all is at hand")
)
"""Words that cannot be what is missing."""


def open_job(desk: Desk, here: Now, act: acts.Open) -> None:
    """Open the job: its texts are pinned by hash, and what is known of the drum stands first."""
    root = desk.book(act.text)
    if act.kind not in ("customer", "practice", "rehearsal"):
        raise Refused(f"a job is customer, practice or rehearsal, not '{act.kind}'")
    drum = {name: fact_data(name, typed) for name, typed in act.drum.items()}
    desk.emit(
        "opened",
        job=act.job,
        kind=act.kind,
        procedure=root.id,
        revision=str(root.procedure.revision),
        title=root.procedure.title,
        text=root.text,
        content=root.content,
        texts={root.id: root.text, **root.all_texts()},
        drum=drum,
        given=taken_data(root, act.given),
        note=dict(act.note),
        owner=act.owner,
    )


def fact_data(name: str, typed: str) -> dict[str, Any]:
    """A fact of a drum as events carry it; Misread where it cannot be understood, Refused where it cannot be."""
    fact = FACTS.get(name)
    typed = typed.strip()
    if not typed:
        raise Refused(f"nothing was typed for the drum's {name}; a value is expected")
    if fact is None or fact.kind == "words":
        return {"typed": typed, "value": typed, "unit": ""}
    quantity = parse_quantity(typed, fact.unit, whole=fact.kind == "whole")
    possible = parse_range(fact.possible, fact.unit) if fact.possible else None
    if possible is not None and not possible.contains(quantity.value):
        meant = likelier(quantity, possible)
        wish = possible.text(fact.unit) + (f"; did you mean {meant}?" if meant is not None else "")
        raise Refused(f"{quantity.understood()} cannot be: {fact.ask.lower()}; possible is {wish}")
    return {"typed": quantity.typed, "value": exact(quantity.value), "unit": fact.unit}


def taken_data(root: Linked, given: dict[str, str]) -> dict[str, Any]:
    """What a procedure takes, handed in by hand instead of by another; Refused where something is missing or wrong."""
    found: dict[str, Any] = {}
    for name in given:
        if name not in root.procedure.takes:
            raise Refused(f"'{root.id}' takes no '{name}'")
    missing: list[str] = []
    for name, take in root.procedure.takes.items():
        typed = given.get(name, "").strip()
        if not typed:
            missing.append(name)
        elif take.choices:
            found[name] = {"choice": _chosen(name, typed, take.choices), "sources": []}
        elif take.range:
            found[name] = {"range": range_data(parse_range(typed, take.range)), "resolution": None, "sources": []}
        else:
            quantity = parse_quantity(typed, take.unit or "")
            found[name] = {"typed": quantity.typed, "value": exact(quantity.value), "unit": take.unit, "sources": []}
    if missing:
        raise Refused(_all_missing(root, missing))
    return found


def _all_missing(root: Linked, missing: list[str]) -> str:
    """All that a procedure takes and was not given, in one sentence, with the words to type."""
    takes = root.procedure.takes
    wishes = (f"'{name}' ({_wish(takes[name])})" for name in missing)
    typed = " ".join(f"--with {name}={_example(root, name)}" for name in missing)
    them = "it" if len(missing) == 1 else "them"
    return f"'{root.id}' is run by others and takes {listed(wishes)}; to walk it alone give {them}, as in: {typed}"


def _wish(take: Take) -> str:
    return " or ".join(map(_hyphens, take.choices)) if take.choices else f"in {take.range or take.unit}"


def _example(root: Linked, name: str) -> str:
    """A value as it can be typed in a shell: that of the procedure's own examples, where they have one."""
    take, known = root.procedure.takes[name], root.procedure.usual.given.get(name)
    if take.choices:
        return _hyphens(known if isinstance(known, str) and known in take.choices else next(iter(take.choices)))
    unit = take.range or take.unit or ""
    value = known if isinstance(known, str) else "LOW .. HIGH" if take.range else "NUMBER"
    return f'"{value if unit and value.endswith(unit) else f"{value} {unit}".rstrip()}"'


def _hyphens(word: str) -> str:
    return word.replace("_", "-")


def _chosen(name: str, typed: str, choices: dict[str, str]) -> str:
    """The choice that is meant: by its word, with hyphens too, or by the text shown for it."""
    low = _hyphens(typed.lower())
    for word, shown in choices.items():
        if low in (_hyphens(word.lower()), _hyphens(shown.lower())):
            return word
    raise Refused(f"'{name}' is one of {', '.join(map(_hyphens, choices))}, and '{typed[:40]}' is not")


def ready(desk: Desk, here: Now, act: acts.Ready) -> None:
    if here.kind != "ready" or here.linked is None:
        raise Refused("what is needed was confirmed already")
    waived = act.waived.strip()
    if bare_word(waived):
        raise Refused(f"'{waived}' does not say what is missing; Enter alone says that all is at hand")
    needs = {
        linked.id: {key: getattr(linked.procedure.needs, key) for key in ("tools", "parts", "supplies", "before")}
        for linked in here.linked.family()
    }
    hazards = [f"{grade}: {part.hazard}" for grade, part in job_hazards(here.linked)]
    desk.emit("readied", needs=needs, waived=waived, hazards=hazards)


def bare_word(text: str) -> bool:
    """Whether a text is a bare yes or no, a key pressed more than once too, which cannot be what is missing."""
    bare = text.strip().lower().rstrip(".")
    return bare in BARE or (len(set(bare)) == 1 and bare[0] in BARE)


def job_hazards(root: Linked) -> list[tuple[str, HazardText]]:
    """The hazards of a procedure as a whole and of what it runs, each said once.

    The same hazard is one under the same signal word and in the same words. Where another procedure knows another
    consequence of it, or another way to avoid it, that is added: nothing that keeps a hand whole is left out.
    """
    found: dict[tuple[str, str], HazardText] = {}
    for linked in root.family():
        listed = linked.procedure.hazards
        for graded in listed if isinstance(listed, list) else ():
            for grade, part in graded.graded():
                same = (grade, _plain(part.hazard))
                found[same] = _both(found[same], part) if same in found else part
    return [(grade, part) for (grade, _hazard), part in found.items()]


def _both(first: HazardText, second: HazardText) -> HazardText:
    """A hazard as two procedures tell of it."""
    told = {
        "consequence": _joined(first.consequence or "", second.consequence or "") or None,
        "avoid": _joined(first.avoid, second.avoid),
    }
    return first.but(**told)


def _joined(first: str, second: str) -> str:
    said = {_plain(text) for text in first.split("; ")}
    more = [text for text in second.split("; ") if text and _plain(text) not in said]
    return "; ".join([text.rstrip(".") for text in (first, *more) if text])


def _plain(text: str) -> str:
    """Words that say the same, whatever their capitals, blanks and full stop."""
    return " ".join(text.casefold().split()).rstrip(".")


def fact(desk: Desk, here: Now, act: acts.GiveFact) -> None:
    if here.kind != "fact" or act.name != here.name:
        raise Refused(f"'{act.name}' is not asked for now")
    desk.emit("fact", name=act.name, **fact_data(act.name, act.typed), known=False)


def pause(desk: Desk, here: Now, act: acts.Pause) -> None:
    if here.kind == "paused":
        raise Refused("the work is put down already")
    if desk.who != desk.state.person and not act.note.strip():
        raise Refused("this is another person's work: say in a note how you found it")
    between = _between_stages(desk)
    if not between and not act.note.strip():
        raise Refused("this is inside a stage: say in a note how the drum stands, so that it can be taken up again")
    desk.emit("paused", note=act.note, between_stages=between)


def _between_stages(desk: Desk) -> bool:
    """Whether the walk stands at the first step of a stage with nothing done at it yet."""
    state = desk.state
    here = state.here()
    if here is None or state.ended or not state.frames:
        return True
    linked = desk.book(here.text)
    return linked.steps[here.step].stage is not None and fresh(state, here)


def fresh(state: State, visit: Visit) -> bool:
    """Whether nothing was done or noted at that stop yet."""
    begun = visit.done or visit.confirmed or visit.way or visit.ran or visit.until or visit.hold or visit.skipped
    return not begun and not any(e.visit == visit.number and state.live(e.visit, e.n) for e in state.entries.values())


def resume(desk: Desk, here: Now, act: acts.Resume) -> None:
    visit = desk.state.here()
    mine = desk.who == desk.state.person
    if here.kind != "paused" and (not mine or visit is None or desk.state.ended):
        raise Refused("the work is in hand already")
    if mine:
        desk.emit("resumed", place=visit.number if visit else 0)
    else:
        desk.emit("taken_on", note="took up work that was put down", how="name")


def check_place(desk: Desk, here: Now, act: acts.CheckPlace) -> None:
    if here.kind != "recheck" or here.visit is None:
        raise Refused("nothing needs to be looked at again here")
    desk.emit("place_checked", visit=here.visit.number, said=act.said)


def hand_over(desk: Desk, here: Now, act: acts.HandOver) -> None:
    if act.to not in desk.bench.roles:
        raise Refused(f"nobody called '{act.to}' works in this shop")
    if act.to == desk.state.person:
        raise Refused("the work cannot be handed to the one who has it")
    if not act.note.strip():
        raise Refused("say in the hand-over how the drum stands and what to look out for")
    visit = desk.state.here()
    waits = {"step": visit.step if visit else "", "waits_for": here.kind, "stale": desk.state.stale()}
    desk.emit("handed_over", to=act.to, note=act.note, open=waits)


def take_on(desk: Desk, here: Now, act: acts.TakeOn) -> None:
    if here.kind != "handover":
        raise Refused("nothing was handed over")
    if desk.who not in (desk.state.handed_to, desk.state.person):
        name = desk.bench.names.get(desk.state.handed_to or "", desk.state.handed_to)
        raise Refused(f"the work was handed to {name}")
    desk.emit("taken_on", note=act.note, how=act.how)


def problem(desk: Desk, here: Now, act: acts.Problem) -> None:
    if not act.text.strip():
        raise Refused("say what is wrong with this step")
    visit = desk.visit
    desk.emit("problem", visit=visit.number, path=visit.path, step=visit.step, text=act.text)


def settle_problem(desk: Desk, here: Now, act: acts.SettleProblem) -> None:
    if desk.state.problem is None:
        raise Refused("no problem is open")
    if not act.text.strip():
        raise Refused("say how the problem was settled")
    desk.emit("problem_settled", problem=desk.state.problem, text=act.text)


def note(desk: Desk, here: Now, act: acts.Note) -> None:
    if not act.text.strip():
        raise Refused("the note is empty")
    desk.emit("noted", visit=desk.state.visit, text=act.text)
