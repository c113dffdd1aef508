"""A walk as an example: what was told otherwise than usual, what was found, how it ended; and its text in a file."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

import orjson

from ...procedure.linked import Linked
from ...procedure.model import Usual
from ..answers import Answers, Unstated, full
from .script import Value
from .trail import Trail
from .values import of_output

WIDTH = 118
"""Characters of a line, past which what is given is written line by line."""

Tree = dict[str, Any]


def example_of(trail: Trail, passes: Sequence[str]) -> Tree:
    """The keys of the example that walks as this walk went, all but its name."""
    linked, state = trail.linked, trail.state
    drum = {name: trail.answers.fact(name) for name in linked.needed_facts()}
    known = {name for book in linked.family() for name in book.procedure.usual.drum} - set(trail.script.drum)
    tree: Tree = {
        "drum": {name: text for name, text in drum.items() if name not in known},
        "given": {**_taken(trail), **_given(trail)},
        "acts": _acts(trail),
        "assume": _assumed(trail),
        "passes": list(passes),
    }
    tree = {key: value for key, value in tree.items() if value}
    if any(book.procedure.findings for book in linked.family()):
        tree["finds"] = list(dict.fromkeys(f.finding for f in state.found if state.live(f.visit, f.n)))
    return {**tree, "ends": state.ended["outcome"] if state.ended else ""}


def _usual(linked: Linked) -> Answers:
    return Answers.of(linked, Usual.of({}))


def _taken(trail: Trail) -> Tree:
    usual = trail.linked.procedure.usual.given
    told = {take: str(trail.answers.given[take]) for take in trail.linked.procedure.takes}
    return {take: text for take, text in told.items() if usual.get(take) != text}


def _given(trail: Trail) -> Tree:
    usual = _usual(trail.linked)
    found: Tree = {}
    for key, rounds in trail.typed_by_round().items():
        path, _, name = key.rpartition(".")
        before = [_usually(usual, path.replace(".", "/"), name, number, told) for number, told in enumerate(rounds)]
        if before != rounds:
            value = _visits([_placed(told) for told in rounds])
            found[key] = value["each"] if isinstance(value, dict) and list(value) == ["each"] else value
    return found


def _usually(usual: Answers, path: str, name: str, number: int, told: Value) -> Value | None:
    try:
        if isinstance(told, str):
            return usual.reading(path, name, number + 1, None)
        return {place: usual.reading(path, name, number + 1, place) for place in told}
    except Unstated:
        return None


def _placed(told: Value) -> Any:
    """A value for each place, said for most of them at once."""
    if isinstance(told, str):
        return told
    each = Counter(told.values()).most_common(1)[0][0]
    odd = {place: text for place, text in told.items() if text != each}
    return {"each": each, **odd}


def _visits(rounds: Sequence[Any]) -> Any:
    """What is told round by round; plainly where it is the same in all."""
    kept = _fewest(rounds)
    return kept[0] if len(kept) == 1 else {"visits": kept}


def _fewest(rounds: Sequence[Any]) -> list[Any]:
    """Rounds as an example lists them: the last stands for all that follow."""
    kept = list(rounds)
    while len(kept) > 1 and kept[-1] == kept[-2]:
        kept.pop()
    return kept


_STRIKES = frozenset(("event", "problem", "skipped"))


def _acts(trail: Trail) -> Tree:
    usual = _usual(trail.linked)
    found: Tree = {}
    acted: dict[str, dict[int, Any]] = {}
    for (key, number), act in trail.answers.acted.items():
        acted.setdefault(key, {})[number] = act
    for key, told in acted.items():
        path, _, step = key.rpartition("/")
        times = sum(1 for asked in trail.answers.asked if asked.startswith(f"act {path}/{step} at "))
        rounds = [told.get(number) for number in range(times)]
        if rounds == [usual.act(path, step, number + 1) for number in range(times)]:
            continue
        if not any(isinstance(act, dict) and _STRIKES & act.keys() for act in rounds):
            found[key] = _visits(rounds)
        else:  # what strikes strikes at the first visit only where it is said plainly
            found[key] = {"visits": _fewest(rounds)} if any(rounds[1:]) or not rounds[0] else rounds[0]
    return found


def _assumed(trail: Trail) -> Tree:
    script = trail.script
    found: Tree = {}
    for key in dict.fromkeys(name for name, _ in script.assume):
        path, _, name = key.rpartition(".")
        asked = [int(k.rpartition(" ")[2]) for k in trail.answers.asked if k.startswith(f"sum {key} at ")]
        every = (w for (_, of), many in trail.state.sums.items() if of == name for w in many if w.visit in asked)
        worked = sorted(every, key=lambda w: w.visit)
        if all(w.no_result is not None for w in worked):
            found[key] = "no result"
            continue
        book = trail.book(trail.state.visits[worked[0].visit - 1])
        for output, variable in book.variables.items():
            if output.startswith(f"{name}."):
                part = output.partition(".")[2]
                texts = ["no result" if w.no_result else of_output(w.outputs.get(part), variable) for w in worked]
                found[full(path.replace(".", "/"), output)] = _visits(texts)
    if script.counts:
        counted = {step: str(count) for step, count in script.counts.items()}
        found["count"] = {**trail.linked.procedure.usual.assume.get("count", {}), **counted}
    return found


# --- text --------------------------------------------------------------------------------------------------------


def text_of(name: str, tree: Tree) -> str:
    """The example as it is pasted among those of a file."""
    out = [f"  - example: {_scalar(name, apart=True)}"]
    for key, value in tree.items():
        line = f"    {key}: {_flow(value)}"
        if len(line) > WIDTH and isinstance(value, Mapping):
            out.append(f"    {key}:")
            out += [f"      {_scalar(inner)}: {_flow(told)}" for inner, told in value.items()]
        else:
            out.append(line)
    return "\n".join(out) + "\n"


def _flow(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_scalar(str(key))}: {_flow(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(_flow, value)) + "]"
    return "~" if value is None else _scalar(str(value))


def _scalar(text: str, apart: bool = False) -> str:
    """A text as it may stand anywhere (`apart`: on a line of its own), quoted where it could be read otherwise."""
    plain = _PLAIN.fullmatch(text.replace(",", "") if apart else text) and text.lower() not in _WORDS
    return text if plain else orjson.dumps(text).decode()


_NUMBER = r"-?(?:0|[1-9][0-9]*)(?:\.[0-9]*[1-9]|/[1-9][0-9]*)?"
_PLAIN = re.compile(
    rf"{_NUMBER}(?: \.\. {_NUMBER})?(?: [a-zA-Z]+)*|[A-Za-z](?:[A-Za-z0-9 ._/'();-]*[A-Za-z0-9.)])?", re.ASCII
)
_WORDS = frozenset(("yes", "no", "on", "off", "true", "false", "null", "y", "n"))
"""What other readers make something else of."""
