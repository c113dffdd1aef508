"""Plain data behaves as the dataclasses it stands for."""

from __future__ import annotations

import copy
import pickle
from dataclasses import dataclass, field, replace

import pytest

from benchwalk.plaindata import Frozen, Plain


class Place(Frozen):
    """Something that is not changed."""

    name: str
    line: int = 1
    more: tuple[str, ...] = field(default=())


class Spot(Frozen):
    """The same fields in another class."""

    name: str
    line: int = 1
    more: tuple[str, ...] = field(default=())


@dataclass(frozen=True)
class Usual:
    """The same as the dataclass that is usual."""

    name: str
    line: int = 1
    more: tuple[str, ...] = field(default=())


class Tray(Plain):
    """Something that is changed."""

    holds: list[str] = field(default_factory=list)


def test_frozen_is_alike_where_all_it_holds_is() -> None:
    """Two are alike, and one key, exactly where they are of one class and all they hold is alike."""
    assert Place("a", 2) == Place("a", line=2) and len({Place("a"), Place("a"), Place("b")}) == 2
    assert Place("a") != Place("a", more=("x",)) and Place("a") != Spot("a") and Place("a") != "a"
    assert hash(Place("a", 2, ("x",))) == hash(Usual("a", 2, ("x",)))


def test_frozen_is_said_as_a_dataclass_is() -> None:
    """What is printed of one is what is printed of a dataclass."""
    assert repr(Place("a", 2)) == repr(Usual("a", 2)).replace("Usual", "Place")


@pytest.mark.parametrize("again", [copy.copy, copy.deepcopy, replace, lambda it: pickle.loads(pickle.dumps(it))])
def test_copies_are_alike(again: object) -> None:
    """A copy, however it is made, is alike and another thing."""
    for made in (Place("a", 2), Tray(["x"])):
        copied = again(made)  # type: ignore[operator]
        assert copied == made and copied is not made


def test_plain_is_changed_and_no_key() -> None:
    """What can be changed is alike while it holds alike, has its own containers, and cannot be a key."""
    one, other = Tray(), Tray()
    assert one == other
    one.holds.append("x")
    assert one != other and repr(one) == "Tray(holds=['x'])"
    with pytest.raises(TypeError, match="unhashable"):
        hash(one)
