"""The manual of the rules: its samples are run, and docs/rules.md is what the rules say of themselves."""

from __future__ import annotations

import ast
import re
import sys

import pytest

from benchwalk.procedure.traps import TRAPS
from benchwalk.proof import rules
from benchwalk.proof.manual import WHILE_READING, Page, manual, page_of, pages
from benchwalk.proof.rules import ASKED, RULES
from house import PACKAGE, ROOT, modules, parsed
from samples import check

PAGES = pages()


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.id)
def test_failing_sample_gives_what_the_page_says(page: Page) -> None:
    """The first sample of each page gives exactly the findings printed below it, its own rule among them."""
    assert tuple(check(page.wrong)) == page.says
    assert any(line.endswith(f"[{page.id}]") for line in page.says)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.id)
def test_passing_sample_gives_nothing(page: Page) -> None:
    """The second sample of each page has no finding of any rule."""
    assert check(page.right) == []


def test_manual_is_current() -> None:
    """docs/rules.md is made from the docstrings as they are now; proof/manual.py says how to make it anew."""
    assert (ROOT / "docs" / "rules.md").read_text(encoding="utf-8") == manual()


def test_every_rule_module_is_run_and_has_a_page() -> None:
    """A module of the rules that is in no table would be a rule nobody runs."""
    written = {name.rpartition(".")[2] for name in modules() if name.startswith("benchwalk.proof.rules.")}
    run = {rule.__module__.rpartition(".")[2] for rule in (*RULES.values(), *(asked.check for asked in ASKED))}
    assert written == run
    assert len({page.id for page in PAGES}) == len(written)
    for page in PAGES:
        module = sys.modules[f"{rules.__name__}.{page.id.replace('-', '_')}"]
        assert page.id == module.ID


def test_every_rule_found_while_reading_is_listed() -> None:
    """Each rule id that reading and linking use is in the manual, and none is listed that they do not use."""
    used: set[str] = set()
    for path in sorted((PACKAGE / "procedure").glob("*.py")):
        for node in ast.walk(parsed(path)):
            if isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant):
                called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
                if called in ("say", "Finding") and isinstance(node.args[0].value, str):
                    used.add(node.args[0].value)
    assert {rule for rule in used if not rule.startswith("yaml-")} == set(WHILE_READING)
    assert all(f"`{rule}`" in manual() for rule in TRAPS)


def test_a_page_without_its_parts_is_refused() -> None:
    """A docstring that lacks a sample is no page."""
    with pytest.raises(ValueError, match="lame"):
        page_of("lame", "A title.\n\nText.\n\nWrong:\n\n    a: b\n")


def test_rule_modules_stay_small() -> None:
    """A rule is short enough to be read whole: at most 220 lines with its page."""
    long = {
        path.name: lines
        for path in (PACKAGE / "proof" / "rules").glob("*.py")
        if (lines := len(path.read_text(encoding="utf-8").splitlines())) > 220
    }
    assert long == {}


def test_says_lines_are_read_whole() -> None:
    """A sentence that is broken over two lines of a page is one sentence."""
    assert all(re.match(r"\d+:\d+: .*\[[a-z-]+\]\Z", line) for page in PAGES for line in page.says)
