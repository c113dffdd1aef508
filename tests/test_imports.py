"""The core stays light and pure: what importing it loads, and what its modules may touch.

The import contracts in pyproject.toml (`lint-imports`, run by `make check`) say the same of the source; these tests
ask a fresh interpreter, which also sees what libraries bring with them.
"""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from benchwalk.library import Library
from benchwalk.session import Books
from benchwalk.shop.index import BooksOf, Index
from benchwalk.shop.settings import open_shop
from house import PACKAGE, modules, need, parsed, shown
from shop_helpers import begin, fresh_shop

HEAVY = ("textual", "numpy", "scipy", "jinja2")
# No clock, no disk, no chance in these.
PURE = ("quantities", "notes", "units", "numerals", "signatures", "procedure", "walk", "proof")
LIGHT = ("errors", *PURE, "job")

# For a pure module: what it may not import, what it may not call by name, what it may not call on anything.
IMPURE_MODULES = {
    *("asyncio", "getpass", "glob", "io", "locale", "logging", "multiprocessing", "os", "platform", "random"),
    *("secrets", "shutil", "signal", "socket", "subprocess", "tempfile", "threading", "time", "uuid"),
}
IMPURE_CALLS = {"open", "print", "input", "breakpoint", "exec", "eval", "__import__"}
IMPURE_METHODS = {
    *("now", "utcnow", "today", "open", "read_text", "read_bytes", "write_text", "write_bytes", "iterdir", "glob"),
    *("exists", "is_file", "is_dir", "mkdir", "unlink", "stat"),
}


def within(parts: tuple[str, ...]) -> list[str]:
    """Dotted names of all modules at or below these parts of the program, packages first."""
    tops = tuple(f"benchwalk.{part}" for part in parts)
    return [name for name in modules() if name in tops or name.startswith(tuple(f"{top}." for top in tops))]


IMPORT_EACH = """
import importlib, json, sys
found, before = {}, set()
for name in sys.argv[2:]:
    try:
        importlib.import_module(name)
    except Exception as error:
        found[name] = [f"cannot be imported: {error!r}"]
        continue
    now = {heavy for heavy in sys.argv[1].split(",") if heavy in sys.modules}
    found[name] = sorted(now - before)
    before = now
print(json.dumps(found))
"""


@pytest.fixture(scope="module")
def loaded() -> dict[str, list[str]]:
    """Module to the heavy libraries that it is the first to load, all imported in turn by one fresh interpreter."""
    command = [sys.executable, "-c", IMPORT_EACH, ",".join(HEAVY), *within(LIGHT)]
    ran = subprocess.run(command, capture_output=True, text=True, check=True)
    return dict(json.loads(ran.stdout))


@pytest.mark.parametrize("name", within(LIGHT))
def test_core_module_loads_nothing_heavy(loaded: dict[str, list[str]], name: str) -> None:
    """Importing a module of the core brings in no screen, no numerics and no templates."""
    need(not any(said.startswith("cannot be imported") for said in loaded[name]), "the core's modules")
    assert loaded[name] == []


def test_what_is_heavy_would_be_seen() -> None:
    """The check above does see a heavy library, and a module that cannot be imported."""
    command = [sys.executable, "-c", IMPORT_EACH, "jinja2,decimal", "json", "jinja2", "no_such_module"]
    found = json.loads(subprocess.run(command, capture_output=True, text=True, check=True).stdout)
    assert found["json"] == [] and "jinja2" in found["jinja2"]
    assert found["no_such_module"][0].startswith("cannot be imported")


def test_every_part_of_the_core_is_looked_at() -> None:
    """Each part named light or pure has modules, so that a renamed part does not slip out of these tests."""
    empty = {part for part in LIGHT if not within((part,))}
    need(not empty, "the core's modules")
    assert empty == set()


