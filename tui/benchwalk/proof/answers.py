"""What an example gives: the value for each reading, what is done at each step, and what a sum is taken to say."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from ..errors import Misread, Refused
from ..procedure.linked import Linked
from ..procedure.model import Usual
from ..quantities import decimal_text, parse_quantity, parse_range
from ..walk.figures import exact, range_data

MISSING = "missing"


class Unstated(Refused):
    """An example does not say what the walk asks for."""


@dataclass
class Answers:
    """The answers of one example: its own, then what is usual, then what is usual of the procedure a run walks."""

    linked: Linked
    given: dict[str, Any]
    acts: dict[str, Any]
    assume: dict[str, Any]
    drum: dict[str, str]
    asked: dict[str, int] = field(default_factory=dict)

    @classmethod
    def of(cls, linked: Linked, example: Usual) -> Answers:
        """The answers of `example` laid over what is usual."""
        usual = linked.procedure.usual
        return cls(
            linked,
            _dotted({**_dotted(usual.given), **_dotted(example.given)}),
            {**usual.acts, **example.acts},
            _dotted({**usual.assume, **example.assume}),
            {**usual.drum, **example.drum},
        )

    def reading(self, path: str, name: str, visit: int, place: str | None) -> str:
        """What is typed for a reading: MISSING where it is left out; Unstated where nothing is said."""
        found, key = self._lookup("given", path, name), full(path, name)
        if found is None:
            raise Unstated(f"nothing is given for '{key}'; write given: {{{key}: ...}} in the example or in 'usual'")
        value = _of_visit(found, self._times(key, visit))
        if isinstance(value, dict):
            if place is not None and place in value:
                return str(value[place])
            if "each" in value:
                return str(value["each"])
            where = place or "its only place"
            raise Unstated(f"nothing is given for '{key}' at {where}; add it, or an 'each' for every place without")
        return str(value)

    def act(self, path: str, step: str, visit: int) -> Any:
        """What is done at a step: None where nothing is said."""
        found = self._lookup("acts", path, step)
        return None if found is None else _of_visit(found, self._times(f"act {path}/{step}", visit))

    def fires(self, path: str, step: str, visit: int) -> Any:
        """The event or problem that strikes at this visit: one stated plainly strikes at the first visit only."""
        found = self._lookup("acts", path, step)
        if isinstance(found, dict) and "visits" not in found:
            return found if self._times(f"act {path}/{step}", visit) == 0 else None
        return self.act(path, step, visit)

    def assumed(self, path: str, name: str, visit: int) -> dict[str, Any] | str | None:
        """The outputs a sum is taken to have, as data; the reason where it is taken to have none; None: work it out."""
        linked = self._procedure(path)
        whole = self._lookup("assume", path, name)
        times = self._times(f"sum {full(path, name)}", visit)
        if whole == "no result":
            return "no result is assumed"
        outputs: dict[str, Any] = {}
        for output in [v for v in linked.variables if v.startswith(f"{name}.")]:
            part = output.partition(".")[2]
            value = self._lookup("assume", path, output)
            if value is None:
                continue
            taken = _of_visit(value, times)
            if taken == "no result":
                return "no result is assumed"
            outputs[part] = (
                self._places(taken, linked, output) if isinstance(taken, dict) else _output(str(taken), linked, output)
            )
        return outputs or None

    def _places(self, taken: dict[str, Any], linked: Linked, name: str) -> dict[str, Any]:
        """What a sum is taken to give at every rod: `{each: 0, 3: 1/8}`."""
        if linked.variables[name].places is None:
            raise Unstated(f"'{name}' is one value, and one for each place is assumed")
        rods = [str(rod) for rod in range(1, int(self.fact("rods")) + 1)]
        if "each" in taken:
            taken = {**dict.fromkeys(rods, taken["each"]), **{k: v for k, v in taken.items() if k != "each"}}
        odd = next((place for place in taken if place not in rods), None)
        if odd is not None:
            raise Unstated(f"assumed for '{name}': there is no rod {odd}")
        return {place: _output(str(text), linked, name) for place, text in taken.items()}

    def counts(self) -> dict[str, int]:
        """Steps that count as entered (and their branches as taken) so many times already."""
        found = self.assume.get("count", {})
        return {str(k): int(v) for k, v in found.items()} if isinstance(found, dict) else {}

    def fact(self, name: str) -> str:
        """A fact of the drum, from the example or from the procedures that are run."""
        if name in self.drum:
            return self.drum[name]
        for linked in self.linked.family():
            if name in linked.procedure.usual.drum:
                return linked.procedure.usual.drum[name]
        where = f"write drum: {{{name}: ...}} in the example or in 'usual'"
        raise Unstated(f"nothing is given for the drum's {name}; {where}")

    def _procedure(self, path: str) -> Linked:
        linked = self.linked
        for name in path.split("/") if path else []:
            linked = linked.runs[name]
        return linked

    def _lookup(self, what: str, path: str, name: str) -> Any:
        """The value under its full name, else under ever shorter ones in the `usual` of the procedures on the way."""
        joint = "/" if what == "acts" else "."
        parts = path.split("/") if path else []
        own = getattr(self, what)
        key = joint.join([*parts, name])
        if key in own:
            return own[key]
        linked = self.linked
        for index, part in enumerate(parts):
            linked = linked.runs[part]
            usual = getattr(linked.procedure.usual, what)
            key = joint.join([*parts[index + 1 :], name])
            found = usual if what == "acts" else _dotted(usual)
            if key in found:
                return found[key]
        return None

    def _times(self, key: str, visit: int) -> int:
        """How many other visits asked for this before: 0 for the first."""
        seen = self.asked.setdefault(f"{key} at {visit}", -1)
        if seen < 0:
            count = sum(1 for k in self.asked if k.startswith(f"{key} at ")) - 1
            self.asked[f"{key} at {visit}"] = count
            return count
        return seen


def full(path: str, name: str) -> str:
    """A reading's name as examples and JSON write it: `far.gap`."""
    return ".".join([*path.split("/"), name]) if path else name


def _dotted(mapping: dict[str, Any]) -> dict[str, Any]:
    return {key.replace("/", "."): value for key, value in mapping.items()}


def _of_visit(value: Any, times: int) -> Any:
    if isinstance(value, dict) and "visits" in value:
        visits = value["visits"]
        if not isinstance(visits, list) or not visits:
            raise Unstated("visits is a list of at least one value")
        return visits[min(times, len(visits) - 1)]
    return value


def _output(text: str, linked: Linked, name: str) -> Any:
    variable = linked.variables[name]
    try:
        if variable.kind == "range":
            return range_data(parse_range(text, variable.unit))
        if variable.is_number:
            value: Fraction = parse_quantity(text, variable.unit).value
            return decimal_text(value, variable.resolution) if variable.resolution else exact(value)
    except Misread as error:
        raise Unstated(f"assumed for '{name}': {error.message}") from None
    if variable.choices and text not in variable.choices:
        raise Unstated(f"assumed for '{name}': '{text}' is none of {', '.join(variable.choices)}")
    return text
