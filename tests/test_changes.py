"""What changed between two texts of a procedure: everything that counts is told, in order, and nothing else is."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from benchwalk.changes import GROUPS, Change, as_data, as_lines, compare
from benchwalk.changes.comparing import APART as APART_WHOLE
from benchwalk.changes.comparing import WHOLE
from benchwalk.changes.data import EVENT, FINDING, READING
from benchwalk.changes.matching import moved
from benchwalk.changes.parts import plain
from benchwalk.changes.steps import APART, FIELDS
from benchwalk.data import shipped_procedures
from benchwalk.library import Library
from benchwalk.procedure import model
from benchwalk.procedure.linked import Linked
from benchwalk.procedure.linking import link
from benchwalk.procedure.parts import FindingDef, Reading
from benchwalk.procedure.read import keys_of, read
from benchwalk.procedure.showing import display_width, safe_text
from house import some
from shop_helpers import SENIOR, Clock, approve_for, begin, command, fresh_shop
from test_draw_page import big

SHIPPED = sorted(shipped_procedures())
HEAD = """
procedure: tie
title: Tie a cord
revision: 2
for: [snare drum]
purpose: The cord holds.
needs: {tools: [drum key, steel rule], parts: none, supplies: [snare cord], before: none}
hazards: {none_found_by: senior}
time: 5 min
sources: none
"""
TIE = (
    HEAD
    + """
limits: {least_gap: {is: 1 mm, sure: C, whose: the shop, because: It must clear}}
readings:
  gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 9, wanted: at least 2}
  lie: {ask: How do the snares lie?, choices: {all: All touch, some: Some lift}, wanted: all}
sums: {apart: {use: difference, with: {a: gap, b: least_gap}}}
findings: {too-near: {found: The plate is too near., grade: watch, evidence: [gap]}}
whenever:
  - {event: slips, say: The cord slips, during: [measure], go: leave}
steps:
  - step: lay-down
    stage: {id: begin, title: Begin}
    do: Lay the drum on its pad, snare side up.
  - step: measure
    caution: {hazard: Strand ends stab, consequence: Pricked fingers, avoid: Glasses on}
    do: Measure from the plate to the hoop.
    record: [gap, lie]
    work_out: [apart]
    entered: {at_most: 3, then: leave}
    branches:
      - {when: gap < least_gap, because: Too near, find: too-near, go: loosen-cord}
      - {when: otherwise, because: "Clear by {{ gap }}", go: look}
  - step: loosen-cord
    do: Let a little cord out at the clamp.
    go: measure
  - step: look
    hold: {by: senior, signs: checked, covers: [gap], because: It comes back}
    branches:
      - {when: hold is released, because: Good, go: done}
      - {when: hold is refused, because: Not good, go: measure}
  - step: done
    end: done
  - step: leave
    end: {as: stopped, say: It waits.}
examples:
  - {example: at once, given: {gap: 3, lie: all}, acts: {look: released}}
