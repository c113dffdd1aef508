"""The step graph on one page to print: everything is said, nothing runs over, and no text can act in it."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import oracle_ways as oracle
import samples
from benchwalk.data import shipped_procedures
from benchwalk.draw import draw_svg
from benchwalk.draw.blocks import Band, Block, Para, Piece, bands
from benchwalk.draw.fit import EDGE, GUTTER, Setter, fit
from benchwalk.draw.svg import LONG, MARGIN, SHORT
from benchwalk.draw.widths import width
from benchwalk.library import Library
from benchwalk.procedure.linked import Linked
from benchwalk.procedure.linking import link
from benchwalk.procedure.read import read
from benchwalk.procedure.showing import safe_text, words_of
from benchwalk.proof.rehearse import rehearse
from benchwalk.sums import compute
from house import some
from report_helpers import browse
from shop_helpers import command
from test_draw import HOSTILE, hostile, whole, whole_walked

IDS = sorted(shipped_procedures())
SVG = "{http://www.w3.org/2000/svg}"
ATTRIBUTES = {
    "svg": {"width", "height", "viewBox", "role", "aria-labelledby"},
    "title": {"id"},
    "desc": {"id"},
    "style": set(),
    "rect": {"class", "x", "y", "width", "height"},
    "g": {"font-size"},
    "text": {"class", "x", "y", "font-size", "textLength", "lengthAdjust"},
    "path": {"class", "stroke-width", "d", "transform"},
    "circle": {"class", "stroke-width", "cx", "cy", "r"},
}
"""Every element we draw with, and its attributes: nothing else may stand in a drawing, no script and no link."""
NUMBERS = re.compile(r"[-.\d ,MLHVQCZhmzvlqc]+")


@cache
def shipped(name: str) -> Linked:
    """A shipped procedure."""
    return Library.of().get(name)


def parsed(drawn: str) -> ElementTree.Element:
    """The drawing's root, after every element, attribute and style was found to be one of ours."""
    assert drawn.endswith("</svg>\n") and safe_text(drawn, newlines=True) == drawn
    root = ElementTree.fromstring(drawn)
    for element in root.iter():
        name = element.tag.removeprefix(SVG)
        assert element.tag.startswith(SVG) and set(element.attrib) <= ATTRIBUTES[name], ElementTree.tostring(element)
        if name == "path":
            assert NUMBERS.fullmatch(element.attrib["d"])
        if name not in ("text", "title", "desc", "style"):
            assert not (element.text or "").strip()
    [style] = root.iter(f"{SVG}style")
    assert style.text is not None and "url" not in style.text and "import" not in style.text
    return root


def texts(root: ElementTree.Element) -> list[tuple[float, float, float, float, str]]:
    """(x, y, how far it reaches, size, text) of every text."""
    found = []
    for group in root.iter():
        for text in group.findall(f"{SVG}text"):
            size = float(text.get("font-size") or group.get("font-size") or 0)
            x, y, said = float(text.attrib["x"]), float(text.attrib["y"]), text.text or ""
            reach = x + float(text.get("textLength") or size * width(said, "bold"))
            found.append((x, y, reach, size, said))
    return found


def said(root: ElementTree.Element) -> str:
    """All that can be read, in its order, without blanks, so that it does not matter where lines break."""
    return "".join("".join(text[-1].split()) for text in texts(root))


def size_of(drawn: str) -> float:
    """The smallest letters, in points at A4."""
    return min(text[3] for text in texts(parsed(drawn)))


def squeezed(text: str) -> str:
    return "".join(text.split())


# --- all of it, on one page ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [*some(IDS), *range(60)])
def test_every_stop_and_way_is_drawn_on_the_page(name: str | int) -> None:
    """Every stop stands there by number and name with all its ways, and every text lies on the sheet."""
    made = oracle.written(oracle.plan(random.Random(name)))
    known = shipped(name) if isinstance(name, str) else samples.linked(made)
    root = parsed(draw_svg(known))
    across = root.attrib["viewBox"].split()
    assert sorted(map(float, across[2:])) == [SHORT, LONG] and {root.get("width"), root.get("height")} == {
        "210mm",
        "297mm",
    }
    for x, y, reach, size, text in texts(root):
        assert x >= MARGIN and reach <= float(across[2]) - MARGIN + 0.1, text
        assert y - 0.7 * size >= MARGIN and y <= float(across[3]) - MARGIN + 0.1, text
    read_off = said(root)
    for step in known.steps.values():
        head = squeezed(f"{known.at[step.step] + 1} {words_of(step.step)}")
        assert head in read_off
        for line in step.lines:
            number = f"{known.at[line.go] + 1}"
            assert number in read_off
            if line.because and "{{" not in line.because:
                assert squeezed(line.because) in read_off
            if line.then:
                assert squeezed(f"then {known.at[line.then] + 1} {words_of(line.then)}") in read_off


