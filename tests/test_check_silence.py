"""`allow: {RULE: why}`: advice silenced in place with a reason, and silences that are none."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import grammar_page
from benchwalk.procedure.advice import ADVICE
from benchwalk.procedure.findings import Finding
from benchwalk.procedure.yaml_table import ADVICE as TRAPS
from benchwalk.proof import rules
from benchwalk.proof.check import check_file
from benchwalk.proof.manual import described
from benchwalk.sums import compute
from samples import KNOWN, findings, other, whole

TWO = """
readings:
  old: {ask: The old gap, unit: mmALLOW_READING}
steps:
  - step: one
    do: Adjust the knob.
ALLOW_STEP
  - step: two
    do: Adjust the lever.
    end: done
ALLOW_TOP
"""


def all_of_two(step: str = "", top: str = "", reading: str = "") -> list[Finding]:
    """What is found in two steps that are each too vague, and a reading nobody uses, with silences put in."""
    piece = TWO.replace("ALLOW_STEP", f"    allow: {step}" if step else "")
    piece = piece.replace("ALLOW_TOP", f"allow: {top}" if top else "")
    return findings(piece.replace("ALLOW_READING", f", allow: {reading}" if reading else ""))


def two(**silences: str) -> list[str]:
    """The same in short."""
    return [f"{f.pos.line} {f.rule} {f.severity}" for f in all_of_two(**silences)]


BARE = ["3 unused advice", "6 vague advice", "9 vague advice"]


def test_without_a_silence_all_is_told() -> None:
    """The sample has three pieces of advice, so that the tests below silence something."""
    assert two() == BARE


def test_silence_in_a_step_reaches_that_step_only() -> None:
    """The step's own advice is gone, the next step's of the same rule and other rules stay."""
    assert two(step="{vague: It is a trial}") == ["3 unused advice", "9 vague advice"]


def test_silence_at_the_top_reaches_the_whole_file() -> None:
    """Advice of that rule is gone wherever it stood; other rules stay."""
    assert two(top="{vague: It is a trial}") == ["3 unused advice"]
    assert two(top="{vague: It is a trial, unused: It is kept for the record}") == []


def test_silence_in_a_reading_reaches_that_reading() -> None:
    """What is told of the reading, even at its key, is reached from inside it; another rule's silence is idle there."""
    assert two(reading="{unused: It is kept for the record}") == ["6 vague advice", "9 vague advice"]
    assert two(reading="{vague: It is a trial}") == ["3 unused advice", "3 allow advice", *BARE[1:]]


def test_the_innermost_silence_is_the_one_that_is_used() -> None:
    """A silence at the top that a step's own leaves nothing is told as idle."""
    assert two(step="{vague: It is a trial}", top="{vague: It is a trial}") == ["3 unused advice"]
    piece = """
steps:
  - step: one
    do: Adjust the knob.
    allow: {vague: It is a trial}
    end: done
allow:
  vague: It is a trial
"""
    (idle,) = findings(piece)
    assert (idle.rule, idle.severity, idle.pos.line) == ("allow", "advice", 8)
    assert idle.message == "no advice of 'vague' is given here, so nothing is silenced; take the silence out"


def test_silence_in_a_finding_and_in_flow_style() -> None:
    """A finding's proposal is silenced inside the finding, and steps on one line are kept apart."""
    piece = """
findings: {a: {found: It is so., grade: ok, proposes: [no-such], allow: {unused: Kept, unknown-proposal: Made}}}
steps: [{step: one, do: Adjust it., allow: {vague: A trial}}, {step: two, do: Adjust it., end: done}]
"""
    assert [(f.rule, f.pos.line, f.pos.column) for f in findings(piece)] == [("vague", 3, 79)]


def test_last_step_does_not_reach_into_what_follows_the_steps() -> None:
    """A silence of the last step ends with it, though the next key of the file stands below."""
    piece = """
steps:
  - step: one
    do: Turn the knob by half a turn.
    allow: {unused: It is a trial}
    end: done
limits:
  spare: {is: 1 mm, sure: C, whose: the shop, because: It is so}
"""
    assert [(f.rule, f.pos.line) for f in findings(piece)] == [("allow", 5), ("unused", 8)]


