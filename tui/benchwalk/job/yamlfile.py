"""The shop's small YAML files: read with our own positioned tree, written as plain text, edited in place."""

from __future__ import annotations

import io
import json
import os
from collections.abc import Callable
from typing import Any

from ..errors import Failure
from ..procedure.tree import Map, parse
from .disk import DISK, Disk, said, write_whole


def quoted(text: str) -> str:
    """`text` as a YAML scalar in double quotes, which says the same to every YAML reader."""
    return json.dumps(text, ensure_ascii=False)


def read_bytes(path: str, what: str) -> bytes:
    """The bytes of a file; `what` names it in the error. Raises Failure."""
    try:
        with open(path, "rb") as file:
            return file.read()
    except OSError as error:
        raise Failure(f"{what} cannot be read: {said(error)}", path) from None


def read_map(path: str, what: str) -> Map:
    """The mapping a YAML file holds. Raises Failure with the place of the first thing wrong."""
    return map_of(read_bytes(path, what), path, what)


def map_of(data: bytes, path: str, what: str) -> Map:
    """The mapping in the bytes of a YAML file. Raises Failure with the place of the first thing wrong."""
    document = parse(data, os.path.basename(path))
    for finding in document.findings:
        if finding.severity == "error":
            where = f"{path}:{finding.pos.line}:{finding.pos.column}"
            raise Failure(f"{what} cannot be understood: {finding.message}", where)
    if not isinstance(document.root, Map):
        raise Failure(f"{what} holds no keys with values, such as 'name: The back room'", path)
    return document.root


def text_at(fields: Map, key: str, path: str, default: str | None = None) -> str:
    """The text at a key. Raises Failure with the place if it is missing (and has no default) or no text."""
    value = fields.get(key)
    if value is None and default is not None:
        return default
    if key not in fields:
        raise Failure(f"'{key}' is missing", f"{path}:{fields.at.line}:{fields.at.column}")
    if not isinstance(value, str) or not value.strip():
        raise Failure(f"'{key}' needs a text", place(fields, key, path))
    return value


def place(fields: Map, key: str, path: str) -> str:
    """`file:line:column` of a key's value."""
    pos = fields.value_at(key)
    return f"{path}:{pos.line}:{pos.column}"


def write_text(path: str, text: str, what: str, mode: int = 0o666, disk: Disk = DISK) -> None:
    """Put `text` in place of the file at once. Raises Failure."""
    try:
        write_whole(path, text.encode(), mode, disk)
    except OSError as error:
        raise Failure(f"{what} cannot be written: {said(error)}", path) from None


def edit(path: str, what: str, change: Callable[[Any], None], mode: int = 0o666, disk: Disk = DISK) -> None:
    """Change a YAML file in place: what `change` does not touch keeps its comments and its form.

    `change` is handed the mapping as ruamel.yaml's round-trip loader gives it. The result is read again before it is
    written. Raises Failure.
    """
    from ruamel.yaml import YAML
    from ruamel.yaml.error import YAMLError

    data = read_bytes(path, what)
    map_of(data, path, what)
    yaml = YAML(typ="rt")
    yaml.preserve_quotes = True
    yaml.width = 1_000_000
    yaml.indent(mapping=2, sequence=4, offset=2)
    try:
        tree = yaml.load(data)
        change(tree)
        out = io.BytesIO()
        yaml.dump(tree, out)
    except YAMLError as error:
        raise Failure(f"{what} cannot be edited: {str(error).splitlines()[0]}", path) from None
    map_of(out.getvalue(), path, what)
    try:
        write_whole(path, out.getvalue(), mode, disk)
    except OSError as error:
        raise Failure(f"{what} cannot be written: {said(error)}", path) from None


def in_quotes(text: str) -> Any:
    """`text` as ruamel.yaml writes it in double quotes."""
    from ruamel.yaml.scalarstring import DoubleQuotedScalarString

    return DoubleQuotedScalarString(text)
