"""What the repository promises about itself: its top level, its texts, its modules and its tests."""

from __future__ import annotations

import ast
import importlib
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import click
import pytest
from packaging.requirements import Requirement

from house import MACHINE, ROOT, belonging, modules, need, parsed, shown, texts

FOLDERS = {".ci", "benchmarks", "docs", "procedures", "sample_jobs", "tests", "tui"}
FILES = {
    *(".gitattributes", ".gitignore", "CHANGELOG.md", "DEVELOPERS.md", "LICENSE", "Makefile", "README.md"),
    *(".pre-commit-hooks.yaml", "constraints.txt", "pyproject.toml"),
}
LONGEST = 400  # lines; a longer module is two modules

URL = re.compile(r"https?://([^\s\"'<>)\]}`]+)")
NAMESPACES = ("www.w3.org/", "json-schema.org/", "127.0.0.1", "localhost")  # names that happen to be written as URLs
HOST = re.compile(r"\b[\w-]+\.(?:org|com|net)\b", re.IGNORECASE)
HOSTS = {"w3.org", "json-schema.org", "example.org", "example.com", "example.net"}  # the last three: RFC 2606
MACHINE_PATH = re.compile(r"(?<![\w.~$}])/(?:tmp|home|root|work|Users)/")
MARK = re.compile("[\u2122\u00ae\u2120]")  # trade marks: no brand is named here


def places(pattern: re.Pattern[str], allowed: tuple[str, ...] | set[str] = ()) -> list[str]:
    """`file:line: found` for every find of the pattern in our texts; names in `allowed` (or starting so) pass."""
    found = []
    for name, text in texts().items():
        for number, line in enumerate(text.splitlines(), 1):
            for match in pattern.finditer(line):
                said = match.group(match.lastindex or 0)
                if not said.lower().startswith(tuple(allowed) or ("\0",)):
                    found.append(f"{name}:{number}: {said}")
    return found


def fenced(text: str) -> list[str]:
    """The lines inside fenced blocks of a Markdown text, without prompts."""
    blocks = re.findall(r"^```[^\n]*\n(.*?)^```", text, re.MULTILINE | re.DOTALL)
    return [line.strip().removeprefix("$ ") for block in blocks for line in block.splitlines() if line.strip()]


def manuals() -> dict[str, str]:
    """Name to text of what a person reads: the top-level Markdown files and docs/."""
    return {n: t for n, t in texts().items() if n.endswith(".md") and (n.startswith("docs/") or "/" not in n)}


def targets() -> set[str]:
    """The names `make` takes."""
    return set(re.findall(r"^([a-z][a-z-]*):", (ROOT / "Makefile").read_text(), re.MULTILINE))


# --- the top level -----------------------------------------------------------------------------------------------


def test_top_level_holds_nothing_undeclared() -> None:
    """Nothing stands at the top of the repository but what the design names."""
    assert {shown(path).split("/")[0] for path in belonging()} <= FOLDERS | FILES


@pytest.mark.parametrize("name", sorted(FILES))
def test_top_level_file_is_there_and_says_something(name: str) -> None:
    """Every file of the top level belongs to the repository and is not empty."""
    there = ROOT / name in belonging() and (ROOT / name).stat().st_size > 0
    need(there, f"{name} text")
    assert there


@pytest.mark.parametrize("name", sorted(FOLDERS))
def test_top_level_folder_holds_files(name: str) -> None:
    """Every folder of the top level holds files that belong to the repository."""
    there = any(shown(path).startswith(f"{name}/") for path in belonging())
    need(there, name)
    assert there


# --- what a newcomer reads first ---------------------------------------------------------------------------------


def test_readme_opens_with_the_job_in_one_paragraph() -> None:
    """After its title the README says in one paragraph of prose what Benchwalk does, for whom."""
    blocks = [b.strip() for b in re.split(r"\n\s*\n", (ROOT / "README.md").read_text(encoding="utf-8")) if b.strip()]
    need(len(blocks) > 1, "README.md text")
    title, first = blocks[:2]
    assert title.startswith("# Benchwalk") and "\n" not in title
    assert first[0].isalpha() and first.endswith("."), "the first paragraph is prose"
    assert 25 <= len(first.split()) <= 150
    assert {"technician", "repair", "step"} <= {word.rstrip("s") for word in re.findall(r"[a-z]+", first.lower())}