@pytest.mark.parametrize("name", some(IDS))
def test_no_two_texts_lie_on_each_other(name: str) -> None:
    """No text of a drawing covers another."""
    found = sorted(texts(parsed(draw_svg(shipped(name)))), key=lambda text: (text[1], text[0]))
    for (x, y, reach, size, text), (other, below, _reach, _size, next_text) in pairwise(found):
        assert abs(y - below) > 0.5 * size or other >= reach - 0.05 or other < x, (text, next_text)


@pytest.mark.parametrize("name", ["retie-snare-cords", "deburr-cord-holes"])
def test_every_text_has_its_room_written_on_it(name: str) -> None:
    """Each piece of text, one figure alone too, carries its measured width, so that another face keeps its place."""
    pieces = list(parsed(draw_svg(shipped(name))).iter(f"{SVG}text"))
    assert any(len(each.text or "") == 1 for each in pieces)
    assert all(float(each.attrib["textLength"]) > 0 for each in pieces)


def test_flagship_is_readable_when_printed() -> None:
    """Of the snare re-tie, its 76 stops on one sheet, no letter is smaller than 5 points."""
    known = shipped("retie-snare-cords")
    assert len(known.steps) >= 62
    assert size_of(draw_svg(known)) >= 5


def test_small_procedure_does_not_shout_and_says_what_is_done() -> None:
    """A procedure that has room is drawn in letters of 9.5 points, with the action and what is asked at each stop."""
    known = shipped("tie-one-side")
    drawn = draw_svg(known)
    assert '<g font-size="9.500">' in drawn
    read_off = said(parsed(drawn))
    for step in known.steps.values():
        assert step.do is None or "{{" in step.do or squeezed(step.do) in read_off


def big(count: int) -> bytes:
    """A procedure of that many steps, with stages, ways back and long reasons."""
    lines = ["procedure: big", "title: A big one", "revision: 1", "for: drums", "purpose: to be big"]
    lines += ["needs: {tools: none, parts: none, supplies: none, before: none}", "hazards: {none_found_by: senior}"]
    lines += ["time: 1 min", "sources: none", "readings:"]
    lines += [f"  gap_{i}: {{ask: Gap number {i}, unit: mm, possible: 0 .. 9}}" for i in range(count)]
    lines.append("steps:")
    for i in range(count - 1):
        lines.append(f"  - step: step-{i}")
        lines += [f"    stage: {{id: stage-{i}, title: Stage number {i}}}"] if i % 40 == 0 else []
        lines += [f"    do: Turn screw {i} by a quarter turn and look whether the plate lies flat on the film."]
        lines += [f"    record: [gap_{i}]", "    branches:"]
        lines += [f"      - {{when: gap_{i} < 3 mm, because: Near enough to what is wanted, go: step-{i + 1}}}"]
        back = f"go: step-{max(0, i - 3)}, at_most: 2, then: step-{count - 1}"
        lines += [f"      - {{when: otherwise, because: Too wide; the screw wants another turn, {back}}}"]
    return ("\n".join([*lines, f"  - step: step-{count - 1}", "    end: done"]) + "\n").encode()


def test_five_hundred_steps_still_are_one_page() -> None:
    """A procedure of 500 steps is drawn whole on one sheet; it is the letters that give way."""
    known = link(read(big(500), "big.yaml"), lambda name: None)
    assert known is not None and known.sound
    root = parsed(draw_svg(known))
    found = texts(root)
    _x, _y, wide, high = map(float, root.attrib["viewBox"].split())
    assert all(reach <= wide - MARGIN + 0.1 and y <= high - MARGIN + 0.1 for _, y, reach, _, _ in found)
    numbers = {text.split(" ")[0] for *_, text in found}
    assert {str(n) for n in range(1, 501)} <= numbers


