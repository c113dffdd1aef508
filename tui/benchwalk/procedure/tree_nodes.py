"""The nodes of the tree: a mapping and a list that know where everything in them stands."""

from __future__ import annotations

from typing import TypeAlias, Union

from .findings import Pos
from .tree_source import Source

Node: TypeAlias = Union["Map", "Seq", str, None]


class Map(dict[str, Node]):
    """Keys and values of one mapping, in the order of the file, with their places."""

    __slots__ = ("_index", "_marks", "_offset", "_source")
    _source: Source
    _offset: int
    _marks: list[int]  # key, value, key, value ... as offsets
    _index: dict[str, int]

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

    def value_offset(self, key: str) -> int:
        """The offset in the text at which a key's value begins, quotes and all."""
        return self._marks[self._number(key) + 1]

    def _number(self, key: str) -> int:
        try:
            index = self._index
        except AttributeError:
            index = self._index = {name: 2 * number for number, name in enumerate(self)}
        return index[key]


class Seq(list[Node]):
    """The entries of one list, with their places."""

    __slots__ = ("_marks", "_offset", "_source")
    _source: Source
    _offset: int
    _marks: list[int]

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
