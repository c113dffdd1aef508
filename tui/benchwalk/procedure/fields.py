"""The small kinds of value a procedure is made of, and the sentences said when one is wrong.

Everything arrives as text exactly as typed (the YAML reader makes no numbers), so each kind here turns text into
what is meant and keeps the digits.
"""

from __future__ import annotations

import re
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field
from pydantic_core import PydanticCustomError

from ..quantities import canonical_unit
from .condition_cursor import RESERVED

ID = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*\Z")
NAME = re.compile(r"[a-z][a-z0-9]*(?:_[a-z0-9]+)*\Z")


def wrong(sentence: str) -> PydanticCustomError:
    """An error whose text is `sentence`, braces and all."""
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


def _list_or_none(value: Any) -> Any:
    if value == "none":
        return []
    if isinstance(value, str):
        return [value]
    if value is None:
        raise wrong("nothing is written here; give a list, or the word none")
    return value


def _said(value: Any) -> str:
    if isinstance(value, str):
        return f"'{value[:40]}'"
    if value is None:
        return "nothing is"
    return "a list" if isinstance(value, list) else "keys and values"


Text = Annotated[str, BeforeValidator(_text)]
Id = Annotated[Text, AfterValidator(_id), Field(json_schema_extra={"pattern": ID.pattern.replace("\\Z", "$")})]
Name = Annotated[Text, AfterValidator(_name), Field(json_schema_extra={"pattern": NAME.pattern.replace("\\Z", "$")})]
Whole = Annotated[
    int,
    BeforeValidator(_whole, json_schema_input_type=int),
]
YesNo = Annotated[bool, BeforeValidator(_yes, json_schema_input_type=bool)]
Texts = Annotated[list[Text], BeforeValidator(_listed, json_schema_input_type=str | list[str])]
Unit = Annotated[Text, AfterValidator(canonical_unit)]
Names = Annotated[list[Text], BeforeValidator(_listed, json_schema_input_type=str | list[str])]
TextsOrNone = Annotated[list[Text], BeforeValidator(_list_or_none, json_schema_input_type=str | list[str])]