@pytest.mark.heavy
@pytest.mark.parametrize("name", ["tie-one-side", "retie-snare-cords", "big"])
def test_browser_prints_it_on_one_sheet(tmp_path: Path, name: str) -> None:
    """Printed from a browser, with nothing set, a drawing is one sheet of A4, whatever its size."""
    known = link(read(big(200), "big.yaml"), lambda _: None) if name == "big" else shipped(name)
    assert known is not None
    page, out = tmp_path / "page.svg", tmp_path / "page.pdf"
    page.write_text(draw_svg(known), encoding="utf-8")
    browse(page, "--no-pdf-header-footer", f"--print-to-pdf={out}")
    pdf = out.read_bytes()
    [box] = re.findall(rb"/MediaBox ?\[0 0 ([\d.]+) ([\d.]+)\]", pdf)
    assert sorted(map(float, box)) == pytest.approx([SHORT, LONG], abs=1)
    assert len(re.findall(rb"/Type ?/Page\b", pdf)) == 1


# --- signs and words -----------------------------------------------------------------------------------------------


def test_every_kind_of_stop_is_said_in_words() -> None:
    """Runs, looks, waits, choices, skips, bounds, ends and what may happen are said, and their signs explained."""
    read_off = said(parsed(draw_svg(whole())))
    for words in (
        "runs Rest (nap)",
        "an owner looks, for work by apprentice or technician only: Four eyes",
        "a senior is told: It is good to know",
        "waits 30 min from the end of 1 measure, 2 h at the latest",
        "one way of: Leave it on; Take it off",
        "may be left out by a senior: the band waits",
        "at most 3 times here, then 9 stop",
        "back to 1 measure, at most once, then 2 fix: Turn and measure again; finds wide",
        "back to 1 measure, at most 3 times there",
        "2 fix: nothing else fits",
        "9 stop: later than 2 h",
        "ends done",
        "ends stopped: It waits.; proposes rest a while",
        "a The cord slips at 1 measure and stops 4 to 9 2 fix, at most once, then 9 stop",
        "b You are tired at every stop runs nap, then the stop goes on",
        "somebody else must look",
        "another procedure is walked",
        "may happen there; see its letter",
    ):
        assert squeezed(words) in read_off, words


def test_walked_ways_are_counted_on_the_page() -> None:
    """With the rehearsed examples each way says how many go it, and a way nobody goes says so."""
    read_off = said(parsed(draw_svg(whole(), whole_walked())))
    assert squeezed("in square brackets: how many of its 9 examples go that way") in read_off
    assert squeezed("3 pick [7]: Near enough") in read_off
    straight = [r for r in whole_walked() if r.example == "straight on"]
    assert squeezed("7 look [no example]: Take it off") in said(parsed(draw_svg(whole(), straight)))


def classes(drawn: str, which: str) -> int:
    return len(re.findall(rf'<path class="{which}"', drawn))


def test_rope_is_cut_where_no_way_leads_on() -> None:
    """The rope runs on below a stop only where some way leads to the next one."""
    blocks = [block for band in bands(whole()) for block in band.blocks]
    on = {block.number: block.goes_on for block in blocks if block.number}
    assert on == {1: True, 2: False, 3: True, 4: True, 5: True, 6: True, 7: True, 8: False, 9: False}


def test_ways_back_are_loops_to_the_stops_they_lead_to() -> None:
    """Each stop with a way back knows the stops it leads to, itself among them."""
    blocks = [block for band in bands(whole()) for block in band.blocks]
    assert {block.number: block.back for block in blocks if block.back} == {1: (1,), 2: (1,), 7: (1,)}
    assert classes(draw_svg(whole()), "loop") == 3


# --- hostile texts ---------------------------------------------------------------------------------------------------

WORSE = (
    "]]></text></svg><script>alert(1)</script>",
    '" onload="alert(1)" x="',
    "</style><style>*{display:none}</style>",
    "&amp; &lt; &#60;script&#62; &xxe;",
    "\ufffe\uffff \ud800 \u202eturned \u2066isolated",
    "w" * 4000,
    "\u6f22\u5b57" * 300,
)


