"""Rod advice on rounds as another program holds them: JSON numbers in, JSON numbers and one sentence out.

`{"rods": 10, "turns_past_slack": 1.5, "rounds": [{"first_hz": [...], "second_hz": [...] or null, "turned": [...] or
null}]}` answers `{"moves": [{"rod": 3, "turns": 0.125}], "stop": false, "spread_cents": 4.1, "expected_spread_cents":
1.2, "cannot_see": "..."}`. Readings stand in rod order; `turned` is what was given to each rod after them. `want_hz`
and `limit_cents` may stand beside. Without a result the answer is that of any sum: no outputs, and `no_result`.
"""

from __future__ import annotations

from typing import Any

from ..errors import UsageError
from ..quantities import shown
from .jsonio import MOST, compute_json

NAME, ROUNDS = "rod-advice", "rounds"

_WHOLE = {"rods": None, "turns_past_slack": "slack", ROUNDS: None, "want_hz": "want", "limit_cents": "limit"}
_EACH = {"first_hz": "first", "second_hz": "second", "turned": "turned"}

_ONE_SIDE = (
    "A note cannot tell a rod from the one opposite it, so a head that is tight on one side and slack on the other "
    "sounds even"
)
_NEIGHBOURS = ", nor do these notes tell whether pairs are off against their neighbours"
_GO_BY = ": go by equal counted turns from finger-tight, and by the hoop's depth at each rod."
_INSPECT = "Opposite rods disagree again and again: look for a burr, a bent hoop, a cracked lug. "


def asks_in_rounds(name: str, payload: object) -> bool:
    """Whether this is a request of that form."""
    return name == NAME and isinstance(payload, dict) and ROUNDS in payload


def advise_in_rounds(payload: dict[str, Any]) -> dict[str, Any]:
    """The advice on such a request. Raises UsageError or Misread, one sentence that says what is wrong where."""
    answer = compute_json(NAME, _inputs(payload))
    if answer["no_result"]:
        return answer
    said = answer["outputs"]
    cannot_see = _ONE_SIDE + (_NEIGHBOURS if said["cannot_see"] == "one-side-and-neighbours" else "") + _GO_BY
    return {
        "moves": [{"rod": int(rod), "turns": turns} for rod, text in said["moves"].items() if (turns := float(text))],
        "stop": said["stop"] != "turn",
        "spread_cents": float(said["spread"]),
        "expected_spread_cents": float(said["expected"]),
        "cannot_see": (_INSPECT if said["stop"] == "inspect" else "") + cannot_see,
    }


def _inputs(payload: dict[str, Any]) -> dict[str, Any]:
    _known(payload, _WHOLE, NAME)
    rounds = payload[ROUNDS]
    if not isinstance(rounds, list) or not rounds or not all(isinstance(one, dict) for one in rounds):
        raise UsageError(f"{NAME}: rounds must be a list of one round or more, each an object with first_hz")
    if len(rounds) > MOST:
        raise UsageError(f"{NAME}: there are {len(rounds)} rounds; at most {MOST} are taken")
    for number, one in enumerate(rounds, start=1):
        _known(one, _EACH, f"{NAME}: round {number}")
        for key, values in one.items():
            _counted(payload.get("rods"), values, f"{NAME}: round {number}: {key}")
    given: dict[str, Any] = {
        name: payload[key] for key, name in _WHOLE.items() if name and payload.get(key) is not None
    }
    for key, name in _EACH.items():
        each = [one.get(key) for one in rounds]
        if name == "first" or any(values is not None for values in each):
            given[name] = each
    return given


def _known(given: dict[str, Any], keys: dict[str, Any], where: str) -> None:
    for key in given:
        if key not in keys:
            raise UsageError(f"{where} takes no {shown(str(key))}; it takes {', '.join(keys)}")


def _counted(rods: object, values: object, where: str) -> None:
    """Refuse a list that has not one value for each rod."""
    if values is None:
        return
    if not isinstance(values, list):
        raise UsageError(f"{where} must be a list in the order of the rods, or null")
    if rods is not None and (isinstance(rods, bool) or not isinstance(rods, int) or rods != len(values)):
        raise UsageError(f"{where} has {len(values)} values, and rods says {shown(str(rods)[:40])}")
