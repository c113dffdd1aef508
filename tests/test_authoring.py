"""Writing procedures: edits that change just what they say, names, cures, the outline, and files kept safe."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchwalk.authoring.curing import cures, pasted
from benchwalk.authoring.draft import Draft
from benchwalk.authoring.edits import Edit, applied
from benchwalk.authoring.judging import judge
from benchwalk.authoring.naming import renamed
from benchwalk.authoring.offering import offered
from benchwalk.authoring.outline import outline
from benchwalk.authoring.preview import led_to, preview
from benchwalk.authoring.skeleton import skeleton
from benchwalk.authoring.spots import step_at, step_lines
from benchwalk.daybook.ink import text_of
from benchwalk.errors import Failure, Refused, UsageError
from benchwalk.procedure.showing import display_width
from benchwalk.procedure.tree import parse
from benchwalk.sums import compute
from walk_helpers import PROCEDURES, shipped

TEXT = skeleton("fit-a-gate")
FLAGSHIP = (PROCEDURES / "retie-snare-cords.yaml").read_text(encoding="utf-8")


def judged(text: str, *, walked: bool = False) -> list[tuple[str, str]]:
    """(rule, message) of what is wrong with a text."""
    found = judge(text, "x.yaml", lambda name: shipped(name), (), compute if walked else None).findings
    return [(f.rule, f.message) for f in found]


# --- edits ---


@given(st.text(alphabet="ab\n", min_size=1, max_size=40), st.data())
def test_an_edit_changes_its_span_and_nothing_else(text: str, data: st.DataObject) -> None:
    """Replacing a span by line and column is replacing it by offset."""
    first, last = sorted(data.draw(st.tuples(st.integers(0, len(text)), st.integers(0, len(text)))))
    put = data.draw(st.text(alphabet="xy\n", max_size=5))

    def spot(offset: int) -> tuple[int, int]:
        before = text[:offset]
        return before.count("\n"), len(before) - before.rfind("\n") - 1

    assert applied(text, [Edit(spot(first), spot(last), put)]) == text[:first] + put + text[last:]


# --- the skeleton ---


def test_new_procedure_is_clean_and_walked() -> None:
    """What a new procedure begins with has nothing wrong with it, and its examples walk every way."""
    assert judged(TEXT, walked=True) == []


@pytest.mark.parametrize("name", ["", "Fit", "fit a gate", "../gate", "fit_gate", "-gate"])
def test_wrong_id_is_refused(name: str) -> None:
    """A new procedure needs an id of small letters and hyphens."""
    with pytest.raises(Refused):
        skeleton(name)


# --- where steps stand ---


def test_every_line_of_the_flagship_belongs_to_its_step() -> None:
    """From its own line to the line before the next step a line belongs to a step; what stands elsewhere to none."""
    document = parse(FLAGSHIP, "x")
    lines = step_lines(document)
    assert len(lines) == len(shipped("retie-snare-cords").steps)
    for name, first, last in lines:
        assert document.lines[first].lstrip().startswith(f"- step: {name}")
        assert step_at(document, first) == step_at(document, last - 1) == name
    assert step_at(document, 0) is None and step_at(document, lines[-1][2]) is None


def test_steps_are_found_in_a_text_that_cannot_be_read_yet() -> None:
    """With a line half typed the steps above it are still known."""
    document = parse(TEXT.replace("record: [gap]", "record: [ga"), "x")
    assert step_at(document, TEXT[: TEXT.index("do: Lay")].count("\n")) == "measure"


# --- another name ---


def test_renamed_step_is_renamed_everywhere() -> None:
    """Every way, bound, range, wait and example that named the step names it anew, and nothing is wrong afterwards."""
    document = parse(FLAGSHIP, "x")
    for step in ("measure", "free-strainer", "senior-look", "refer"):
        text = applied(FLAGSHIP, renamed(document, step, "call-it-so"))
        errors = [m for _rule, m in judged(text, walked=step == "senior-look") if "call-it-so" in m or step in m]
        assert errors == [] and f"step: {step}\n" not in text
        back = applied(text, renamed(parse(text, "x"), "call-it-so", step))
        assert back == FLAGSHIP


@pytest.mark.parametrize("new", ["hand-back", "Hand Back", "", "a b"])
def test_name_that_will_not_do_is_refused(new: str) -> None:
    """A name that another step has, or that is none, is refused."""
    with pytest.raises(Refused):
        renamed(parse(TEXT, "x"), "measure", new)


# --- names offered ---


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("    go: ha", ["hand-back"]),
        ("      - {when: gap is within, because: x, go: as", ["ask-senior"]),
        ("    record: [", ["gap"]),
        ("      - {when: g", ["gap"]),
        ('    do: "Write {{ ', ["gap"]),
        ("    end: d", ["done"]),
        ("    wor", ["work_out"]),
        ("    show: kn", ["knot"]),
        ("    hold: {by: senior, s", ["signs"]),
        ("    wait: {fo", ["for"]),
        ("      - {when: gap is within, be", ["because"]),
    ],
)
def test_names_that_fit_are_offered(line: str, words: list[str]) -> None:
    """After a key that takes a name, the names that fit and go on from what is typed are offered."""
    lines = TEXT.split("\n")
    at = lines.index("    record: [gap]")
    lines[at] = line
    linked = judge(TEXT, "x", lambda name: None, ()).linked
    found = offered(lines, at, len(line), linked)
    assert found.words == words
    assert line[found.start :] in ("", "ha", "as", "g", "d", "wor", "kn", "s", "fo", "be")


# --- cures ---


def cured(text: str, rule: str) -> str:
    """The text after the first cure of a finding of that rule."""
    found = judge(text, "x", lambda name: None, ())
    finding = next(f for f in found.findings if f.rule == rule)
    (cure, *_more) = cures(finding, text.split("\n"), found.linked)
    return applied(text, cure.edits)


def test_missing_branch_is_put_in() -> None:
    """For a case that no branch takes a branch is put in behind the others; its reason is left to be worded."""
    text = TEXT.replace("      - {when: gap is above, because: The plate is too far, go: ask-senior}\n", "")
    assert [rule for rule, _ in judged(text)] == ["coverage"]
    after = cured(text, "coverage")
    assert [rule for rule, _ in judged(after)] == ["vague"]
    assert "      - {when: gap is above, because: Say why, go: ask-senior}\n" in after


def test_branch_that_is_put_in_leads_where_its_author_says() -> None:
    """What is put in can lead to any step, and says so; the rest of it stays."""
    text = TEXT.replace("      - {when: gap is above, because: The plate is too far, go: ask-senior}\n", "")
    found = judge(text, "x", lambda name: None, ())
    (cure, *_more) = cures(found.findings[0], text.split("\n"), found.linked)
    assert cure.leads == "ask-senior" and cure.to("hand-back").said == f"{cure.said}, to hand-back"
    after = applied(text, cure.to("hand-back").edits)
    assert after == applied(text, cure.edits).replace("Say why, go: ask-senior", "Say why, go: hand-back")


def test_name_that_is_nearly_one_is_mended() -> None:
    """A misspelt step is replaced by the one that was meant, and only there."""
    text = TEXT.replace("go: hand-back", "go: hand-bak")
    after = applied(text, cures_of(text)[0])
    assert after == TEXT


def cures_of(text: str) -> list[list[Edit]]:
    found = judge(text, "x", lambda name: None, ())
    return [cure.edits for f in found.findings for cure in cures(f, text.split("\n"), found.linked)]


def test_branch_that_is_never_taken_is_taken_out() -> None:
    """A branch that nothing leads to goes, with all its lines."""
    extra = "      - when: gap < 0 mm\n        because: never\n        go: ask-senior\n"
    text = TEXT.replace("  - step: ask-senior\n", extra + "  - step: ask-senior\n", 1)
    assert cured(text, "idle-branch") == TEXT


@pytest.mark.parametrize("ending", ["", "\n", "\n\n", "\n# the end\n"])
def test_examples_are_pasted_at_the_end_of_their_list(ending: str) -> None:
    """Pasted examples follow the last one, however the file ends."""
    text = TEXT.rstrip("\n") + ending
    after = applied(text, [pasted(text.split("\n"), "  - example: one more\n    given: {gap: 5}\n")])
    found = judge(after, "x", lambda name: None, ())
    assert found.linked is not None
    assert [e.example for e in found.linked.procedure.examples][-1] == "one more"
    assert after.startswith(text.rstrip("\n").removesuffix("# the end").rstrip("\n"))


# --- read aloud, and shown ---


def test_outline_reads_every_step_with_its_reasons() -> None:
    """The outline names each step in order, and under it what it asks and why it leads on."""
    linked = shipped("retie-snare-cords")
    rows = outline(linked, 60)
    steps = list(dict.fromkeys(row.step for row in rows if row.step))
    assert steps == list(linked.steps)
    text = "\n".join(text_of(row.words) for row in rows)
    for step in linked.procedure.steps:
        for branch in step.lines:
            if branch.because:
                assert branch.because.split()[0] in text
    assert all(display_width(text_of(row.words)) <= 60 for row in rows)


@pytest.mark.parametrize("name", ["tie-one-side", pytest.param("retie-snare-cords", marks=pytest.mark.heavy)])
def test_every_step_with_an_example_is_shown_as_in_a_walk(name: str) -> None:
    """Wherever an example leads, the page of the walk is shown; the examples lead to every step."""
    linked = shipped(name)
    for name, step in linked.steps.items():
        lines = [text_of(row) for row in preview(linked, name, compute)]
        if step.do and "{{" not in step.do:
            assert any(step.do[:20] in row for row in lines), name
        assert not any("No example comes" in row for row in lines) or (step.run is None and not step.do), name


def test_step_without_an_example_says_so() -> None:
    """A step no example comes to is not shown, and a sentence says why."""
    linked = judge(
        TEXT.split("examples:")[0].replace("given: {gap: 4}", "given: {gap: 9}"), "x", lambda n: None, ()
    ).linked
    assert linked is not None
    assert led_to(linked, "hand-back", compute) is None
    assert "No example comes to 'hand-back'" in text_of(preview(linked, "hand-back", compute)[0])


# --- the file ---


def test_saving_changes_nothing_but_what_was_written(tmp_path: Path) -> None:
    """A file saved as it was read is the same to the byte: comments, blank lines, line ends, no final line end."""
    path = tmp_path / "a.yaml"
    data = b"# mine\r\nprocedure: a   # so\r\n\r\ntitle:   A\r\nx: 1"
    path.write_bytes(data)
    draft = Draft.open(path)
    draft.save(draft.saved)
    assert path.read_bytes() == data


def test_file_written_elsewhere_is_noticed(tmp_path: Path) -> None:
    """What another program writes is seen, and read anew when asked for."""
    path = tmp_path / "a.yaml"
    path.write_text("one", encoding="utf-8")
    draft = Draft.open(path)
    assert not draft.changed_outside()
    path.write_text("two", encoding="utf-8")
    assert draft.changed_outside() and draft.read_again() == "two" and not draft.changed_outside()


def test_file_that_cannot_be_saved_stays_as_it_was(tmp_path: Path) -> None:
    """Where saving fails one sentence says so, and the old text is still there."""
    folder = tmp_path / "shut"
    folder.mkdir()
    path = folder / "a.yaml"
    path.write_text("one", encoding="utf-8")
    draft = Draft.open(path)
    beside = folder / f".a.yaml.{os.getpid()}.new"
    beside.mkdir()  # the place of the new text is taken
    with pytest.raises(Failure, match="not saved"):
        draft.save("two")
    assert path.read_text(encoding="utf-8") == "one" and draft.saved == "one"


@pytest.mark.parametrize("data", [b"\xff\xfe\x00", b"procedure: \xe9\n"])
def test_file_that_is_no_text_is_refused(tmp_path: Path, data: bytes) -> None:
    """Bytes that are not UTF-8 are refused with the line they stand in, and nothing is changed."""
    path = tmp_path / "a.yaml"
    path.write_bytes(data)
    with pytest.raises(UsageError, match="line 1 is not UTF-8"):
        Draft.open(path)
    assert path.read_bytes() == data
