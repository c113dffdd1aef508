"""The small kinds of value a procedure is made of, and the sentences said when one is wrong.

Everything arrives as text exactly as typed (the YAML reader makes no numbers), so each kind here turns text into
what is meant and keeps the digits.

The kinds are told to pydantic, which reads procedures, in words of our own (`Before`, `After`): a walk whose procedure
was kept has the parts without reading them, and starts without pydantic.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated, Any

from ..quantities import canonical_unit

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
    from pydantic.json_schema import JsonSchemaValue
    from pydantic_core import CoreSchema, PydanticCustomError

ID = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*\Z")
NAME = re.compile(r"[a-z][a-z0-9]*(?:_[a-z0-9]+)*\Z")


class Before:
    """What is done to a value before its type is looked at; `written` is the type that may be written, if another."""

    def __init__(self, change: Callable[[Any], Any], written: Any = None) -> None:
        self.change = change
        self.written = written

    def __get_pydantic_core_schema__(self, kind: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        from pydantic_core import core_schema

        written = None if self.written is None else handler.generate_schema(self.written)
        return core_schema.no_info_before_validator_function(
            self.change, handler(kind), json_schema_input_schema=written
        )


class After:
    """What is done to a value once its type is right; `pattern` is how it is written, for the schema."""

    def __init__(self, change: Callable[[str], str], pattern: str = "") -> None:
        self.change = change
        self.pattern = pattern

    def __get_pydantic_core_schema__(self, kind: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        from pydantic_core import core_schema

        return core_schema.no_info_after_validator_function(self.change, handler(kind))

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        made = handler(schema)
        return {**made, "pattern": self.pattern} if self.pattern else made


def wrong(sentence: str) -> PydanticCustomError:
    """An error whose text is `sentence`, braces and all."""
    from pydantic_core import PydanticCustomError

    return PydanticCustomError("benchwalk", "{sentence}", {"sentence": sentence})


def _text(value: Any) -> Any:
    if isinstance(value, str):
        if not value.strip():
            raise wrong("the text is empty; write it or leave the key out")
        return value
    if value is None:
        raise wrong("nothing is written here; a text is expected")
    kind = "a list" if isinstance(value, list) else "keys and values"
    raise wrong(f"{kind} found where one text is expected")


def _id(value: str) -> str:
    if not ID.match(value):
        raise wrong(
            f"'{value[:40]}' cannot be an id: small letters and digits joined by hyphens, such as tie-butt-side"
        )
    return value


def _name(value: str) -> str:
    from .condition_cursor import RESERVED  # only now: names are not read again where a procedure was kept

    if not NAME.match(value):
        raise wrong(
            f"'{value[:40]}' cannot be a name: small letters and digits joined by underscores, such as butt_gap"
        )
    if value in RESERVED:
        raise wrong(f"'{value}' is a word of the condition language; choose another name")
    return value


def _whole(value: Any) -> int:
    if isinstance(value, str) and re.fullmatch(r"[0-9]{1,9}", value):
        return int(value)
    raise wrong(f"{_said(value)} found where a whole number is expected")


def _yes(value: Any) -> bool:
    if value in ("true", "false"):
        return bool(value == "true")
    raise wrong(f"{_said(value)} found; true or false is expected")


def _listed(value: Any) -> Any:
    """One text where a list may stand is a list of one."""
    return [value] if isinstance(value, str) else value


def places(value: Any) -> Any:
    if isinstance(value, str) and value in _RODS:
        raise wrong(f"'{value}' would be one place of that name; for every rod write the word rod alone")
    return _listed(value)


_RODS = frozenset(("rods", "pairs", "rod pairs", "every rod", "each rod", "all rods"))


def _list_or_none(value: Any) -> Any:
    if value == "none":
        return []
    if isinstance(value, str):
        return [value]
    if value is None:
        raise wrong("nothing is written here; give a list, or the word none")
    return value


def _allowed(value: Any) -> Any:
    if isinstance(value, dict):
        return value
    raise wrong(f"{_said(value)} found; allow takes the rule and the reason, as in too-long: why it may stand")


def _said(value: Any) -> str:
    if isinstance(value, str):
        return f"'{value[:40]}'"
    if value is None:
        return "nothing is"
    return "a list" if isinstance(value, list) else "keys and values"


def _written(pattern: re.Pattern[str]) -> str:
    return pattern.pattern.replace("\\Z", "$")


Text = Annotated[str, Before(_text)]
Id = Annotated[Text, After(_id, _written(ID))]
Name = Annotated[Text, After(_name, _written(NAME))]
Whole = Annotated[int, Before(_whole, int)]
YesNo = Annotated[bool, Before(_yes, bool)]
Texts = Annotated[list[Text], Before(_listed, str | list[str])]
Unit = Annotated[Text, After(canonical_unit)]
Names = Annotated[list[Text], Before(_listed, str | list[str])]
Places = Annotated[list[Text], Before(places, str | list[str])]
TextsOrNone = Annotated[list[Text], Before(_list_or_none, str | list[str])]
Allow = Annotated[dict[Text, Any], Before(_allowed)]
"""Rule and reason; the reasons are looked at by the checker, so that a missing one hides nothing else."""
