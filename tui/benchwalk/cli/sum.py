"""`benchwalk sum`: any registered sum on JSON from stdin; alone, the list of them."""

from __future__ import annotations

import json
import sys
from typing import Any

import click

from ..errors import UsageError
from ..quantities import shown
from .common import say, say_json

MOST_BYTES = 4_000_000


@click.command("sum")
@click.argument("name", required=False)
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
@click.option("--about", is_flag=True, help="Say what NAME takes and gives, and read nothing.")
def command(name: str | None, as_json: bool, about: bool) -> int:
    """Work out the sum NAME on JSON from stdin; without NAME, list the sums with what they take and give.

    Where nothing is piped into it, NAME alone says what that sum takes and gives.
    """
    from ..sums import compute_json, describe
    from ..sums.advice_rounds import advise_in_rounds, asks_in_rounds
    from ..sums.computing import signature_of

    if name is None:
        sums = describe()
        if as_json:
            say_json({"sums": sums})
        else:
            for entry in sums:
                _say(entry)
        return 0
    signature = signature_of(name)  # an unknown sum is said before anything is read
    if about or (sys.stdin is not None and sys.stdin.isatty()):
        (entry,) = (each for each in describe() if each["sum"] == name)
        if as_json:
            say_json(entry)
        else:
            _say(entry)
            needed = ", ".join(f'"{one["name"]}": ...' for one in entry["inputs"] if not one["optional"])
            say(f"  worked out by: echo '{{{needed}}}' | benchwalk sum {name}")
        return 0
    payload = _payload(name)
    if asks_in_rounds(name, payload):  # a form of its own, JSON in and out
        say_json(advise_in_rounds(payload))
        return 0
    answer = compute_json(name, payload)
    if as_json:
        say_json(answer)
    elif answer["no_result"]:
        say(f"No result: {answer['no_result']}")
    else:
        units = {one.name: one.unit or "" for one in signature.outputs}
        for key, value in answer["outputs"].items():
            say(f"{key}: {_words(value)} {'' if units[key] == 'same' else units[key]}".rstrip())
    return 0


def _words(value: Any) -> str:
    """An output as people read it: a range by its ends, places one after the other."""
    if isinstance(value, list):
        return " to ".join("any" if end is None else str(end) for end in value)
    if isinstance(value, dict):
        return "; ".join(f"{place} {each if each is not None else 'none'}" for place, each in value.items())
    return "none" if value is None else str(value)


def _payload(name: str) -> dict[str, Any]:
    """The JSON object on stdin; UsageError where there is none."""
    data = b"" if sys.stdin is None else sys.stdin.buffer.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise UsageError(f"more than {MOST_BYTES // 1_000_000} MB came on stdin; a sum takes the readings of one drum")
    if not data.strip():
        raise UsageError(f"the sum takes its inputs as JSON on stdin, as in: echo '{{...}}' | benchwalk sum {name}")
    try:
        payload = json.loads(data, object_pairs_hook=_once)
    except json.JSONDecodeError as error:
        raise UsageError("what came on stdin is not JSON", f"line {error.lineno}, column {error.colno}") from None
    except (ValueError, RecursionError):  # bytes that are no text, a number of thousands of digits, endless nesting
        raise UsageError("what came on stdin is not JSON that can be read", "stdin") from None
    if not isinstance(payload, dict):
        raise UsageError("the inputs are one JSON object, input name to value", "stdin")
    return payload


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """The object of these names and values; UsageError for a name that stands there twice, for only one would count."""
    found: dict[str, Any] = {}
    for name, value in pairs:
        if name in found:
            raise UsageError(f"{shown(name)} stands twice in one JSON object; give it once", "stdin")
        found[name] = value
    return found


def _say(entry: dict[str, Any]) -> None:
    """What one sum takes and gives."""
    say(f"{entry['sum']} (version {entry['version']}): {entry['about']}")
    for kind in ("inputs", "outputs"):
        for item in entry[kind]:
            unit = f" in {item['unit']}" if item.get("unit") else ""
            unit += f", one of {', '.join(item['choices'])}" if item["choices"] else ""
            unit += ", may be left out" if item.get("optional") else ""
            unit += ", may be missing" if item.get("may_be_missing") else ""
            say(f"  {kind[:-1]} {item['name']}: {item['kind']}{unit}. {item.get('about', '')}".rstrip())
    if entry["no_result"]:
        say(f"  no result: {entry['no_result']}")
    say(f"  source: {entry['source']}")