@pytest.mark.parametrize("text", [*HOSTILE, *WORSE], ids=lambda s: s[:12].encode("unicode_escape").decode())
def test_hostile_text_is_inert_on_the_page(text: str) -> None:
    """Whatever an author writes stays a text: the drawing has our elements only, and stays on its sheet."""
    known = hostile(text) if text in HOSTILE else changed(text)
    root = parsed(draw_svg(known))
    _x, _y, wide, _high = map(float, root.attrib["viewBox"].split())
    assert all(reach <= wide - MARGIN + 0.1 for _, _, reach, _, _ in texts(root))
    assert squeezed("1 measure") in said(root)


def changed(text: str) -> Linked:
    """The whole procedure with this text put in behind the reader's back."""
    known = hostile("plain")
    step = known.procedure.steps[0].but(do=text)
    known.procedure = known.procedure.but(title=text, steps=[step, *known.procedure.steps[1:]])
    known.steps["measure"] = step
    return known


@given(st.text(max_size=60))
@settings(max_examples=150)
def test_any_title_makes_xml(text: str) -> None:
    """Any title at all makes a drawing that an XML reader takes."""
    parsed(draw_svg(changed(text)))


# --- breaking and fitting --------------------------------------------------------------------------------------------

PIECES = st.lists(
    st.builds(Piece, st.text(max_size=40), st.sampled_from(("plain", "quiet", "strong"))), min_size=1, max_size=5
)


@given(PIECES, st.floats(13, 40))
def test_lines_fit_their_column_and_lose_nothing(pieces: list[Piece], room: float) -> None:
    """Any pieces break into lines that fit the column, that say all of them, and that were counted right."""
    block = Block(1, "stop", (Para("", (Piece("1", "number"),)), Para("on", tuple(pieces))))
    setter = Setter([Band("", (block,))])
    column = room + GUTTER + EDGE
    lines = setter.lines(block, column)
    assert len(lines) == max(1, setter.count(block, column)) or not any(p.text.strip(" ") for p in pieces)
    for line in lines:
        for text in line.texts:
            assert text.x + text.width <= room + 1e-6 or len(text.text) == 1
            assert text.width == pytest.approx(sum_width(text.text, text.style), abs=1e-6)
    whole_text = "".join(text.text for line in lines for text in line.texts)
    assert whole_text.replace(" ", "") == "1" + "".join(p.text for p in pieces).replace(" ", "")


def sum_width(text: str, style: Any) -> float:
    return width(text, "bold" if style in ("strong", "number", "name") else "plain")


def placed(found: Any) -> Iterator[tuple[float, int]]:
    for strips in found.columns:
        for strip in strips:
            yield from ((each.y + len(each.lines) * 1.17, each.block.number) for each in strip.blocks)


@pytest.mark.parametrize("name", some(IDS))
def test_fitted_blocks_keep_their_order_and_their_room(name: str) -> None:
    """Stops are laid down the columns in their order, and no column is longer than the page has room."""
    room = (540.0, 700.0)
    found = fit(bands(shipped(name)), room, 9.5)
    numbers = [number for _, number in placed(found) if number]
    assert numbers == sorted(numbers) == list(range(1, len(shipped(name).steps) + 1))
    assert max(end for end, _ in placed(found)) * found.size <= room[1] + 1e-6


# --- the command -----------------------------------------------------------------------------------------------------


def test_command_draws_the_page_and_keeps_what_is_there(tmp_path: Path) -> None:
    """`draw --format svg` prints the page, or writes it into a file that it does not write over unasked."""
    ran = command("draw", "tie-one-side", "--format", "svg")
    assert ran.returncode == 0 and ran.stdout == draw_svg(shipped("tie-one-side"))
    out = tmp_path / "page.svg"
    first = command("draw", "tie-one-side", "--format", "svg", "--walked", "--out", out)
    assert first.returncode == 0 and str(out) in first.stdout
    known = shipped("tie-one-side")
    assert out.read_text(encoding="utf-8") == draw_svg(known, rehearse(known, compute))
    again = command("draw", "tie-one-side", "--format", "svg", "--out", out)
    assert again.returncode == 1 and "--force writes over it" in again.stderr
    assert command("draw", "tie-one-side", "--out", out, "--force").returncode == 0
    assert out.read_text(encoding="utf-8").startswith("Tie the cord at one side\n")