def impurities(tree: ast.Module) -> list[str]:
    """`line: what` for everything in a module that reads the world or speaks to it."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and not node.level:
            names = [node.module or ""]
        else:
            names = []
        found += [f"{node.lineno}: imports {name}" for name in names if name.split(".")[0] in IMPURE_MODULES]
        if isinstance(node, ast.Call):
            called = node.func
            if isinstance(called, ast.Name) and called.id in IMPURE_CALLS:
                found.append(f"{node.lineno}: calls {called.id}")
            if isinstance(called, ast.Attribute) and called.attr in IMPURE_METHODS:
                found.append(f"{node.lineno}: calls .{called.attr}")
    return found


@pytest.mark.parametrize("name", within(PURE))
def test_pure_module_reads_no_clock_disk_or_chance(name: str) -> None:
    """Time, files, people and chance are handed to the pure core; it prints nothing and asks for nothing itself."""
    path = modules()[name]
    assert [f"{shown(path)}:{found}" for found in impurities(parsed(path))] == []


@pytest.mark.parametrize(
    "line",
    [
        *("import time", "from os import path", "import os.path as p", "open('x')", "print('x')"),
        *("datetime.now()", "Path('x').read_text()", "date.today()", "import random, re"),
    ],
)
def test_impurity_would_be_seen(line: str) -> None:
    """The check above does see each way of reading the world it knows of."""
    assert impurities(ast.parse(f"def f():\n    {line}")) != []


def loaded_by(*arguments: str) -> tuple[int, set[str], str]:
    """Exit code, top-level names of all modules loaded, and output of one run of the program."""
    command = [sys.executable, "-X", "importtime", "-m", "benchwalk", *arguments]
    ran = subprocess.run(command, capture_output=True, text=True, stdin=subprocess.DEVNULL)
    timed = re.findall(r"^import time: +\d+ \| +\d+ \| +([\w.]+)$", ran.stderr, re.MULTILINE)
    return ran.returncode, {name.split(".")[0] for name in timed}, ran.stdout + ran.stderr


def test_help_loads_nothing_heavy() -> None:
    """`benchwalk --help` answers without a screen, numerics or templates being loaded."""
    need("benchwalk.__main__" in modules(), "the command line")
    code, names, said = loaded_by("--help")
    assert code == 0, said
    assert "benchwalk" in names and names & set(HEAVY) == set()


def test_check_of_one_file_loads_nothing_heavy() -> None:
    """`benchwalk check FILE` proves a procedure without a screen, numerics or templates being loaded."""
    need("benchwalk.__main__" in modules(), "the command line")
    files = sorted((PACKAGE.parents[1] / "procedures").glob("*.yaml"))
    need(files, "procedures")
    code, names, said = loaded_by("check", str(files[0]))
    assert code == 0, said
    assert {"benchwalk", "pydantic"} <= names and names & set(HEAVY) == set()


# What the bench does without until it is on screen: others' libraries, and parts of the program.
NOT_YET = ("pydantic", "yaml", "ruamel", "jinja2", "numpy", "scipy", "aiohttp")
NOT_YET_OURS = (
    *("session", "library", "procedure.model", "procedure.tree", "procedure.linked", "procedure.conditions"),
    *("walk.fold", "walk.decide", "walk.acts", "walk.state", "sums", "proof", "plain", "report", "shop.listing"),
    *("shop.waiting", "job.people", "job.log", "cli.walk", "screens.asking", "screens.helping", "screens.working"),
    *("screens.walk", "screens.flows", "screens.bench_flows", "screens.intake", "screens.book"),
)
# What the first stop of a walk does without where its procedure was kept from an earlier run of the program.
NOT_TO_WALK = ("pydantic", "ruamel", "jinja2", "numpy", "scipy", "aiohttp")
NOT_TO_WALK_OURS = (
    *("procedure.read", "procedure.linking", "procedure.conditions", "procedure.binding", "procedure.condition_nodes"),
    *("proof", "plain", "report", "shop.index", "screens.bench", "screens.asking", "screens.helping"),
)
AT_THE_FIRST_FRAME = """
import json, os, sys
os.environ["TEXTUAL_DRIVER"] = "textual.drivers.headless_driver:HeadlessDriver"
from benchwalk.cli import run
from benchwalk.screens import lines, shelf