def test_readme_gives_the_two_commands() -> None:
    """The README shows `make run` and `make test`, and no other set-up before them."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    need(len(text.split()) > 10, "README.md text")
    makes = [line.split("#")[0].strip() for line in fenced(text)]
    assert {"make run", "make test"} <= set(makes)
    before = makes[: makes.index("make run")]
    assert all(line.split()[0] in ("git", "cd") for line in before), f"set-up beside the two commands: {before}"


def test_every_make_word_in_the_manuals_is_a_target() -> None:
    """Whatever `make ...` the manuals tell a reader to type exists."""
    said = {
        (name, word)
        for name, text in manuals().items()
        for word in re.findall(r"(?:^|`)make ([a-z-]+)", text, re.MULTILINE)
    }
    assert {(name, word) for name, word in said if word not in targets()} == set()


def test_make_help_names_every_target() -> None:
    """`make` alone says what can be made, every target of it."""
    said = subprocess.run(["make", "-s"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    assert {line.split(":")[0] for line in said.splitlines()} == targets()
    assert all(line.split(": ", 1)[1] for line in said.splitlines())


def test_changelog_has_unreleased_entries() -> None:
    """The changelog says under Unreleased what the next release changes, in a list."""
    text = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    need(text, "CHANGELOG.md text")
    section = re.search(r"^## Unreleased\n(.*?)(?=^## |\Z)", text, re.MULTILINE | re.DOTALL)
    assert section and re.search(r"^- \w", section[1], re.MULTILINE)


# --- the commands ------------------------------------------------------------------------------------------------


def commands() -> set[str]:
    """The names of the program's commands, asked of its own command group; skips where there is none yet."""
    need("benchwalk.cli" in modules(), "the command line")
    groups = [v for v in vars(importlib.import_module("benchwalk.cli")).values() if isinstance(v, click.Group)]
    names: dict[str, set[str]] = {}
    for group in groups:
        context = click.Context(group)
        listed = {name: group.get_command(context, name) for name in group.list_commands(context)}
        names[group.name or ""] = {name for name, command in listed.items() if command and not command.hidden}
    assert names, "benchwalk.cli holds a click group"
    return max(names.values(), key=len)  # the top group; those below it hold fewer


def test_docs_mention_every_command() -> None:
    """Every command of the program stands in the README or in docs/ as `benchwalk NAME`."""
    known = commands()
    need(len(manuals()) > 3, "docs")
    said = {w for text in manuals().values() for w in re.findall(r"benchwalk ([a-z][a-z-]*)", text)}
    assert known - said == set()


def test_docs_show_no_command_that_does_not_exist() -> None:
    """A line the manuals tell a reader to type names a command that exists."""
    known = commands()
    shown_lines = [
        (name, line.split()[1])
        for name, text in manuals().items()
        for line in fenced(text)
        if re.match(r"benchwalk [a-z]", line)
    ]
    assert [(name, word) for name, word in shown_lines if word not in known] == []


def test_run_opens_the_flagship_and_survives_a_closed_input() -> None:
    """What `make run` starts names the re-tie as practice; when its input ends at once there is no traceback."""
    need("benchwalk.__main__" in modules(), "the command line")
    command = [sys.executable, "-m", "benchwalk", "demo"]
    ran = subprocess.run(command, stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=60)
    assert "Traceback" not in ran.stderr + ran.stdout
    assert ran.returncode in (0, 1), ran.stderr
    assert "practice" in ran.stdout.lower() and "snare" in ran.stdout.lower(), ran.stdout


# --- what does not belong ----------------------------------------------------------------------------------------


def test_no_urls() -> None:
    """No text of ours points to a machine on the net; names of schemas and this machine itself pass."""
    assert places(URL, NAMESPACES) == []


def test_no_hosts() -> None:
    """No text of ours names a host, of packages or otherwise, with or without a scheme."""
    assert places(HOST, HOSTS) == []


def test_no_machine_paths() -> None:
    """No text of ours carries a folder of the machine it was written on."""
    assert places(MACHINE_PATH) == []


