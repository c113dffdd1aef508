"""Possible and wanted values that do not go together.

A wanted range that lies outside what is possible would have every good value questioned as a slip. One that takes in
all that is possible can never be missed, so nothing is gained by it (advice). What counts `elsewhere` must be possible
(or a choice), and a resolution is above zero.

Wrong:

    readings:
      gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 30, wanted: 40 .. 50, accept: It is only noted}
    steps:
      - step: gap
        record: [gap]
        end: done

Says:

    2:75: no wanted value of 'gap' is possible: wanted is 40 .. 50, possible 0 .. 30 [possible]

Right:

    readings:
      gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 30, wanted: 2 .. 5, accept: It is only noted}
    steps:
      - step: gap
        record: [gap]
        end: done
"""

from __future__ import annotations

from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked, quantity_or_none
from ...procedure.model import Reading

ID = "possible"


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each reading whose ranges do not go together."""
    for name, reading in linked.procedure.readings.items():
        possible, wanted = linked.possible.get(name), linked.wanted.get(name)
        if possible is not None and wanted is not None:
            texts = f"wanted is {_first(reading.wanted)}, possible {reading.possible}"
            both = possible.intersect(wanted)
            place = linked.place("readings", name, "wanted")
            if both is None:
                yield Finding(ID, f"no wanted value of '{name}' is possible: {texts}", place)
            elif both == possible:
                message = f"every possible value of '{name}' is what is wanted: {texts}"
                yield Finding(ID, message, place, severity="advice")
        if set(reading.choices or {}) and reading.wanted and set(reading.wanted) == set(reading.choices or {}):
            message = f"every choice of '{name}' is what is wanted"
            yield Finding(ID, message, linked.place("readings", name, "wanted"), severity="advice")
        yield from _elsewhere(linked, name, reading)
        resolution = linked.variables[name].resolution if name in linked.variables else None
        if resolution is not None and resolution <= 0:
            yield Finding(ID, "a resolution is above zero", linked.place("readings", name, "resolution"))


def _elsewhere(linked: Linked, name: str, reading: Reading) -> Iterator[Finding]:
    if reading.elsewhere is None:
        return
    place = linked.place("readings", name, "elsewhere")
    if reading.choices:
        if reading.elsewhere not in reading.choices:
            yield Finding(ID, f"'{reading.elsewhere}' is not one of the choices of '{name}'", place)
        return
    value = quantity_or_none(reading.elsewhere, reading.unit or "")
    possible = linked.possible.get(name)
    if value is not None and possible is not None and not possible.contains(value.value):
        yield Finding(ID, f"{reading.elsewhere} is not possible for '{name}': {reading.possible}", place)


def _first(wanted: list[str] | None) -> str:
    return wanted[0] if wanted else ""