"""
)


def made(text: str, name: str = "tie.yaml") -> Linked:
    """A procedure out of its text; what it runs is taken from those that are shipped."""
    found = link(read(text.encode(), name), Library.of().find)
    assert found is not None, [f.message for f in read(text.encode(), name).findings]
    return found


def but(*swaps: tuple[str, str]) -> str:
    """The procedure with these texts swapped, each of which stands there."""
    text = TIE
    for old, new in swaps:
        assert old in text, old
        text = text.replace(old, new)
    return text


def told(*swaps: tuple[str, str]) -> list[Change]:
    """What is told of the procedure with these texts swapped."""
    return compare(made(TIE), made(but(*swaps)))


def only(*swaps: tuple[str, str]) -> tuple[str, str, str, str, str]:
    """The one change that is told: group, where, what, old, new."""
    [change] = told(*swaps)
    return change[:5]


# --- what is nothing -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", some(SHIPPED))
def test_layout_and_comments_are_nothing(name: str) -> None:
    """A procedure written in another layout, its keys in another order and without comments, has no changes."""
    text = shipped_procedures()[name].read_text(encoding="utf-8")
    tree = yaml.load(text, Loader=yaml.BaseLoader)
    again = yaml.safe_dump(tree, sort_keys=True, width=60, allow_unicode=True)
    assert again != text
    assert compare(made(text), made(again)) == []


def test_nothing_is_said_of_a_comment_and_of_blanks() -> None:
    """A comment, a folded line and other blanks are no change, and the command says so with exit code 0."""
    text = but(
        (
            "    do: Let a little cord out at the clamp.",
            "    # why not\n    do: >-\n      Let a little\n      cord out at the clamp.",
        )
    )
    assert compare(made(TIE), made(text)) == []


# --- each kind of change ---------------------------------------------------------------------------------------------


def test_limit_that_was_moved_says_from_and_to_and_where_it_counts() -> None:
    """A limit is told with its old and new value, and where it decides."""
    what = "the limit was moved; it counts at measure, in the sums apart"
    assert only(("is: 1 mm", "is: 1.5 mm")) == ("limits", "least gap", what, "1 mm", "1.5 mm")


def test_limit_written_otherwise_is_no_other_limit() -> None:
    """The same value in other words is told apart from a moved limit."""
    group, _where, what, old, new = only(("is: 1 mm", "is: 0.1 cm"))
    assert (group, what, old, new) == ("other", "the limit is written otherwise, and is the same", "1 mm", "0.1 cm")


def test_wanted_and_possible_say_from_and_to() -> None:
    """Ranges are told from and to, with their unit."""
    assert only(("wanted: at least 2", "wanted: 2 .. 5"))[2:] == (
        "what is wanted changed",
        "at least 2 mm",
        "2 to 5 mm",
    )
    assert only(("possible: 0 .. 9", "possible: -3 .. 9"))[2:] == (
        "what is possible changed",
        "0 to 9 mm",
        "-3 to 9 mm",
    )
    assert only(("wanted: all", "wanted: [all, some]"))[3:] == ("All touch", "All touch, Some lift")


def test_hazards_added_taken_away_and_changed() -> None:
    """Hazards are told first, with their signal words, old and new."""
    caution = "caution: {hazard: Strand ends stab, consequence: Pricked fingers, avoid: Glasses on}"
    assert only((f"    {caution}\n", ""))[:3] == ("hazards", "measure", "a hazard was taken away")
    assert only(("Glasses on", "Glasses and gloves on"))[4].endswith("Avoid it: Glasses and gloves on.")
    assert only((f"    {caution}", f"    {caution.replace('caution', 'warning')}"))[2] == (
        "a hazard that was caution is warning now"
    )
    new = "    notice: {hazard: Screws shear, avoid: Stop at firm}\n    do: Let a"
    assert only(("    do: Let a", new))[2:] == (
        "a hazard was added",
        "",
        "NOTICE: Screws shear. Avoid it: Stop at firm.",
    )
    assert told(("{none_found_by: senior}", "[{caution: {hazard: A knife, consequence: Cuts, avoid: Gloves}}]"))[0][
        :3
    ] == (
        "hazards",
        "the whole work",
        "a hazard was added",
    )


def test_step_added_and_taken_away_and_where_it_stood() -> None:
    """A step that came or went is told with what it says and where it stands; what follows it is not told again."""
    added = "  - step: wipe\n    do: Wipe the film dry.\n  - step: measure\n"
    assert only(("  - step: measure\n", added)) == (
        "steps",
        "wipe",
        "a step was added",
        "",
        "Wipe the film dry. It stands after lay down.",
    )
    first = (
        "  - step: lay-down\n    stage: {id: begin, title: Begin}\n    do: Lay the drum on its pad, snare side up.\n"
    )
    assert told((first, ""))[0][:4] == (
        "steps",
        "lay down",
        "the step was taken away",
        "Lay the drum on its pad, snare side up. It stood at the beginning.",
    )


def test_step_renamed_is_one_change_wherever_it_is_named() -> None:
    """A step with another name is told once, and ways that lead to it do not lead elsewhere."""
    assert only(("loosen-cord", "let-out")) == (
        "steps",
        "let out",
        "the step has another name",
        "loosen cord",
        "let out",
    )


def test_reading_renamed_is_one_change_wherever_it_is_named() -> None:
    """A reading with another name is told once: conditions, texts, sums, looks and examples name the same thing."""
    swaps = [("gap: {ask", "room_gap: {ask"), ("[gap, lie]", "[room_gap, lie]"), ("a: gap", "a: room_gap")]
    swaps += [("evidence: [gap]", "evidence: [room_gap]"), ("gap < least", "room_gap < least")]
    swaps += [("{{ gap }}", "{{ room_gap }}"), ("covers: [gap]", "covers: [room_gap]"), ("{gap: 3", "{room_gap: 3")]
    assert only(*swaps)[:3] == ("asked", "room gap", "the reading has another name")


def test_step_moved_says_from_where_to_where() -> None:
    """A step in another place is told as moved, and only that one."""
    loosen = "  - step: loosen-cord\n    do: Let a little cord out at the clamp.\n    go: measure\n"
    moved_text = TIE.replace(loosen, "").replace("  - step: done\n", loosen + "  - step: done\n")
    [change] = compare(made(TIE), made(moved_text))
    assert change[:5] == ("steps", "loosen cord", "the step was moved", "after measure", "after look")


def test_branches_re_led_bounded_added_and_taken_away() -> None:
    """Ways that lead elsewhere, are bounded or are taken otherwise are told by their reasons."""
    assert only(("find: too-near, go: loosen-cord", "find: too-near, go: leave")) == (
        "leads",
        "measure",
        "'Too near' leads elsewhere",
        "to loosen cord",
        "to leave",
    )
    assert only(("go: loosen-cord}", "go: loosen-cord, at_most: 2, then: leave}"))[2:] == (
        "'Too near' is bounded otherwise",
        "loosen cord",
        "loosen cord, at most twice, then leave",
    )
    assert only(("when: gap < least_gap", "when: gap <= least_gap"))[2:] == (
        "'Too near' is taken in other cases",
        "gap < least_gap",
        "gap <= least_gap",
    )
    line = "      - {when: hold is refused, because: Not good, go: measure}\n"
    assert only((line, ""))[2:] == ("the way 'Not good' was taken away", "to measure, where hold is refused", "")
    assert only((line, line + line.replace("refused,", "refused for gap,").replace("Not good", "The gap")))[2] == (
        "the way 'The gap' was added"
    )
    assert only(("at_most: 3, then: leave", "at_most: 4, then: leave"))[2:] == (
        "how often it may be come to changed",
        "at most 3 times, then leave",
        "at most 4 times, then leave",
    )
    assert only(("    go: measure\n", "    go: look\n"))[2:] == ("it leads elsewhere", "to measure", "to look")


def test_order_of_first_of_counts_and_that_of_branches_does_not_change_cases() -> None:
    """Ways that are looked at in another order are told where the first that fits is taken."""
    one = "      - {when: gap < least_gap, because: Too near, find: too-near, go: loosen-cord}\n"
    other = "      - {when: gap > 5 mm, because: Far off, go: look}\n"
    before = made(but(("branches:\n" + one, "first_of:\n" + one + other)))
    after = made(but(("branches:\n" + one, "first_of:\n" + other + one)))
    [change] = compare(before, after)
    assert change.what == "the order in which the ways on are looked at changed" and "now in place" in change.new


def test_texts_are_told_old_and_new() -> None:
    """An action, an expectation and a reason are told as they were and as they are."""
    assert only(("Let a little cord out at the clamp.", "Let some cord out at the clamp."))[2:] == (
        "the action reads otherwise",
        "Let a little cord out at the clamp.",
        "Let some cord out at the clamp.",
    )
    assert only(("because: Too near", "because: It rides on the hoop"))[0] == "texts"
    assert only(("title: Tie a cord", "title: Tie the cord")) == (
        "texts",
        "the whole work",
        "the title reads otherwise",
        "Tie a cord",
        "Tie the cord",
    )


def test_people_needs_sums_findings_events_and_examples() -> None:
    """Who must look, what is at hand, sums, findings, what may happen and examples each have their words."""
    assert only(("by: senior, signs", "by: owner, signs"))[:3] == ("looks", "look", "the look of somebody else changed")
    assert [c[:5] for c in told(("[drum key, steel rule]", "[drum key, feelers]"))] == [
        ("at hand", "tools", "no longer needed", "steel rule", ""),
        ("at hand", "tools", "needed now also", "", "feelers"),
    ]
    assert only(("b: least_gap", "b: 2 mm"))[:3] == ("sums", "apart", "the sum changed")
    assert only(("grade: watch", "grade: refer"))[2:] == ("its grade changed", "watch", "refer")
    assert only(("during: [measure]", "during: [measure, look]"))[2:] == (
        "where it may happen changed",
        "measure",
        "measure, look",
    )
    assert only(("{gap: 3, lie: all}", "{gap: 4, lie: all}"))[:3] == ("other", "at once", "the example's given changed")
    assert only(("record: [gap, lie]", "record: [lie, gap]"))[0] == "asked"
    assert only(("revision: 2", "revision: 3"))[2:] == ("the revision changed", "2", "3")
    assert only(("as: stopped, say: It waits.", "as: referred, say: It waits."))[2:] == (
        "how it ends changed",
        "ends stopped",
        "ends referred",
    )


def test_what_it_runs_changed() -> None:
    """Where a procedure that is run says something else, that is told, though this file says what it said."""
    inner = shipped_procedures()["tie-one-side"].read_text(encoding="utf-8")
    outer = shipped_procedures()["retie-snare-cords"].read_bytes()
    changed = made(inner.replace("revision: 1", "revision: 2").replace("time: 5 min", "time: 6 min"))
    find = Library.of().find
    one = link(read(outer, "outer.yaml"), find)
    other = link(read(outer, "outer.yaml"), lambda name: changed if name == "tie-one-side" else find(name))
    assert one is not None and other is not None
    [change] = compare(one, other)
    assert change[1:5] == (
        "tie one side",
        "what it runs changed too; look at the changes of that procedure",
        "revision 1",
        "revision 2",
    )


def test_hands_come_first() -> None:
    """Whatever changed is told in the order of the groups, hazards first and examples last."""
    changes = told(
        ("title: Tie a cord", "title: Tie it"),
        ("is: 1 mm", "is: 2 mm"),
        ("Glasses on", "Gloves on"),
        ("Let a little", "Let some"),
        ("find: too-near, go: loosen-cord", "find: too-near, go: leave"),
        ("gap: 3,", "gap: 4,"),
    )
    assert [change.group for change in changes] == ["hazards", "steps", "leads", "limits", "texts", "other"]
    assert [*dict.fromkeys(GROUPS)] == [*GROUPS]


# --- nothing goes untold ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("part", "known"),
    [
        (model.Step, {*FIELDS, *APART}),
        (model.Procedure, {*WHOLE, *APART_WHOLE}),
        (Reading, {*READING, "wanted", "possible"}),
        (model.Whenever, {*EVENT, "event"}),
        (FindingDef, set(FINDING)),
    ],
)
def test_every_key_is_compared(part: type[Any], known: set[str]) -> None:
    """A key that is added to the grammar has to be given its words here."""
    assert set(keys_of(part)) == known


@cache
def tree_of(name: str) -> Any:
    return yaml.load(shipped_procedures()[name].read_text(encoding="utf-8"), Loader=yaml.BaseLoader)


def spots(node: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The path of every text in a tree."""
    if isinstance(node, str):
        yield path
        return
    for key, each in node.items() if isinstance(node, dict) else enumerate(node):
        yield from spots(each, (*path, key))