seen = {"drawn": 0}
def drawn(self, y, draw=lines.Lines.render_line):
    seen["drawn"] += 1
    return draw(self, y)
def look(self):
    seen.setdefault("loaded", sorted(sys.modules))
    self.app.exit(0)
lines.Lines.render_line, shelf.JobsPage.look = drawn, look
code = run(["--shop", sys.argv[1]])
print(json.dumps({**seen, "code": code}))
"""


def test_first_frame_of_the_bench_loads_nothing_heavy(tmp_path: Path) -> None:
    """The bench of a shop it has seen before is drawn without a procedure, a log or YAML being looked at."""
    gone = {name for name in NOT_YET_OURS if f"benchwalk.{name}" not in modules()}
    assert gone == set(), "a part that was renamed slips out of this test"
    shop = fresh_shop(tmp_path)
    begin(shop).close()
    index = Index.of(shop, BooksOf(Books))
    index.rows()
    index.save()
    open_shop(shop.root)
    command = [sys.executable, "-c", AT_THE_FIRST_FRAME, str(shop.root)]
    ran = subprocess.run(command, capture_output=True, text=True, stdin=subprocess.DEVNULL)
    assert ran.returncode == 0, ran.stderr
    found = json.loads(ran.stdout.splitlines()[-1])
    assert found["code"] == 0 and found["drawn"] >= 5, "nothing was drawn before it was looked at"
    loaded = set(found["loaded"])
    assert "benchwalk.screens.bench" in loaded
    assert [name for name in NOT_YET if name in loaded] == []
    assert [name for name in NOT_YET_OURS if f"benchwalk.{name}" in loaded] == []


AT_THE_FIRST_STOP = """
import json, os, sys
os.environ["TEXTUAL_DRIVER"] = "textual.drivers.headless_driver:HeadlessDriver"
os.environ |= {"COLUMNS": "80", "LINES": "24"}  # else a screen of nothing is resized for ever
from benchwalk.cli import run
from benchwalk.screens import base
from textual.widget import Widget

seen = {"drawn": 0}
def drawn(self, crop, draw=Widget.render_lines):
    seen["drawn"] += 1
    return draw(self, crop)
def look(self):
    seen.setdefault("loaded", sorted(sys.modules))
    self.app.exit(0)
Widget.render_lines = drawn
base.Page.on_screen_resume = lambda self: self.when_drawn(lambda: look(self))
code = run(["--shop", sys.argv[1], "walk", "retie-snare-cords", "--practice", "--who", "tam"])
print(json.dumps({**seen, "code": code}))
"""


def test_first_stop_of_a_walk_loads_nothing_heavy(tmp_path: Path) -> None:
    """The first stop of a procedure that was walked before is drawn without its text being read and linked anew."""
    gone = {name for name in NOT_TO_WALK_OURS if f"benchwalk.{name}" not in modules()}
    assert gone == set(), "a part that was renamed slips out of this test"
    shop = fresh_shop(tmp_path)
    Library.of(shop.root).get("retie-snare-cords")
    command = [sys.executable, "-c", AT_THE_FIRST_STOP, str(shop.root)]
    ran = subprocess.run(command, capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=60)
    assert ran.returncode == 0, ran.stderr
    found = json.loads(next(line for line in ran.stdout.splitlines() if line.startswith("{")))
    assert found["code"] == 0 and found["drawn"] >= 5, "nothing was drawn before it was looked at"
    loaded = set(found["loaded"])
    assert "benchwalk.screens.walk" in loaded
    assert [name for name in NOT_TO_WALK if name in loaded] == []
    assert [name for name in NOT_TO_WALK_OURS if f"benchwalk.{name}" in loaded] == []
