"""The sample shop: built by the program from answer files, the same every time, and sound."""

from __future__ import annotations

import importlib.util
import json
import os
import subprocess
import sys
from pathlib import Path

from house import ROOT

SAMPLE = ROOT / "sample_jobs"


def tree(folder: Path) -> dict[str, bytes]:
    """Every file of a shop by its name in it."""
    names = ("shop.yaml", "people.yaml", "people.jsonl", "procedures", "jobs")
    files = [p for name in names for p in (folder / name, *(folder / name).rglob("*"))]
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in files if p.is_file()}


def benchwalk(*arguments: str) -> subprocess.CompletedProcess[str]:
    """The command line, as somebody at a terminal would run it on the sample shop."""
    command = [sys.executable, "-m", "benchwalk", "--shop", str(SAMPLE), *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL)


def test_sample_shop_is_built_again_byte_for_byte(tmp_path: Path) -> None:
    """Building the sample shop from its answer files gives exactly the files that are kept here."""
    spec = importlib.util.spec_from_file_location("sample_build", SAMPLE / "build.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    module.build(tmp_path / "shop")
    assert tree(tmp_path / "shop") == tree(SAMPLE)


def test_sample_jobs_are_listed_without_a_trace() -> None:
    """Listing, showing and auditing the sample jobs changes no file of theirs, not even its time."""
    files = [p for p in SAMPLE.rglob("*") if p.is_file() and "__pycache__" not in p.parts]
    before = {p: (p.read_bytes(), os.stat(p).st_mtime_ns) for p in files}
    listed = benchwalk("jobs", "--json")
    assert [row["job"] for row in json.loads(listed.stdout)["jobs"]] == ["J-0001", "J-0002", "J-0003"]
    assert "Released" in benchwalk("show", "J-0001").stdout
    audited = benchwalk("audit", "--again", "--json")
    assert audited.returncode == 0, audited.stdout + audited.stderr
    assert all(row["ok"] for row in json.loads(audited.stdout)["jobs"])
    after = [p for p in SAMPLE.rglob("*") if p.is_file() and "__pycache__" not in p.parts]
    assert {p: (p.read_bytes(), os.stat(p).st_mtime_ns) for p in after} == before


def test_sample_jobs_hold_what_a_shop_would_look_for() -> None:
    """Among the finished jobs are a correction, a refused look, a hand-over, an event and a referral."""
    kinds = {
        json.loads(line)["what"]
        for log in SAMPLE.glob("jobs/*/log.jsonl")
        for line in log.read_text(encoding="utf-8").splitlines()
    }
    assert {"corrected", "refused", "released", "handed_over", "taken_on", "happened", "job_released"} <= kinds
    assert "referred" in benchwalk("jobs", "referred").stdout
