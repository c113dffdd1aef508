"""Plain data: dataclasses whose classes cost little when the program starts.

A dataclass writes its methods out anew for every class. What is the same for all of them is written here once, and
only `__init__` is made: for the hundred small classes of a walk the rest took a tenth of the time to its first stop.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeVar, dataclass_transform


class _Alike:
    """What both kinds share."""

    __slots__ = ("__dict__", "_hash")
    _hash: int

    def __init_subclass__(cls) -> None:
        dataclass(eq=False, repr=False)(cls)

    def __eq__(self, other: object) -> bool:
        return type(self) is type(other) and self.__dict__ == other.__dict__

    def __repr__(self) -> str:
        said = ", ".join(f"{name}={value!r}" for name, value in self.__dict__.items())
        return f"{type(self).__qualname__}({said})"


@dataclass_transform(field_specifiers=(field,))
class Plain(_Alike):
    """A subclass is a dataclass, alike where all it holds is alike; it is no key."""


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
class Frozen(_Alike):
    """The same of what is not changed once it is made, which is for the type checker to see; it can be a key."""

    def __hash__(self) -> int:
        try:
            return self._hash
        except AttributeError:
            self._hash = hash(tuple(self.__dict__.values()))
            return self._hash

    def __getstate__(self) -> dict[str, object]:
        return self.__dict__  # without the hash: that of a text is another one in each process


T = TypeVar("T", bound=_Alike)


def changed(data: T, **values: object) -> T:
    """The same with other values in some fields, as `dataclasses.replace` makes it, but at once."""
    made = object.__new__(type(data))
    made.__dict__.update(data.__dict__)
    made.__dict__.update(values)
    return made
