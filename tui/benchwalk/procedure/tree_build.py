"""From the YAML reader's events to our tree, in one loop.

The loop is written for speed: it looks at each event once, keeps one whole number a value, and calls out only for
what is rare (a word another reader would change, a place a trap was seen at, a key that cannot stand).
"""

from __future__ import annotations

from typing import Any

from yaml.error import YAMLError
from yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
    StreamEndEvent,
)

from . import traps
from .collector import collector_rests
from .findings import Finding
from .tree_nodes import Map, Node, Seq
from .tree_source import Source
from .yaml_errors import explain
from .yaml_reader import events_of
from .yaml_table import MOST_DEEP

MOST_NODES = 500_000

# What PyYAML's own reader raises on an escape beyond the last character, among others; libyaml never does.
_SLOW_READER = (ValueError, OverflowError, IndexError)

_OPEN: Any = object()  # a mapping waits for its next key
_DROP: Any = object()  # the value of a key that was refused


class Builder:
    """Builds one tree. After `run`: `root`, `root_at` (its offset), `complete` (read to the end of the text)."""

    def __init__(self, source: Source, text: str, findings: list[Finding]) -> None:
        self.root: Node = None
        self.root_at = 0
        self.complete = False
        self._source = source
        self._text = text  # the source's, with forbidden characters replaced one for one
        self._last = 0
        self._watch = traps.Watch(source, text, findings)

    def run(self) -> None:
        """Read the whole text."""
        watch = self._watch
        try:
            with collector_rests():
                self._events()
        except YAMLError as error:
            watch.syntax(*explain(error, self._source, self._text, self._last, watch.suspects))
        except _SLOW_READER:
            watch.unread(self._last)
        except _Stop:
            pass
        else:
            self.complete = True

    def _events(self) -> None:
        watch, source = self._watch, self._source
        suspects, words, careful = watch.suspects, traps.WORDS, watch.careful
        next_event = events_of(self._text)
        stack: list[tuple[Any, Any, Any]] = []
        into: Any = None  # the mapping or list being filled; None outside
        marks: list[int] = []
        key: Any = None  # in a mapping: _OPEN, _DROP or the key whose value comes; in a list: None
        documents = count = 0
        at = 0
        value: Any
        while True:
            try:
                event: Any = next_event()
            except (YAMLError, *_SLOW_READER):
                self._last = at
                raise
            kind = type(event)
            if kind is ScalarEvent:
                at = event.start_mark.index
                value = event.value
                if not event.style:
                    if value in words:
                        value = watch.word(event, into, marks, None if key is _OPEN or key is _DROP else key)
                    elif value < ":":  # begins with a digit, or a sign that stands before the digits
                        watch.number(event, key)
                    elif " - " in value:
                        watch.dashed(event)
                    if suspects and event.end_mark.index in suspects:
                        watch.cut(event)
                elif event.style != "'":
                    value = watch.styled(event)
                if careful and (event.tag is not None or event.anchor is not None):
                    watch.marked(event)
                if key is _OPEN:
                    count += 1
                    if value is None or value in into or (value == "<<" and not event.style):
                        watch.bad_key(into, marks, event, value)
                        key = _DROP
                    else:
                        key = value
                        marks.append(at)
                    continue
            elif kind is MappingStartEvent or kind is SequenceStartEvent:
                at = event.start_mark.index
                if careful and (event.tag is not None or event.anchor is not None):
                    watch.marked(event)
                value = Map() if kind is MappingStartEvent else Seq()
                value._source = source
                value._offset = at
                inner: list[int] = []
                value._marks = inner
                if key is _OPEN:
                    watch.collection_key(event)
                    key = _DROP  # neither it nor its value is kept
                    stack.append((into, marks, key))
                elif key is _DROP:
                    stack.append((into, marks, _OPEN))
                elif into is None:
                    self.root, self.root_at = value, at
                    stack.append((None, marks, None))
                else:
                    if key is None:
                        into.append(value)
                        stack.append((into, marks, None))
                    else:
                        into[key] = value
                        stack.append((into, marks, _OPEN))
                    marks.append(at)
                if len(stack) > MOST_DEEP:
                    watch.too_deep(event)
                    raise _Stop
                key = _OPEN if kind is MappingStartEvent else None
                into, marks = value, inner
                count += 1
                if count > MOST_NODES:
                    watch.too_many(event, MOST_NODES)
                    raise _Stop
                continue
            elif kind is MappingEndEvent or kind is SequenceEndEvent:
                closed = into
                into, marks, key = stack.pop()
                if kind is MappingEndEvent and len(closed) == 1:
                    watch.single(closed, into)
                continue
            elif kind is AliasEvent:
                at = event.start_mark.index
                watch.alias(event)
                value = None
                if key is _OPEN:
                    key = _DROP
                    continue
            elif kind is DocumentStartEvent:
                documents += 1
                if documents > 1:
                    watch.second_document(event)
                    raise _Stop
                watch.directives(event)
                continue
            elif kind is StreamEndEvent or event is None:
                break
            else:
                continue
            # A value that is no collection.
            count += 1
            if key is None:
                if into is None:
                    self.root, self.root_at = value, at
                else:
                    into.append(value)
                    marks.append(at)
            elif key is _DROP:
                key = _OPEN
            else:
                into[key] = value
                marks.append(at)
                key = _OPEN
            if count > MOST_NODES:
                watch.too_many(event, MOST_NODES)
                raise _Stop
        watch.whole(self.root)


class _Stop(Exception):
    """Reading cannot usefully go on; a finding says why."""
