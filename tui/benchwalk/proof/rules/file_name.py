"""A file that is called otherwise than its procedure.

A procedure is asked for by its id, and looked for in the file `ID.yaml`: in a file of another name it can be checked by
its path, and `walk`, `run` and the bench never find it. Told where the file has a name that stays (not of what comes on
stdin, nor of a copy in the folder for such). Rename the file, or the procedure.

Wrong:

    procedure: check-lever
    steps:
      - step: hand-back
        do: Put the drum out for its owner.
        end: done

Says:

    1:12: 'check-lever' is looked for in 'check-lever.yaml', and this file is 'sample.yaml'; rename one of the two
      [file-name]

Right:

    procedure: sample
    steps:
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
"""

from __future__ import annotations

from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked
from ...procedure.showing import shortened

ID = "file-name"


def check(linked: Linked, file: str = "") -> Iterator[Finding]:
    """One piece of advice where the file is not called after the id; `file` is its name, empty where it has none."""
    name = linked.procedure.procedure
    if file and file != f"{name}.yaml":
        wanted = shortened(f"{name}.yaml")
        message = f"'{shortened(name)}' is looked for in '{wanted}', and this file is '{shortened(file)}'"
        yield Finding(ID, f"{message}; rename one of the two", linked.place("procedure"), severity="advice")
