"""What `check` hands on to other programs: SARIF, annotation lines, and the hook for commits."""

from __future__ import annotations

import json
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from ruamel.yaml import YAML

from benchwalk import __version__
from benchwalk.procedure.findings import Finding, Pos, Related
from benchwalk.procedure.read import read
from benchwalk.procedure.source import Source
from benchwalk.procedure.yaml_table import OTHERS, TRAPS
from benchwalk.proof.check import check_file
from benchwalk.proof.manual import WHILE_READING, pages
from benchwalk.proof.report import render
from house import ROOT
from samples import other, whole

ERR = sorted((Path(__file__).parent / "check" / "err").glob("*.yaml"))

def test_advice_that_files_share_is_told_once_and_errors_stand_last() -> None:
    """Of several files, what is the same advice but for a name is one place with all names; errors come after it."""
    one, two = (read(b"a: b\n", name) for name in ("one.yaml", "two.yaml"))
    lacks = "the library has no procedure '{}'"
    error = Finding("name", "there is no step 'x'", Pos(1, 1))
    a, b, same = (Finding("unknown-proposal", lacks.format(n), Pos(1, 1), "advice") for n in ("a", "b", "b"))
    aside = Finding("unknown-proposal", lacks.format("a") + " (proposed in line 9 too)", Pos(1, 1), "advice")
    other = Finding("vague", "say how far", Pos(1, 1), "advice")
    both = [(one, [error, b, aside]), (two, [other, same])]
    said = render(both, "text").splitlines()
    assert said[0] == "2 files: the library has no procedure '...' [unknown-proposal, advice], 3 times:"
    assert said[1] == "    a, b (2 files)"
    assert [line for line in said if not line.startswith(" ")][1:] == [
        "two.yaml:1:1: say how far [vague, advice]",
        "one.yaml:1:1: there is no step 'x' [name]",
        "1 error, 4 advice in 2 files",
    ]
    alone = render([(one, [error, b, a])], "text")
    assert alone.index("no step 'x'") < alone.index("procedure 'b'") < alone.index("procedure 'a'")
    assert len(json.loads(render(both, "json"))["findings"]) == 5


# --- SARIF -------------------------------------------------------------------------------------------------------

TEXT = {"type": "object", "properties": {"text": {"type": "string", "minLength": 1}}, "required": ["text"]}
REGION = {
    "type": "object",
    "properties": {"startLine": {"type": "integer", "minimum": 1}, "startColumn": {"type": "integer", "minimum": 1}},
    "required": ["startLine", "startColumn"],
}
LOCATION = {
    "type": "object",
    "properties": {
        "id": {"type": "integer", "minimum": 0},
        "message": TEXT,
        "physicalLocation": {
            "type": "object",
            "properties": {
                "artifactLocation": {
                    "type": "object",
                    "properties": {"uri": {"type": "string", "pattern": r"^[A-Za-z0-9_./~%-]+$"}},
                    "required": ["uri"],
                },
                "region": REGION,
            },
            "required": ["artifactLocation", "region"],
        },
    },
    "required": ["physicalLocation"],
}
RULE = {"type": "object", "properties": {"id": {"type": "string"}, "shortDescription": TEXT}, "required": ["id"]}
RESULT = {
    "type": "object",
    "properties": {
        "ruleId": {"type": "string"},
        "level": {"enum": ["none", "note", "warning", "error"]},
        "message": TEXT,
        "locations": {"type": "array", "items": LOCATION, "minItems": 1},
        "relatedLocations": {"type": "array", "items": LOCATION},
        "properties": {"type": "object"},
    },
    "required": ["ruleId", "level", "message", "locations"],
    "additionalProperties": False,
}
DRIVER = {
    "type": "object",
    "properties": {
        "name": {"const": "benchwalk"},
        "version": {"const": __version__},
        "rules": {"type": "array", "items": RULE, "uniqueItems": True},
    },
    "required": ["name", "rules"],
    "additionalProperties": False,
}
RUN = {
    "type": "object",
    "properties": {
        "tool": {"type": "object", "properties": {"driver": DRIVER}, "required": ["driver"]},
        "columnKind": {"enum": ["utf16CodeUnits", "unicodeCodePoints"]},
        "results": {"type": "array", "items": RESULT},
    },
    "required": ["tool", "results"],
    "additionalProperties": False,
}
SARIF = {
    "type": "object",
    "properties": {"version": {"const": "2.1.0"}, "runs": {"type": "array", "items": RUN, "minItems": 1}},
    "required": ["version", "runs"],
    "additionalProperties": False,
}
"""What SARIF 2.1.0 asks of the parts that are used here (from memory)."""