def with_other(node: Any, path: tuple[Any, ...], value: Any) -> Any:
    """The tree with another value at that path."""
    if not path:
        return value
    copy = dict(node) if isinstance(node, dict) else list(node)
    copy[path[0]] = with_other(node[path[0]], path[1:], value)
    return copy


def linked_tree(tree: Any) -> Linked | None:
    source = read(yaml.safe_dump(tree, sort_keys=False, width=1000, allow_unicode=True).encode(), "x.yaml")
    return link(source, Library.of().find)


@pytest.mark.parametrize("seed", range(24))
def test_no_change_goes_untold(seed: int) -> None:
    """Whatever text of a procedure is replaced by another that can stand there, something is told of it."""
    chance = random.Random(seed)
    name = chance.choice(SHIPPED)
    tree = tree_of(name)
    before = linked_tree(tree)
    assert before is not None
    places = list(spots(tree))
    for _ in range(40):
        path = chance.choice(places)
        twin = chance.choice([other for other in places if other[-1] == path[-1]])
        value: Any = tree
        for key in twin:
            value = value[key]
        after = linked_tree(with_other(tree, path, value))
        if after is not None and after.content != before.content:
            found = compare(before, after)
            assert found and all(change.what for change in found), (path, value)
            assert [c.what for c in found] != ["it is written otherwise, and says the same"] or "hazards" in path, path
            return
    pytest.fail("nothing could be replaced")


