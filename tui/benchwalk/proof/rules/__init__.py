"""The rules of `benchwalk check`: one a module, its docstring the manual page, its samples run by the tests.

A rule has `ID` and `check(linked)`, which yields findings and never raises on what an author wrote. To add one: write
the module with a page like the others (what it is about, Wrong, Says, Right), put it into RULES, and run
`python -m benchwalk.proof.manual > docs/rules.md`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked
from . import (
    coverage,
    endless,
    event_run,
    evidence,
    example_name,
    gives,
    idle_branch,
    may_skip,
    name,
    needs_value,
    no_way_out,
    otherwise,
    possible,
    role,
    too_long,
    unreachable,
    unrecorded,
    unused,
    wait,
    wanted,
)

Rule = Callable[[Linked], Iterator[Finding]]

RULES: dict[str, Rule] = {
    rule.ID: rule.check
    for rule in (
        unreachable,
        no_way_out,
        endless,
        coverage,
        idle_branch,
        otherwise,
        wanted,
        possible,
        unrecorded,
        needs_value,
        evidence,
        gives,
        may_skip,
        wait,
        role,
        name,
        example_name,
        event_run,
        unused,
        too_long,
    )
}
"""Every rule that asks for nothing but the procedure; `unknown_proposal` and `example` are told more by the caller."""
