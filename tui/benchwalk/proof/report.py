"""Findings for people and for programs: text, JSON, lines for CI annotations, and SARIF 2.1.0 (from memory).

Everything here makes text out of findings; nothing is printed or written.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

import orjson

from .. import __version__
from ..procedure.findings import Finding
from ..procedure.showing import WIDTH, many, render_finding, safe_text
from ..procedure.source import Source

Checked = Sequence[tuple[Source, Sequence[Finding]]]
"""Files with what was found in each."""


def render(checked: Checked, style: str) -> str:
    """The findings in one of STYLES, with a line break at the end; KeyError for another word."""
    return STYLES[style](checked)


def text(checked: Checked) -> str:
    """For people: each finding with its line and a caret, and at the end how many there are.

    Of several files errors stand last, and advice that several have but for the name in it is told in one place.
    """
    every = [(source, finding) for source, findings in checked for finding in findings]
    alike = _alike(every)
    grouped = [id(finding) for group in alike.values() for _source, finding in group]
    single = [(source, finding) for source, finding in every if id(finding) not in grouped]
    if len(checked) > 1:
        single.sort(key=lambda each: each[1].severity == "error")
    out = [*(_together(*key, group) for key, group in alike.items()), *(told(*each) for each in single)]
    return "\n".join([*out, count(checked)]) + "\n"


_Found = tuple[Source, Finding]
_NAME = re.compile("'([^']*)'")
_ASIDE = re.compile(r" \([^()]*\)\Z")  # where else in its file


def _alike(every: Iterable[_Found]) -> dict[tuple[str, str], list[_Found]]:
    """Advice of one rule that says the same but for one name, where more than one file has it: by (rule, sentence)."""
    groups: dict[tuple[str, str], list[_Found]] = {}
    for source, finding in every:
        sentence = _ASIDE.sub("", finding.message)
        if finding.severity != "error" and len(_NAME.findall(sentence)) == 1:
            groups.setdefault((finding.rule, _NAME.sub("'...'", sentence)), []).append((source, finding))
    return {key: group for key, group in groups.items() if len({source.name for source, _finding in group}) > 1}


def _together(rule: str, sentence: str, group: Sequence[_Found]) -> str:
    """Such advice in one place, with the names and how many files have each; a file checked alone says where."""
    files: dict[str, set[str]] = {}
    for source, finding in group:
        files.setdefault(_NAME.findall(finding.message)[0], set()).add(source.name)
    names = [f"{name} ({len(of)} files)" if len(of) > 1 else name for name, of in sorted(files.items())]
    count = len({source.name for source, _finding in group})
    head = f"{many(count, 'file')}: {sentence} [{rule}, advice], {len(group)} times:"
    lines = textwrap.wrap(safe_text(", ".join(names)), WIDTH - 4, break_on_hyphens=False)
    return "\n    ".join([safe_text(head), *lines])


def told(source: Source, finding: Finding) -> str:
    """One finding for people. A walk that shows it is one line, not a place for each of its steps."""
    shown = finding if finding.severity == "error" else replace(finding, rule=f"{finding.rule}, {finding.severity}")
    lines = source.document.lines
    if not (finding.related and finding.witness and "path" in finding.witness):
        return render_finding(shown, source.name, lines)
    way = "; ".join(related.message for related in finding.related)
    return f"{render_finding(replace(shown, related=()), source.name, lines)}\n    way: {safe_text(way)}"


def count(checked: Checked) -> str:
    """How many errors and pieces of advice there are in how many files."""
    every = [finding for _, findings in checked for finding in findings]
    errors = sum(finding.severity == "error" for finding in every)
    files = f"{len(checked)} file{'' if len(checked) == 1 else 's'}"
    parts = [f"{errors} error{'' if errors == 1 else 's'}"] if errors else ["no errors"]
    if len(every) > errors:
        parts.append(f"{len(every) - errors} advice")
    return f"{', '.join(parts)} in {files}"


def json(checked: Checked, **more: Any) -> str:
    """One document: {"findings": [{file, line, column, rule, severity, message, related, witness}]} and `more`."""
    found = [finding_data(source.name, finding) for source, findings in checked for finding in findings]
    return _dumped({"findings": found, **more})


def finding_data(name: str, finding: Finding) -> dict[str, Any]:
    """One finding as JSON has it."""
    return {
        "file": name,
        "line": finding.pos.line,
        "column": finding.pos.column,
        "rule": finding.rule,
        "severity": finding.severity,
        "message": finding.message,
        "related": [{"line": r.pos.line, "column": r.pos.column, "message": r.message} for r in finding.related],
        "witness": finding.witness,
    }


def ci(checked: Checked) -> str:
    """One annotation line a finding, as CI services read them from the output of a build."""
    return "".join(_annotations(checked))


def _annotations(checked: Checked) -> Iterator[str]:
    for source, findings in checked:
        for finding in findings:
            kind = "error" if finding.severity == "error" else "notice"
            place = f"file={_property(source.name)},line={finding.pos.line},col={finding.pos.column}"
            yield f"::{kind} {place},title={_property(finding.rule)}::{_data(finding.message)}\n"


def _data(value: str) -> str:
    """A text as the format takes it: line breaks in its own way, what else could act on a terminal written out."""
    tame = "".join(piece if piece in "\r\n" else safe_text(piece) for piece in _BREAKS.split(value))
    return tame.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


_BREAKS = re.compile("([\r\n])")


def _property(value: str) -> str:
    """The same for the file and the title, which end at a comma."""
    return _data(value).replace(":", "%3A").replace(",", "%2C")


def sarif(checked: Checked) -> str:
    """One run with a result for each finding, as tools that gather findings read it."""
    from .manual import described  # only now: no other form wants it

    results = [_result(source, finding) for source, findings in checked for finding in findings]
    found = {finding.rule: finding.rule for _, findings in checked for finding in findings}
    rules = [
        {"id": rule, "shortDescription": {"text": text}} for rule, text in sorted({**found, **described()}.items())
    ]
    driver = {"name": "benchwalk", "version": __version__, "rules": rules}
    return _dumped(
        {
            "version": "2.1.0",
            "runs": [{"tool": {"driver": driver}, "columnKind": "unicodeCodePoints", "results": results}],
        }
    )


def _result(source: Source, finding: Finding) -> dict[str, Any]:
    related = [
        {**_location(source, place.pos.line, place.pos.column), "id": number, "message": {"text": place.message}}
        for number, place in enumerate(finding.related, 1)
    ]
    found: dict[str, Any] = {
        "ruleId": finding.rule,
        "level": "error" if finding.severity == "error" else "note",
        "message": {"text": finding.message},
        "locations": [_location(source, finding.pos.line, finding.pos.column)],
    }
    if related:
        found["relatedLocations"] = related
    if finding.witness:
        found["properties"] = {"witness": finding.witness}
    return found


def _location(source: Source, line: int, column: int) -> dict[str, Any]:
    place = {"startLine": line, "startColumn": column}
    return {"physicalLocation": {"artifactLocation": {"uri": _uri(source.name)}, "region": place}}


def _uri(name: str) -> str:
    """A file's name as part of an address: what has a meaning of its own there is written as bytes."""
    return "".join(chr(byte) if _PLAIN(chr(byte)) else f"%{byte:02X}" for byte in name.encode("utf-8", "replace"))


_PLAIN = re.compile(r"[A-Za-z0-9_./~-]").match


def _dumped(data: Any) -> str:
    return orjson.dumps(_clean(data), option=orjson.OPT_INDENT_2).decode() + "\n"


def _clean(data: Any) -> Any:
    """The same without halves of characters, which no JSON can hold."""
    if isinstance(data, str):
        return data.encode("utf-8", "replace").decode()
    if isinstance(data, dict):
        return {_clean(key): _clean(value) for key, value in data.items()}
    return [_clean(value) for value in data] if isinstance(data, list) else data


STYLES: dict[str, Callable[[Checked], str]] = {"text": text, "json": json, "ci": ci, "sarif": sarif}


def worst(checked: Iterable[tuple[Source, Sequence[Finding]]]) -> int:
    """The exit code: 1 where there is an error, 0 otherwise."""
    return int(any(finding.severity == "error" for _, findings in checked for finding in findings))