def test_no_trade_marks() -> None:
    """No text of ours carries a trade mark sign: no brand is named."""
    assert places(MARK) == []


@pytest.mark.parametrize(
    ("pattern", "line"),
    [
        (URL, "see http" + "s://somewhere.example/x"),
        (HOST, "from files.somewhere" + ".net"),
        (MACHINE_PATH, "open('/" + "tmp/x')"),
        (MARK, "Glue" + chr(0x2122)),
    ],
)
def test_patterns_find_what_does_not_belong(pattern: re.Pattern[str], line: str) -> None:
    """Each pattern above does find what it is there to find."""
    assert pattern.search(line)


# --- the lock ----------------------------------------------------------------------------------------------------


def locked() -> dict[str, str]:
    """Name (normalised) to version of constraints.txt."""
    lines = [line for line in (ROOT / "constraints.txt").read_text().splitlines() if not line.startswith("#")]
    return {re.sub(r"[-_.]+", "-", name).lower(): version for name, version in (line.split("==") for line in lines)}


def declared() -> list[str]:
    """The requirements pyproject.toml declares, for use and for development."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    return [*project["dependencies"], *project["optional-dependencies"]["dev"]]


def test_constraints_are_exact_versions_and_nothing_else() -> None:
    """The lock says name==version, line by line: no address, no hash, no path, no option."""
    lines = (ROOT / "constraints.txt").read_text().splitlines()
    wrong = [line for line in lines if not re.fullmatch(r"#.*|[A-Za-z0-9][\w.-]*==[0-9][\w.!+]*", line)]
    assert wrong == []
    assert len(locked()) == sum(not line.startswith("#") for line in lines), "a package is locked twice"


def test_textual_is_pinned_exactly_and_alike() -> None:
    """Screens depend on Textual's every detail: pyproject.toml and the lock name one and the same version."""
    [pin] = [text for text in declared() if re.match(r"textual[^\w-]", text)]
    assert pin == f"textual=={locked()['textual']}"


def test_every_declared_requirement_is_locked() -> None:
    """What pyproject.toml asks for, the lock fixes at a version that fits."""
    for text in declared():
        wanted = Requirement(text)
        name = re.sub(r"[-_.]+", "-", wanted.name).lower()
        assert name in locked(), f"{text} is not in constraints.txt; run make lock"
        assert wanted.specifier.contains(locked()[name]), f"{text} does not take {locked()[name]}; run make lock"


# --- modules and tests -------------------------------------------------------------------------------------------


def test_no_module_is_too_long() -> None:
    """No module of the program is longer than a person can hold in mind."""
    lengths = {shown(path): len(path.read_text(encoding="utf-8").splitlines()) for path in modules().values()}
    assert {name: length for name, length in lengths.items() if length > LONGEST} == {}


def test_every_public_module_says_what_it_is() -> None:
    """Every module that is not private opens with a docstring of at least a few words."""
    public = {name: path for name, path in modules().items() if not name.rsplit(".", 1)[-1].startswith("_")}
    docs = {name: ast.get_docstring(parsed(path)) or "" for name, path in public.items()}
    silent = {name for name, doc in docs.items() if len(doc.split()) < 3}
    need(not {n for n in silent if docs[n] == "." and modules()[n].name == "__init__.py"}, "package docstrings")
    assert silent == set()


def test_every_test_says_what_it_promises() -> None:
    """Every test function has a docstring that is a sentence."""
    silent = [
        f"{shown(path)}:{node.lineno}: {node.name}"
        for path in sorted((ROOT / "tests").rglob("*.py"))
        for node in ast.walk(parsed(path))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and node.name.startswith("test")
        if len((ast.get_docstring(node) or "").split()) < 3
    ]
    assert silent == []


def test_the_developers_machine_is_shut_out(bare_machine: Path) -> None:
    """Tests see an empty home, no shop and no settings of the person who runs them."""
    assert Path.home() == bare_machine != Path(MACHINE.get("HOME", "nowhere"))
    assert not any(bare_machine.iterdir())
    assert not {"BENCHWALK_SHOP", "NO_COLOR", "EDITOR"} & set(os.environ)
    assert {os.environ["TZ"], os.environ["XDG_DATA_HOME"]} == {"UTC", str(bare_machine / "data")}