def test_errors_are_never_silenced() -> None:
    """A rule that tells both is silenced for its advice only; one that tells errors only cannot be named."""
    piece = """
hazards:
  - caution: {hazard: The knife slips, consequence: A cut hand, avoid: Cut away from the hand}
steps:
  - step: one
    do: Warm the celluloid over a candle.
    allow: {hazard: We know what we do}
  - step: two
    do: Look at the celluloid.
    allow: {hazard: We know what we do, unreachable: It is not}
    end: done
"""
    found = [(f.rule, f.severity, f.pos.line) for f in findings(piece)]
    assert found == [("hazard", "error", 6), ("allow", "error", 10)]


@pytest.mark.parametrize("reason", ["", "~", '""', '"  "', "[a, b]", "{a: b}"])
def test_silence_without_a_reason_is_an_error_and_silences_nothing(reason: str) -> None:
    """Nothing, blanks, a list or keys are no reason: the advice stays and the silence is told, once."""
    found = two(step=f"\n      vague: {reason}")
    assert found == ["3 unused advice", "6 vague advice", "8 allow error", "10 vague advice"]


@pytest.mark.parametrize("whole_value", ["vague", "[vague]", "~"])
def test_silence_that_is_no_pair_is_told_with_how_it_is_written(whole_value: str) -> None:
    """`allow: vague` and a list say no reason; the error names both parts that are wanted."""
    (found,) = [f for f in all_of_two(step=whole_value) if f.severity == "error"]
    assert found.rule == "shape" and found.message.endswith(
        "allow takes the rule and the reason, as in too-long: why it may stand"
    )


def test_idle_silence_waits_for_errors_and_for_rules_that_were_asked() -> None:
    """Nothing is called idle while an error stands, nor of a rule that the caller did not ask."""
    piece = "steps:\n  - step: one\n    do: Turn it.\n    allow: {vague: A trial}\n    end: done\n"
    assert [f.rule for f in findings(piece)] == ["allow"]
    assert {f.rule for f in findings(piece.replace("end: done", "go: nowhere"))} == {"unknown-step"}
    asked = (
        "steps:\n  - {step: one, do: Turn it., end: {as: done, proposes: [sample]}}\nexamples: [{example: all}]\n"
        "allow: {unknown-proposal: Later, unwalked: Later}\n"
    )
    data = whole(asked).encode()
    assert [f.rule for f in check_file(data, "x.yaml", other)] == []
    both = check_file(data, "x.yaml", other, known=KNOWN, compute=compute)
    assert [f.message[:32] for f in both] == ["no advice of 'unknown-proposal' ", "no advice of 'unwalked' is given"]


def test_list_of_advice_is_what_the_rules_can_tell() -> None:
    """The list of what can be silenced names exactly the rules that give advice somewhere, and all of them exist."""
    telling = {
        path.stem.replace("_", "-")
        for path in Path(rules.__file__).parent.glob("*.py")
        if any(_is_advice(node) for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))))
    }
    assert telling - {"allow"} | TRAPS == ADVICE
    assert set(described()) >= ADVICE


def _is_advice(node: ast.AST) -> bool:
    """Whether this hands a severity on that can be advice: the word itself, or that of a row of a table."""
    if not isinstance(node, ast.keyword) or node.arg != "severity":
        return False
    return not isinstance(node.value, ast.Constant) or node.value.value == "advice"


def test_silence_of_the_page_silences_and_is_needed() -> None:
    """The page's own silence leaves its part without advice; without the silence there is just that advice."""
    (part,) = [block.text for block in grammar_page.blocks() if "allow: {one-action" in block.text]
    made = grammar_page.spliced(part)
    assert [f.message for f in grammar_page.findings(made, walked=True) if f.rule != "unwalked"] == []
    bare = "".join(line for line in made.splitlines(keepends=True) if "allow: {one-action" not in line)
    assert [f.rule for f in grammar_page.findings(bare)] == ["one-action"]


def test_advice_of_the_text_itself_can_be_silenced() -> None:
    """What the reader of YAML advises is silenced like the rest."""
    piece = "steps:\n  - step: one\n    do: Turn it.\n    end: {as: done, say: yes}\nALLOW"
    assert [f.rule for f in findings(piece.replace("ALLOW", ""))] == ["yaml-truth-word"]
    assert findings(piece.replace("ALLOW", "allow: {yaml-truth-word: No other reader sees it}\n")) == []
