"""`benchwalk rehearse`: a procedure's examples, or one file of answers, without anybody."""

from __future__ import annotations

import json
from pathlib import Path

import click

from ..errors import UsageError


@click.command("rehearse")
@click.argument("procedure")
@click.option("--answers", metavar="FILE", help="One example (or a list of them) in a YAML file of its own.")
@click.option("--save", metavar="DIR", help="Write each walk's log into this folder.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
@click.pass_obj
def command(shop: str | None, procedure: str, answers: str | None, save: str | None, as_json: bool) -> int:
    """Walk the examples of PROCEDURE (an id or a path) through the real walk and say how each goes."""
    from ..library import Library
    from ..proof.rehearse import rehearse_one
    from ..sums import compute
    from .common import shop_folder

    linked = Library.of(shop_folder(shop)).get(procedure)
    examples = _examples(answers) if answers else linked.procedure.examples
    if not examples:
        raise UsageError(f"'{linked.id}' has no examples; write some, or give --answers FILE")
    runs = [rehearse_one(linked, example, compute) for example in examples]
    if save:
        _save(Path(save), runs)
    if as_json:
        data = {"procedure": linked.id, "revision": linked.procedure.revision, "runs": [run.data() for run in runs]}
        click.echo(json.dumps(data))
    else:
        for run in runs:
            click.echo(
                f"{'goes as said' if run.ok else 'DIFFERS'}: {run.example}: ends {run.outcome}, {len(run.visits)} stops"
            )
            if run.why:
                click.echo(f"  {run.why}")
        good = sum(run.ok for run in runs)
        click.echo(f"{good} of {len(runs)} examples of {linked.id} go as they say.")
    return 0 if all(run.ok for run in runs) else 1


def _examples(name: str):  # type: ignore[no-untyped-def]
    """The examples of a file: one, a list, or under `examples:`."""
    from pydantic import TypeAdapter, ValidationError

    from ..procedure.model import Example
    from ..procedure.tree import parse

    path = Path(name)
    try:
        document = parse(path.read_bytes(), name)
    except OSError as error:
        raise UsageError(f"the file of answers cannot be read: {error.strerror}", name) from None
    wrong = [f for f in document.findings if f.severity == "error"]
    if wrong:
        raise UsageError(wrong[0].message, f"{name}:{wrong[0].pos.line}:{wrong[0].pos.column}")
    root = document.root
    if isinstance(root, dict) and "examples" in root:
        root = root["examples"]
    if isinstance(root, dict):
        root = [{"example": path.stem, **root}]
    try:
        return TypeAdapter(list[Example]).validate_python(root)
    except ValidationError as error:
        first = error.errors()[0]
        pos = document.locate(tuple(p for p in first["loc"] if isinstance(p, str | int)))
        raise UsageError(
            f"{'.'.join(map(str, first['loc']))}: {first['msg']}", f"{name}:{pos.line}:{pos.column}"
        ) from None


def _save(folder: Path, runs) -> None:  # type: ignore[no-untyped-def]
    """Each walk's events as a log in a folder of its own."""
    from ..job.log import Holder, JobLog
    from .common import clock

    for number, run in enumerate(runs, 1):
        place = folder / f"{number:02d}"
        place.mkdir(parents=True, exist_ok=True)
        if (place / "log.jsonl").exists():
            raise UsageError("a log stands here already; save into an empty folder", str(place))
        with JobLog.open(place / "log.jsonl", Holder.here("rehearser", clock())) as log:
            log.append(run.events)
