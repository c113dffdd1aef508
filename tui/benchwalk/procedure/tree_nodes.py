"""The nodes of the tree: a mapping and a list that know where everything in them stands.

Asked itself, a node tells of the text it was read from. Where a text was read again after a change, what stands as it
stood is taken over from the text before, `shifts` further on: there the `Document` is asked, by the path.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias, Union

from .findings import Pos
from .tree_source import Source

Node: TypeAlias = Union["Map", "Seq", str, None]


class Map(dict[str, Node]):
    """Keys and values of one mapping, in the order of the file, with their places."""

    __slots__ = ("_index", "_marks", "_offset", "_source", "shifts")
    _source: Source
    _offset: int
    _marks: list[int]  # key, value, key, value ... as offsets
    _index: dict[str, int]
    shifts: Sequence[int]
    """How much further on than it tells itself each value stands, in their order; not there where none does."""

    @property
    def at(self) -> Pos:
        """Where the mapping begins: its `{`, or its first key."""
        return self._source.pos(self._offset)

    def key_at(self, key: str) -> Pos:
        """Where a key stands (inside its quotes, if it has any); KeyError if it is not there."""
        return self._source.value_pos(self._marks[self._number(key)], key)

    def value_at(self, key: str) -> Pos:
        """Where a key's value stands; of nothing, the place where it would be. KeyError if the key is not there."""
        return self._source.value_pos(self._marks[self._number(key) + 1], self[key])

    def key_offset(self, key: str) -> int:
        """The offset in the text at which a key begins, quotes and all."""
        return self._marks[self._number(key)]

    def value_offset(self, key: str) -> int:
        """The same of its value."""
        return self._marks[self._number(key) + 1]

    def shift(self, key: str) -> int:
        """How much further on than it tells itself a key's value stands."""
        shifts = getattr(self, "shifts", None)
        return shifts[self._number(key) // 2] if shifts else 0

    def _number(self, key: str) -> int:
        try:
            index = self._index
        except AttributeError:
            index = self._index = {name: 2 * number for number, name in enumerate(self)}
        return index[key]


class Seq(list[Node]):
    """The entries of one list, with their places."""

    __slots__ = ("_marks", "_offset", "_source", "shifts")
    _source: Source
    _offset: int
    _marks: list[int]
    shifts: Sequence[int]
    """As in a mapping, of each entry."""

    @property
    def at(self) -> Pos:
        """Where the list begins: its `[`, or its first `-`."""
        return self._source.pos(self._offset)

    def item_at(self, i: int) -> Pos:
        """Where entry `i` (from 0) stands; IndexError if there is none."""
        if i < 0:
            raise IndexError(i)
        return self._source.value_pos(self._marks[i], self[i])

    def item_offset(self, i: int) -> int:
        """The offset in the text at which entry `i` begins, quotes and all."""
        return self._marks[i]

    def shift(self, i: int) -> int:
        """How much further on than it tells itself entry `i` stands."""
        shifts = getattr(self, "shifts", None)
        return shifts[i] if shifts else 0
