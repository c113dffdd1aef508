"""`benchwalk rehearse`: a procedure's examples, or one file of answers, without anybody."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..errors import Failure, UsageError
from .common import clock, say, say_json, shop_folder

if TYPE_CHECKING:
    from ..proof.rehearse import Rehearsal


@click.command("rehearse")
@click.argument("procedure")
@click.option("--answers", metavar="FILE", help="One example (or a list of them) in a YAML file of its own.")
@click.option("--save", metavar="DIR", help="Write each walk's log into this folder.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
@click.pass_obj
def command(shop: str | None, /, procedure: str, answers: str | None, save: str | None, as_json: bool) -> int:
    """Walk the examples of PROCEDURE (an id or a path) through the real walk and say how each goes."""
    from ..library import Library
    from ..proof.rehearse import rehearse_one
    from ..sums import compute

    linked = Library.of(shop_folder(shop)).get(procedure)
    if answers is None:
        examples = linked.procedure.examples
    else:
        from .answers import examples_of

        examples = examples_of(answers)
    if not examples:
        raise UsageError(f"'{linked.id}' has no examples; write some, or give --answers FILE")
    runs = [rehearse_one(linked, example, compute) for example in examples]
    if save:
        _save(Path(save), runs)
    if as_json:
        data = {
            "procedure": linked.id,
            "revision": str(linked.procedure.revision),
            "runs": [run.data() for run in runs],
        }
        say_json(data)
    else:
        for run in runs:
            verdict = "goes as said" if run.ok else "DIFFERS"
            say(f"{verdict}: {run.example}: ends {run.outcome or 'nowhere'}, {len(run.visits)} stops")
            if run.why:
                say(f"  {run.why}")
        good = sum(run.ok for run in runs)
        say(f"{good} of {len(runs)} examples of {linked.id} go as they say.")
    return 0 if all(run.ok for run in runs) else 1


def _save(folder: Path, runs: list[Rehearsal]) -> None:
    """Each walk's events as a log in a folder of its own."""
    from ..job.disk import said
    from ..job.log import Holder, JobLog

    for number, run in enumerate(runs, 1):
        place = folder / f"{number:02d}"
        try:
            place.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise Failure(f"the walks cannot be saved: {said(error)}", str(place)) from None
        if (place / "log.jsonl").exists():
            raise UsageError("a log stands here already; save into an empty folder", str(place))
        with JobLog.open(place / "log.jsonl", Holder.here("rehearser", clock())) as log:
            log.append(run.events)
