"""`benchwalk sum`: any registered sum on JSON from stdin; alone, the list of them."""

from __future__ import annotations

import json
import sys

import click

from ..errors import UsageError


@click.command("sum")
@click.argument("name", required=False)
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(name: str | None, as_json: bool) -> None:
    """Work out the sum NAME on JSON from stdin; without NAME, list the sums with what they take and give."""
    from ..sums import compute_json, describe

    if name is None:
        _list(describe(), as_json)
        return
    text = sys.stdin.read() if not sys.stdin.isatty() else ""
    if not text.strip():
        raise UsageError(
            f"the sum '{name}' takes its inputs as JSON on stdin, as in: echo '{{...}}' | benchwalk sum {name}"
        )
    try:
        payload = json.loads(text)
    except (json.JSONDecodeError, RecursionError) as error:
        place = f"line {error.lineno}, column {error.colno}" if isinstance(error, json.JSONDecodeError) else "stdin"
        raise UsageError("what came on stdin is not JSON", place) from None
    if not isinstance(payload, dict):
        raise UsageError("the inputs are one JSON object, input name to value", "stdin")
    answer = compute_json(name, payload)
    if as_json:
        click.echo(json.dumps(answer))
        return
    if answer["no_result"]:
        click.echo(f"No result: {answer['no_result']}")
        return
    for key, value in answer["outputs"].items():
        click.echo(f"{key}: {value}")


def _list(sums: list[dict[str, object]], as_json: bool) -> None:
    if as_json:
        click.echo(json.dumps({"sums": sums}))
        return
    for entry in sums:
        click.echo(f"{entry['name']} (version {entry['version']}): {entry['about']}")
        for kind in ("inputs", "outputs"):
            items = entry[kind]
            assert isinstance(items, list)
            for item in items:
                unit = f" in {item['unit']}" if item.get("unit") else ""
                click.echo(f"  {kind[:-1]} {item['name']}: {item['kind']}{unit}. {item.get('about', '')}".rstrip())
        click.echo(f"  source: {entry['source']}")