@pytest.mark.parametrize("seed", range(12))
def test_steps_in_another_order_are_all_told(seed: int) -> None:
    """Steps that are taken away, doubled up or put elsewhere at random are told, and never raise."""
    chance = random.Random(seed)
    tree = tree_of(chance.choice(SHIPPED))
    before = linked_tree(tree)
    steps = list(tree["steps"])
    for _ in range(chance.randint(1, 6)):
        step = steps.pop(chance.randrange(len(steps)))
        if chance.random() < 0.7:
            steps.insert(chance.randrange(len(steps) + 1), step)
    after = linked_tree({**tree, "steps": steps})
    assert before is not None and after is not None
    changes = compare(before, after)
    assert bool(changes) == (before.content != after.content)
    gone = {step["step"] for step in tree["steps"]} - {step["step"] for step in steps}
    assert sum(change.what == "the step was taken away" for change in changes) == len(gone)


def test_moved_is_the_fewest() -> None:
    """What counts as moved is as little as can be, and nothing where the order is the same."""
    assert moved("abcde", "abcde") == set()
    assert moved("abcde", "bcdea") == {"a"}
    assert len(moved("abcde", "edcba")) == 4
    assert moved("abcd", "acxbd") in ({"b"}, {"c"})


def test_plain_has_no_layout_in_it() -> None:
    """A part as plain values has its texts on one line and nothing for keys that were left out."""
    step = model.Step.of({"step": "a", "do": "Two\n  lines  here."})
    assert plain(step) == {"step": "a", "do": "Two lines here."}