@pytest.fixture(scope="module")
def checked() -> list[tuple[Source, list[Finding]]]:
    """Every faulty sample file with its findings, one under a name full of signs."""
    made = []
    for number, path in enumerate(ERR):
        data = whole(path.read_text(encoding="utf-8")).encode()
        name = "bench/a b,c:100%#1.yaml" if number == 0 else f"bench/{path.name}"
        made.append((read(data, name), check_file(data, name, other)))
    return made


def sarif(checked: list[tuple[Source, list[Finding]]]) -> Any:
    """The SARIF document, its shape looked over."""
    made = json.loads(render(checked, "sarif"))
    jsonschema.Draft202012Validator(SARIF).validate(made)
    return made["runs"][0]


def test_sarif_has_the_shape_that_is_asked_for(checked: list[tuple[Source, list[Finding]]]) -> None:
    """Version, one run, a driver with its rules, and one result for each finding with its rule, level and region."""
    run = sarif(checked)
    found = [finding for _, findings in checked for finding in findings]
    assert len(run["results"]) == len(found) > 100
    for result, finding in zip(run["results"], found, strict=True):
        region = result["locations"][0]["physicalLocation"]["region"]
        assert (result["ruleId"], result["message"]["text"]) == (finding.rule, finding.message)
        assert result["level"] == {"error": "error", "advice": "note"}[finding.severity]
        assert (region["startLine"], region["startColumn"]) == finding.pos
        assert len(result.get("relatedLocations", [])) == len(finding.related)


def test_sarif_names_every_rule_once_with_what_it_is_about(checked: list[tuple[Source, list[Finding]]]) -> None:
    """The driver lists everything that can be found, found or not, so that no result names a rule it does not know."""
    for some in (checked, checked[:1], []):
        run = sarif(some)
        rules = {rule["id"]: rule["shortDescription"]["text"] for rule in run["tool"]["driver"]["rules"]}
        assert len(rules) == len(run["tool"]["driver"]["rules"])
        assert set(rules) == {page.id for page in pages()} | set(WHILE_READING) | set(TRAPS) | set(OTHERS)
        assert {result["ruleId"] for result in run["results"]} <= set(rules)
        assert not any(text.endswith(".") or "\n" in text for text in rules.values())


def test_sarif_writes_file_names_as_parts_of_an_address(checked: list[tuple[Source, list[Finding]]]) -> None:
    """Blank, comma, colon, percent and hash of a file's name are written as bytes."""
    uri = sarif(checked)["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
    assert uri == "bench/a%20b%2Cc%3A100%25%231.yaml"


def test_sarif_numbers_related_places_and_keeps_the_witness() -> None:
    """A second place has an id, its place and its sentence; values that show the fault go with the result."""
    related = (Related(Pos(2, 3), "it stands here first"), Related(Pos(4, 5), "and here"))
    finding = Finding("coverage", "no branch", Pos(1, 1), related=related, witness={"gap": "9.5 mm"})
    (result,) = sarif([(read(b"a: b", "x.yaml"), [finding])])["results"]
    assert [(place["id"], place["message"]["text"]) for place in result["relatedLocations"]] == [
        (1, "it stands here first"),
        (2, "and here"),
    ]
    assert result["properties"] == {"witness": {"gap": "9.5 mm"}}


# --- annotation lines --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "in_property", "in_message"),
    [
        ("100%", "100%25", "100%25"),
        ("%0A", "%250A", "%250A"),
        ("a:b", "a%3Ab", "a:b"),
        ("a,b", "a%2Cb", "a,b"),
        ("C:\\x, 5%", "C%3A\\x%2C 5%25", "C:\\x, 5%25"),
        ("a\r\nb", "a%0D%0Ab", "a%0D%0Ab"),
        ("a\x1b[2Jb\u202e", "a\\x1b[2Jb\\u202e", "a\\x1b[2Jb\\u202e"),
        ("::error::x", "%3A%3Aerror%3A%3Ax", "::error::x"),
    ],
)
def test_ci_escapes_what_the_format_reads(text: str, in_property: str, in_message: str) -> None:
    """Percent and line breaks everywhere, colon and comma in the properties (file, title) and not in the message."""
    line = render([(read(b"a: b", text), [Finding(text, text, Pos(3, 4), "advice")])], "ci")
    assert line == f"::notice file={in_property},line=3,col=4,title={in_property}::{in_message}\n"


