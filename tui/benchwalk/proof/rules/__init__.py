"""The rules of `benchwalk check`: one a module, its docstring the manual page, its samples run by the tests.

A rule has `ID` and `check(linked)`, which yields findings and never raises on what an author wrote. To add one: write
the module with a page like the others (what it is about, Wrong, Says, Right), put it into RULES, its id into
`procedure/advice.py` if what it says can be advice, and run `python -m benchwalk.proof.manual > docs/rules.md`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked
from . import (
    allow,
    condition_last,
    coverage,
    empty,
    endless,
    event_run,
    evidence,
    example,
    example_name,
    file_name,
    gives,
    grade,
    hazard,
    hidden_action,
    hidden_event,
    idle_branch,
    many_conditions,
    may_skip,
    name,
    needs_value,
    no_way_out,
    one_action,
    otherwise,
    possible,
    reads_otherwise,
    refused,
    releasable,
    revision,
    role,
    show,
    too_long,
    typed_word,
    unknown_proposal,
    unreachable,
    unrecorded,
    unused,
    unwalked,
    vague,
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
        refused,
        wait,
        role,
        name,
        typed_word,
        empty,
        example_name,
        event_run,
        hidden_event,
        show,
        unused,
        too_long,
        hazard,
        grade,
        hidden_action,
        one_action,
        condition_last,
        many_conditions,
        reads_otherwise,
        vague,
    )
}
"""Every rule that asks for nothing but the procedure."""

ASKED = (unknown_proposal, revision, releasable, file_name, example, unwalked, allow)
"""The rules that are told more by the caller."""