# --- told and as data ------------------------------------------------------------------------------------------------

HOSTILE = "\x1b[2Jgone \u202eturned\u200b <script>&amp;</script> " + "w" * 300


def test_lines_fit_and_nothing_acts() -> None:
    """Lines are at most 80 cells wide, with nothing in them that could act on a terminal."""
    old, new = made(TIE), made(but(("Let a little cord out at the clamp.", "Changed.")))
    step = new.procedure.steps[2].but(do=HOSTILE)
    new.steps["loosen-cord"] = step
    new.procedure = new.procedure.but(steps=[*new.procedure.steps[:2], step, *new.procedure.steps[3:]], title=HOSTILE)
    lines = list(as_lines(old, new, compare(old, new)))
    assert all(display_width(line) <= 80 and safe_text(line) == line for line in lines)
    assert "w" * 300 in "".join(line.strip() for line in lines)


def test_unraised_revision_is_said() -> None:
    """Where the text says something else under the same revision, the last line says to raise it."""
    old = made(TIE)
    same = made(but(("is: 1 mm", "is: 2 mm")))
    raised = made(but(("is: 1 mm", "is: 2 mm"), ("revision: 2", "revision: 3")))
    assert "raise it before it is used" in "\n".join(as_lines(old, same, compare(old, same))).replace("\n  ", " ")
    assert "raise it" not in "\n".join(as_lines(old, raised, compare(old, raised)))


def test_data_has_the_lines_of_both_files() -> None:
    """As data each change has its group, old and new, and the lines it stands at."""
    old, new = made(TIE, "a.yaml"), made("# one more line\n" + but(("is: 1 mm", "is: 2 mm")), "b.yaml")
    data = as_data(old, new, compare(old, new))
    [change] = data["changes"]
    assert (data["old"]["file"], data["new"]["file"], data["same"]) == ("a.yaml", "b.yaml", False)
    assert change["old"] == "1 mm" and change["new"] == "2 mm" and change["new_line"] == change["old_line"] + 1
    assert json.loads(json.dumps(data)) == data