def test_ci_reader_gets_back_what_was_said(checked: list[tuple[Source, list[Finding]]]) -> None:
    """Read as a CI service reads them, the lines give kind, file, place, rule and sentence of each finding."""
    lines = render(checked, "ci").splitlines()
    expected = [(source, finding) for source, findings in checked for finding in findings]
    for line, (source, finding) in zip(lines, expected, strict=True):
        command, properties, message = re.fullmatch(r"::(\w+) (.*?)::(.*)", line).groups()  # type: ignore[union-attr]
        told = dict(part.split("=", 1) for part in properties.split(","))
        assert command == {"error": "error", "advice": "notice"}[finding.severity]
        assert (int(told["line"]), int(told["col"])) == finding.pos
        assert unescaped(told["file"]) == source.name and unescaped(told["title"]) == finding.rule
        assert unescaped(message) == finding.message


def unescaped(text: str) -> str:
    """What a CI service makes of an escaped text."""
    for code, sign in (("%0D", "\r"), ("%0A", "\n"), ("%3A", ":"), ("%2C", ","), ("%25", "%")):
        text = text.replace(code, sign)
    return text


# --- the hook ----------------------------------------------------------------------------------------------------

[HOOK] = YAML(typ="safe", pure=True).load((ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))


def run_hook(*files: Path) -> subprocess.CompletedProcess[str]:
    """The hook's own command on files, as it is run: found by its name among the installed programs."""
    found = os.pathsep.join((str(Path(sys.executable).parent), os.environ["PATH"]))
    command = [*shlex.split(HOOK["entry"]), *map(str, files)]
    return subprocess.run(command, capture_output=True, text=True, timeout=60, env={**os.environ, "PATH": found})


def test_hook_has_what_a_hook_must_have() -> None:
    """Id, name, entry and language are there as texts, and nothing that a manifest does not know."""
    known = {"id", "name", "description", "entry", "language", "files", "require_serial"}
    assert set(HOOK) == known
    assert HOOK["id"] == "benchwalk-check" and HOOK["language"] == "python" and HOOK["require_serial"] is True
    assert all(isinstance(HOOK[key], str) and HOOK[key] for key in known - {"require_serial"})


@pytest.mark.parametrize(
    ("name", "wanted"),
    [
        ("procedures/retie-snare-cords.yaml", True),
        ("shop/procedures/own.yaml", True),
        ("procedures/approvals.jsonl", False),
        ("procedures/drafts/own.yaml", False),
        ("shop/jobs/J-0001/texts/abc.yaml", False),
        ("people.yaml", False),
        ("old-procedures/own.yaml", False),
        ("procedures/own.yaml.orig", False),
    ],
)
def test_hook_takes_procedures_and_nothing_else(name: str, wanted: bool) -> None:
    """Files of a folder `procedures` are taken; approvals, texts of jobs and other folders are not."""
    assert bool(re.search(HOOK["files"], name)) is wanted


def test_hook_takes_every_shipped_procedure_and_passes_them() -> None:
    """The shipped procedures are taken by the hook's pattern, and its command ends with 0 on one of them."""
    shipped = sorted((ROOT / "procedures").glob("*.yaml"))
    assert shipped and all(re.search(HOOK["files"], path.relative_to(ROOT).as_posix()) for path in shipped)
    ran = run_hook(ROOT / "procedures" / "deburr-cord-holes.yaml")
    assert (ran.returncode, ran.stderr) == (0, "") and "no errors" in ran.stdout


def test_hook_stops_a_broken_procedure(tmp_path: Path) -> None:
    """The hook's command on a file with an error ends with 1, and says the error with its place."""
    broken = tmp_path / "procedures" / "broken.yaml"
    broken.parent.mkdir()
    text = (ROOT / "procedures" / "deburr-cord-holes.yaml").read_text(encoding="utf-8")
    broken.write_text(text.replace("go: cover}", "go: covr}", 1), encoding="utf-8")
    ran = run_hook(broken)
    line = next(n for n, line in enumerate(broken.read_text().splitlines(), 1) if "go: covr}" in line)
    assert ran.returncode == 1 and f"broken.yaml:{line}:" in ran.stdout and "[unknown-step]" in ran.stdout