def test_five_hundred_steps_all_renamed_are_compared() -> None:
    """A procedure of 500 steps, each of which has another name, is compared step by step."""
    text = big(500).decode()
    old, new = made(text, "a.yaml"), made(text.replace("step-", "stop-"), "b.yaml")
    changes = compare(old, new)
    assert sum(change.what == "the step has another name" for change in changes) >= 499
    assert not any(change.group == "leads" for change in changes)


# --- the command -----------------------------------------------------------------------------------------------------


@pytest.fixture
def files(tmp_path: Path) -> tuple[Path, Path]:
    """The procedure before and after."""
    old, new = tmp_path / "old.yaml", tmp_path / "new.yaml"
    old.write_text(TIE, encoding="utf-8")
    new.write_text(but(("is: 1 mm", "is: 2 mm")), encoding="utf-8")
    return old, new


def test_command_tells_and_its_exit_code_says_whether_there_is_anything(files: tuple[Path, Path]) -> None:
    """`changes` exits with 1 where something changed and with 0 where nothing did, as text and as JSON."""
    old, new = files
    ran = command("changes", old, new)
    assert ran.returncode == 1 and "was: 1 mm\n      now: 2 mm\n" in ran.stdout and ran.stderr == ""
    assert command("changes", old, old).returncode == 0
    assert "Nothing changed" in command("changes", old, old).stdout
    as_json = command("changes", old, new, "--json")
    assert as_json.returncode == 1 and json.loads(as_json.stdout)["changes"][0]["new"] == "2 mm"


def test_command_refuses_what_it_cannot_compare(files: tuple[Path, Path], tmp_path: Path) -> None:
    """One text without --approved, two with it, a missing file and one without shape are each told in a sentence."""
    old, new = files
    assert command("changes", old).returncode == 2
    assert command("changes", old, new, "--approved").returncode == 2
    assert command("changes", old, tmp_path / "none.yaml").returncode == 2
    (tmp_path / "odd.yaml").write_text("steps: [", encoding="utf-8")
    ran = command("changes", old, tmp_path / "odd.yaml")
    assert ran.returncode == 1 and "odd.yaml:1:" in ran.stderr and "Traceback" not in ran.stderr


def test_command_compares_a_draft_that_is_not_sound(files: tuple[Path, Path], tmp_path: Path) -> None:
    """A draft whose names do not fit yet is compared all the same."""
    draft = tmp_path / "draft.yaml"
    draft.write_text(but(("find: too-near, go: loosen-cord", "go: nowhere")), encoding="utf-8")
    ran = command("changes", files[0], draft)
    assert ran.returncode == 1 and "to nowhere" in ran.stdout


def test_approved_text_comes_out_of_a_job(tmp_path: Path) -> None:
    """An approval keeps no text; the text is found with a job that was worked to it, else that is said."""
    shop = fresh_shop(tmp_path)
    file = shop.procedures / "tie.yaml"
    file.write_text(TIE, encoding="utf-8")
    ran = command("changes", "tie", "--approved", shop=shop.root)
    assert ran.returncode == 1 and "no revision of 'tie' is approved" in ran.stderr.lower()
    approved = Library.of(shop.root).get("tie")
    approve_for(shop, approved)
    assert command("changes", "tie", "--approved", shop=shop.root).returncode == 0
    file.write_text(but(("is: 1 mm", "is: 2 mm")), encoding="utf-8")
    ran = command("changes", "tie", "--approved", shop=shop.root)
    assert ran.returncode == 1 and "keeps only the hash of its text" in ran.stderr
    begin(shop, approved, drum={}, who=SENIOR, clock=Clock()).close()
    ran = command("changes", "tie", "--approved", shop=shop.root)
    assert ran.returncode == 1 and "was: 1 mm\n      now: 2 mm\n" in ran.stdout
