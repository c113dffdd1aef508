"""The printed sheet: all that is needed at the bench without a computer, and all that is needed to type it in later."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest
from markdown_it import MarkdownIt

from benchwalk.data import shipped_procedures
from benchwalk.job.shop import Shop
from benchwalk.library import Library
from benchwalk.procedure.linked import Linked
from benchwalk.procedure.linking import link
from benchwalk.procedure.read import read
from benchwalk.procedure.showing import display_width, safe_text, words_of
from benchwalk.sheet.asking import UNKNOWN_RODS
from benchwalk.sheet.making import blank_sheet
from benchwalk.sheet.parts import Sheet, Stop
from benchwalk.sheet.render import TEMPLATES, render
from benchwalk.sheet.stops import reachable
from benchwalk.walk import acts
from house import some
from report_helpers import Page
from screen_helpers import RealTerminal
from shop_helpers import begin, command, drive, fresh_shop, resume
from test_draw import HOSTILE, hostile, whole
from test_draw_page import big
from test_plain import typed_at
from walk_helpers import GAP, INNER, OUTER, RODS, SNIP, linked, procedure

STRAIGHT = procedure(
    """
readings:
  gap: {ask: Gap, unit: mm, possible: 0 .. 20, wanted: 3 .. 6}
steps:
  - step: measure
    do: Measure the gap.
    record: [gap]
    branches:
      - {when: gap is within, because: It is good, go: trim}
      - {when: otherwise, because: It is not, go: set-again}
  - step: set-again
    do: Set it again.
  - step: trim
    do: Trim the cord.
  - step: put-back
    do: Put all back.
    end: done
"""
)
"""Nothing in it leads back."""
SHIPPED = sorted(shipped_procedures())
KEY = "ctrl+l"
OUTSIDE = ("src", "srcset", "href", "action", "data", "poster", "background", "ping", "style")
TAGS = {
    *(
        "html",
        "head",
        "meta",
        "title",
        "style",
        "body",
        "main",
        "header",
        "section",
        "article",
        "div",
        "h1",
        "h2",
        "h3",
    ),
    *("h4", "p", "dl", "dt", "dd", "ul", "ol", "li", "span", "b", "br", "code", "pre"),
}


@cache
def shipped(name: str) -> Linked:
    """A shipped procedure."""
    return Library.of().get(name)


@cache
def sheet_of(name: str) -> Sheet:
    """The blank sheet of a shipped procedure."""
    return blank_sheet(shipped(name), KEY)


@cache
def rendered(name: str, form: str) -> str:
    """The same in a format."""
    return render(sheet_of(name), form)


def stops(sheet: Sheet) -> list[Stop]:
    return [stop for part in sheet.parts for stop in part.stops]


def stop(sheet: Sheet, name: str) -> Stop:
    """The stop of that name."""
    [found] = [each for each in stops(sheet) if each.name == name]
    return found


def outer() -> Linked:
    return linked(OUTER, INNER, SNIP)


def flat(text: str) -> str:
    return " ".join(text.split())


def block(text: str, head: str) -> str:
    """What a text sheet says from that line on, up to the next stop or heading, on one line."""
    lines = text.split("\n")
    start = lines.index(head)
    end = next((i for i in range(start + 1, len(lines)) if lines[i] and lines[i][0] not in " "), len(lines))
    return flat(" ".join(lines[start:end]))


# --- a blank one -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", some(SHIPPED))
def test_every_stop_is_there_in_order_with_what_it_runs(name: str) -> None:
    """Every step stands on the sheet in the order of the file, and those of what is run where they are run."""

    def names(known: Linked, path: str, number: str) -> list[str]:
        found = []
        for step in known.steps.values():
            own = f"{number}{known.at[step.step] + 1}"
            found.append(f"{own} {words_of(f'{path}/{step.step}' if path else step.step)}")
            if step.run:
                inner = f"{path}/{step.run.as_}" if path else step.run.as_
                found += names(known.runs[step.run.as_], inner, f"{own}.")
        return found

    assert [f"{each.number} {each.name}" for each in stops(sheet_of(name))] == names(shipped(name), "", "")


@pytest.mark.parametrize("form", TEMPLATES)
@pytest.mark.parametrize("name", some(SHIPPED))
def test_hazards_stand_before_the_action(name: str, form: str) -> None:
    """In every format the hazards of a stop stand before its action, each with its signal word."""
    text = flat(Page(rendered(name, form)).text if form == "html" else re.sub(r"[\\*>]", "", rendered(name, form)))
    at = 0
    for each in stops(sheet_of(name)):
        for warn in each.warns:
            at = text.index(flat(warn.hazard), at)
            assert text.rindex(warn.word, 0, at) > at - 20
        if each.do:
            at = text.index(flat(each.do), at)


@pytest.mark.parametrize("name", some(SHIPPED))
def test_whatever_is_asked_has_a_place_to_be_written(name: str) -> None:
    """Each reading stands with its question, its name and a line, or a box for every answer; what is wanted too."""
    known = shipped(name)
    sheet = sheet_of(name)
    for step in known.steps.values():
        mine = {ask.name: ask for ask in stop(sheet, words_of(step.step)).asks}
        for reading_name in step.record:
            ask, reading = mine[reading_name], known.procedure.readings[reading_name]
            assert ask.question.startswith(reading.ask.partition("{{")[0])
            assert [option.said for option in ask.options] == list((reading.choices or {}).values())
            rods = ("rod ___",) * UNKNOWN_RODS  # how many a drum has is not known on a sheet of no drum
            assert ask.places == (rods if reading.per == ["rod"] else tuple(reading.per or ()))
            wanted = [option for option in ask.options if option.wanted]
            assert len(wanted) == (len(reading.wanted or ()) if reading.choices else 0)
            assert bool(ask.wanted) == (reading.wanted is not None and not reading.choices)
            if reading.unit:
                assert ask.unit == reading.unit
        for sum_ in step.work_out:
            assert mine[sum_].worked


@pytest.mark.parametrize("name", some(SHIPPED))
def test_each_answer_says_where_it_leads(name: str) -> None:
    """Every branch leads, beside its answer or below, to the number and name of its stop, with why and how often."""
    known = shipped(name)
    for step in known.steps.values():
        found = stop(sheet_of(name), words_of(step.step))
        leads = [lead for ask in found.asks for option in ask.options if (lead := option.lead)] + list(found.leads)
        for line in step.lines:
            to = f"{known.at[line.go] + 1} {words_of(line.go)}"
            match = [lead for lead in leads if lead.to == to and lead.boxes == (line.at_most or 0)]
            assert match, (step.step, to)
            assert not line.then or f"{known.at[line.then] + 1} {words_of(line.then)}" in {lead.then for lead in match}


def test_a_choice_that_decides_alone_leads_beside_its_answers() -> None:
    """Where one choice decides, the way on stands beside each answer, and no list of ways below."""
    found = stop(sheet_of("tie-one-side"), "thread")
    assert found.leads == ()
    assert [option.lead.to for option in found.asks[0].options if option.lead] == [
        *("3 legs", "2 draw out", "2 draw out", "2 draw out", "2 draw out")
    ]


def test_conditions_are_said_by_letters_and_in_words() -> None:
    """What a stop asks has letters, and its ways on speak of them; limits stand with their value."""
    found = stop(sheet_of("retie-snare-cords"), "gaps")
    assert [ask.mark for ask in found.asks[:3]] == ["a", "b", "c"]
    words = [lead.when for lead in found.leads]
    assert "a below 1 mm or b below 1 mm" in words
    assert "a as wanted and b as wanted" in words
    assert words[-1] == "in any other case"
    text = block(rendered("retie-snare-cords", "text"), f"{found.number}  gaps")
    assert "The first of these that fits:" in text


@pytest.mark.parametrize("name", ["change-batter-head", "even-rods"])
def test_a_sum_without_a_result_is_called_by_its_name(name: str) -> None:
    """A way on that asks whether a sum has a result names the sum, as the line does where it is worked out."""
    whens = [lead.when for each in stops(sheet_of(name)) for lead in each.leads if "has no result" in lead.when]
    assert whens
    for when in whens:
        assert all(re.search(r"[a-z] $", before) for before in when.split("has no result")[:-1]), when


def test_values_to_come_are_places_to_write() -> None:
    """What a text takes from elsewhere is a place to write with what it is; what is asked here has its letter."""
    found = stop(sheet_of("retie-snare-cords"), "knob mid")
    assert "______ (turns of the knob from loosest to tightest)" in found.do
    assert any(lead.why.startswith("Counted: (a) of ______") for lead in found.leads)


def test_what_is_handed_in_settles_what_it_decides() -> None:
    """Inside a part, ways that what was handed in rules out are not printed, and what it settles has no condition."""
    sheet = sheet_of("retie-snare-cords")
    legs = stop(sheet, "butt: legs")
    assert [(lead.when, lead.to.split(" ", 1)[1]) for lead in legs.leads] == [("", "butt spacer")]
    assert "at the butt side" in stop(sheet, "butt: thread").do
    assert any("side: strainer side" in line for part in sheet.parts for line in part.lines)


def test_bounds_are_boxes_to_tick() -> None:
    """How often a way may be taken, or a stop come to, is as many boxes."""
    text = block(rendered("tie-one-side", "text"), "1  thread")
    assert "[ ][ ][ ][ ] come here at most 4 times; one box each time, then -> 14 untied" in text
    hand = block(rendered("retie-snare-cords", "text"), "11  try mounts")
    assert "-> 12 snug mounts ([ ] at most once, then 76 refer)" in hand


def test_stops_that_may_be_come_to_again_have_room_twice() -> None:
    """A stop on a way that leads round has a second box or line; one that is passed once has not."""
    sheet = sheet_of("retie-snare-cords")
    known = shipped("retie-snare-cords")
    assert {each.name for each in stops(sheet) if each.again and "." not in each.number} == {
        words_of(step) for step in known.steps if step in reachable(known, step)
    }
    assert "__________ mm   again __________ mm" in rendered("retie-snare-cords", "text")


@pytest.mark.parametrize(("at_most", "lines"), [(1, 2), (2, 3), (9, 4)])
def test_wait_that_may_come_again_has_a_line_each_time(at_most: int, lines: int) -> None:
    """A wait on a way round has as many lines as the way's bound lets it come, four at most; a wait passed once has
    one, and the bound of the step itself counts too."""
    text = f"""
readings:
  gap: {{ask: Gap, unit: mm, possible: 0 .. 9}}
steps:
  - step: rest
    wait: {{for: 5 min}}
  - step: measure
    record: [gap]
    branches:
      - {{when: gap < 3 mm, go: rest, at_most: {at_most}, then: last}}
      - {{when: otherwise, go: last}}
  - step: last
    wait: {{for: 5 min}}
  - step: put-by
    end: done
"""
    rest, last = (stop(blank_sheet(linked(procedure(text)), KEY), name).lines[-1] for name in ("rest", "last"))
    assert rest.lower().count("from ______ until ______.") == lines and last.count("until") == 1
    bound = text.replace("  - step: rest\n", "  - step: rest\n    entered: {at_most: 3, then: last}\n")
    bounded = stop(blank_sheet(linked(procedure(bound)), KEY), "rest").lines[-1]
    assert bounded.lower().count("from ______ until ______.") == 3


def test_looks_have_a_line_to_sign_on() -> None:
    """Where somebody else must look there is a line for name and time, and a box for each reason to refuse."""
    found = stop(sheet_of("retie-snare-cords"), "senior look")
    text = block(rendered("retie-snare-cords", "text"), f"{found.number}  senior look")
    hold = shipped("retie-snare-cords").steps["senior-look"].hold
    assert hold is not None and "looks here; work goes on only then." in text
    assert f"{hold.signs} ______________ name ______________ time ________" in text
    assert all(f"[ ] refused for: {reason}" in text for reason in hold.refused_for.values())


def test_events_needs_and_the_count_are_there() -> None:
    """What may happen stands with its letter and where it leads, what is needed has boxes, and is counted back."""
    text = flat(rendered("retie-snare-cords", "text"))
    assert "a The cord breaks or slips (33 tie butt, 34 pick way, 35 tie strainer, stops 42 to 66 and 67 trim)" in text
    assert "may happen: a, b" in text
    assert "[ ] drum key [ ] screwdriver" in text and "COUNT BACK AT THE END" in text and "Released: name" in text


def test_rods_and_places_are_asked_one_by_one() -> None:
    """A reading at every rod has a line for each, with room for the number where nobody knows how many there are."""
    found = stop(blank_sheet(linked(RODS), KEY), "feel")
    assert found.asks[0].places == ("rod ___",) * 10
    assert stop(blank_sheet(linked(RODS), KEY), "edges").ticks == ("butt", "strainer")
    known = render(blank_sheet(linked(RODS), KEY), "text")
    assert "How many tension rods has a head: ______" in known


def test_every_kind_of_stop_is_said() -> None:
    """Waits, runs, choices, skips, single confirmations and ends all stand on the sheet."""
    text = flat(render(blank_sheet(whole(), KEY), "text"))
    for words in (
        "30 min must pass from the end of 1 measure, and 2 h at the latest. From ______ until ______.",
        "if more than 2 h have passed -> 9 stop",
        "[ ] A senior may let it be left out: the band waits. Left out, name",
        "One of these ways, all equally good [way]",
        "[ ] Take it off -> 7 look",
        "every rod: ______",
        "Here another part is worked through: Rest.",
        "==== 6 Rest (nap)",
        "An owner looks here; work goes on only then. Four eyes (needed for work by apprentice or technician only).",
        "A senior is told, and may look on. It is good to know.",
        "the work ends here: stopped: It waits.",
        "-> 7 look: Rested",
        "b You are tired (every stop) first b Rest, then on with the stop",
    ):
        assert words in text, words


# --- a job's ---------------------------------------------------------------------------------------------------------


def half(shop: Shop, until: str = "@tie-far", **typed: str) -> str:
    """A practice job of OUTER, walked until that stop; its id."""
    given = {"clear": "340", "long": "332", "way": "long", "gap": "4", "grip": "holds", "sound": "clean"} | typed
    note = {"instrument": "Side drum", "complaint": "buzz"}
    with begin(shop, outer(), drum={}, note=note) as session:
        drive(session, until, **given)
        return session.state.job


def of_job(shop: Shop, job: str, form: str = "text") -> str:
    ran = command("sheet", "--job", job, "--format", form, shop=shop.root)
    assert (ran.returncode, ran.stderr) == (0, "")
    return ran.stdout


def test_job_has_what_is_known_filled_in_and_what_is_behind_crossed_off(tmp_path: Path) -> None:
    """Of a half-done job what is behind is crossed off with what was noted; what is known stands in what is ahead."""
    shop = fresh_shop(tmp_path)
    job = half(shop)
    text = of_job(shop, job)
    assert "Drum: Side drum" in text and "BEFORE YOU BEGIN" not in text
    done = block(text, "1  measure  (done, and may be come to again: stop 1, 2026-03-02 09:00)")
    assert "= Clear length: 340 mm" in done and "= Worked out, room: room 8 mm" in done
    assert "a Clear length [clear] __________ mm again __________ mm" in done, "the next value has its own line"
    assert "Given: side: strainer side; target: 2.5 to 5.5 mm." in text
    assert re.search(r"^3  tie far  \(the work stands here: stop \d+", text, re.MULTILINE)


def test_stop_that_cannot_be_come_to_again_is_told_short(tmp_path: Path) -> None:
    """What lies behind for good is one line and what was noted; what can no longer be reached is not printed."""
    shop = fresh_shop(tmp_path)
    with begin(shop, linked(STRAIGHT), drum={}) as session:
        drive(session, "@trim", gap="4")
        job = session.state.job
    text = of_job(shop, job)
    assert block(text, "1  measure  (done: stop 1, 2026-03-02 09:00)") == (
        "1 measure (done: stop 1, 2026-03-02 09:00) = Gap: 4 mm; within"
    )
    assert "Measure the gap." not in text and "set again" not in text and "4  put back" in text
    html = Page(of_job(shop, job, "html"))
    assert html.values("article", "class") == ["stop done", "stop here", "stop open"]


def test_bounds_used_up_are_ticked(tmp_path: Path) -> None:
    """Boxes of a bound are ticked as often as the way was taken already."""
    shop = fresh_shop(tmp_path)
    with begin(shop, linked(GAP), drum={}) as session:
        drive(session, "@set-again", gap="9")
        job = session.state.job
    assert "[x][ ] come here at most twice" in flat(of_job(shop, job))


def test_reading_half_noted_stands_filled_in_where_the_work_is(tmp_path: Path) -> None:
    """At the stop in hand what is noted already stands in its place, and what is not has its line."""
    shop = fresh_shop(tmp_path)
    with begin(shop, outer(), drum={}) as session:
        drive(session, "@measure")
        session.do(acts.Record("340,5"))
        job = session.state.job
    here = block(of_job(shop, job), "1  measure  (the work stands here: stop 1)")
    assert "a Clear length [clear] 340.5 mm b Length of the set [long] __________ mm" in here


def test_gone_back_over_is_blank_again(tmp_path: Path) -> None:
    """What the walk went back over counts for nothing on the sheet either."""
    shop = fresh_shop(tmp_path)
    with begin(shop, linked(GAP), drum={}) as session:
        drive(session, "@look", gap="4")
        session.do(acts.GoBack(1, "misread"))
        job = session.state.job
    text = of_job(shop, job)
    assert "(the work stands here: stop 3)" in text and "4 mm; within" not in text


# --- typing it in ----------------------------------------------------------------------------------------------------


def test_foot_says_how_it_is_typed_in(tmp_path: Path) -> None:
    """The foot names the command, the key of a late entry and what to do with a look; a job's names the job."""
    shop = fresh_shop(tmp_path)
    job = half(shop)
    foot = flat(of_job(shop, job).partition("TYPING IT IN")[2])
    assert f"benchwalk walk --job {job} --who NAME" in foot and "press Ctrl+L for a late entry" in foot
    assert "/late 9:30 4 mm" in foot and "gives their PIN" in foot
    blank = flat(rendered("tie-one-side", "text").partition("TYPING IT IN")[2])
    assert "benchwalk intake tie-one-side" in blank and "A time from before the job was opened is not taken" in blank


def test_late_entry_of_the_foot_is_taken_where_it_is_asked(tmp_path: Path) -> None:
    """What the foot tells to type is what the walk takes: the value, with the time it was taken."""
    shop = fresh_shop(tmp_path)
    with begin(shop, linked(GAP), drum={}) as session:
        drive(session, "@measure")
        job = session.state.job
    [typed] = set(re.findall(r"/late [\d:]+ \d mm", flat(of_job(shop, job))))
    with resume(shop, job) as session:
        typed_at(session, "", typed, "")
        [entry] = session.state.entries.values()
    assert (entry.typed, entry.late_at) == ("4 mm", "2026-03-02T09:30:00+00:00")


def test_every_line_has_the_stop_and_the_name() -> None:
    """Behind every question stands its name in the procedure, and every stop has its name as the walk shows it."""
    html = rendered("retie-snare-cords", "html")
    named = re.findall(r"<code>([a-z0-9_]+)</code>", html)
    asked = [ask.name for each in stops(sheet_of("retie-snare-cords")) for ask in each.asks]
    assert named == asked and "butt_gap" in named
    assert {"butt: stop knot", "strainer: stop knot"} <= {each.name for each in stops(sheet_of("retie-snare-cords"))}


# --- formats, and hostile texts --------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", some(SHIPPED))
def test_text_fits_and_is_plain(name: str) -> None:
    """No line of a text sheet is wider than 80 cells or ends in blanks, and nothing in it acts on a terminal."""
    text = rendered(name, "text")
    assert [line for line in text.split("\n") if display_width(line) > 80 or line != line.rstrip()] == []
    assert safe_text(text, newlines=True) == text and "\n\n\n" not in text and text.isascii()


def look_through(html: str) -> Page:
    """The page, after making sure that nothing in it acts, loads or leads away."""
    page = Page(html)
    assert page.whole and {tag for tag, _ in page.tags} <= TAGS
    for tag, attrs in page.tags:
        assert not [name for name in attrs if name.startswith("on") or name in OUTSIDE], (tag, attrs)
    assert "url(" not in page.style and "@import" not in page.style and "</" not in page.style
    policies = [a["content"] for t, a in page.tags if t == "meta" and a.get("http-equiv") == "Content-Security-Policy"]
    assert policies == ["default-src 'none'; style-src 'unsafe-inline'"]
    return page


@pytest.mark.parametrize("name", some(SHIPPED))
def test_page_holds_all_it_needs_and_loads_nothing(name: str) -> None:
    """The HTML is one file without script, link or anything from outside, each stop an article."""
    page = look_through(rendered(name, "html"))
    assert len(page.values("article", "class")) == len(stops(sheet_of(name)))
    assert "counter(page)" in page.style and f'"{name} 1"' in page.style


@pytest.mark.parametrize("text", HOSTILE, ids=lambda s: s[:12].encode("unicode_escape").decode())
def test_hostile_text_is_inert_on_a_sheet(text: str) -> None:
    """Whatever an author writes stands there as it was written, and acts in no format."""
    known = hostile(text)
    sheet = blank_sheet(known, KEY)
    page = look_through(render(sheet, "html"))
    calm = look_through(render(blank_sheet(hostile("plain"), KEY), "html"))
    kinds = [[tag for tag, _ in each.tags if tag not in ("h3", "section")] for each in (page, calm)]
    assert kinds[0] == kinds[1]  # one of the texts can only be put in where no stage begins
    plain = render(sheet, "text")
    assert all(display_width(line) <= 80 for line in plain.split("\n"))
    assert safe_text(plain, newlines=True) == plain
    read_ = Page(MarkdownIt("gfm-like").render(render(sheet, "md")))
    assert {tag for tag, _ in read_.tags} <= {
        *("h1", "h2", "h3", "p", "ul", "ol", "li", "strong", "blockquote", "pre", "code"),
    }


def test_five_hundred_steps_make_a_sheet() -> None:
    """A procedure of 500 steps has a sheet with all of them."""
    known = link(read(big(500), "big.yaml"), lambda name: None)
    assert known is not None
    sheet = blank_sheet(known, KEY)
    assert len(stops(sheet)) == 500
    assert render(sheet, "html").count("<article") == 500


# --- the command -----------------------------------------------------------------------------------------------------


def test_command_prints_html_unless_told_otherwise(tmp_path: Path) -> None:
    """`sheet` prints one HTML file, or writes it into a file that it does not write over unasked."""
    ran = command("sheet", "tie-one-side")
    assert ran.returncode == 0 and ran.stdout.startswith("<!doctype html>") and ran.stderr == ""
    out = tmp_path / "sheet.html"
    assert command("sheet", "tie-one-side", "--out", out).returncode == 0
    assert out.read_text(encoding="utf-8") == ran.stdout
    again = command("sheet", "tie-one-side", "--out", out)
    assert again.returncode == 1 and "--force writes over it" in again.stderr
    assert command("sheet", "tie-one-side", "--format", "md").stdout.startswith("# Tie the cord at one side\n")


def test_terminal_gets_text() -> None:
    """At a terminal the sheet is text, unless another format is asked for by name; HTML is not poured over it."""
    terminal = RealTerminal("sheet", "tie-one-side")
    terminal.until("TYPING IT IN")
    assert terminal.end() == 0 and "<!doctype" not in terminal.raw
    terminal = RealTerminal("sheet", "tie-one-side", "--format", "html")
    assert terminal.end() == 2 and "<!doctype" not in terminal.raw


def test_box_stays_with_its_word() -> None:
    """No line of a text sheet ends in an empty box, or breaks one in two."""
    text = rendered("retie-snare-cords", "text")
    assert "[ ] needle files" in flat(text)
    assert not re.search(r"\[(?: \])?$|^ *\]", text, re.MULTILINE)


def test_command_refuses_what_it_cannot_print(tmp_path: Path) -> None:
    """Nothing named, no such procedure or job, and a job worked to another procedure are each told in a sentence."""
    shop = fresh_shop(tmp_path)
    job = half(shop)
    for words, code, said in (
        ((), 2, "Name a procedure, or a job with --job ID."),
        (("no-such-thing",), 2, "There is no procedure 'no-such-thing'"),
        (("--job", "J-9999"), 1, "J-9999"),
        (("tie-one-side", "--job", job), 2, f"Job {job} is worked to 'tie-both', not to 'tie-one-side'."),
    ):
        ran = command("sheet", *words, shop=shop.root)
        assert ran.returncode == code and said in ran.stderr and "Traceback" not in ran.stderr, (words, ran)
    assert command("sheet", "tie-both", "--job", job, shop=shop.root).returncode == 0


def test_sheet_changes_nothing(tmp_path: Path) -> None:
    """Making a sheet leaves the job and the shop as they were, also where another person has the work in hand."""
    shop = fresh_shop(tmp_path)
    job = half(shop)
    before = {path: path.read_bytes() for path in shop.root.rglob("*") if path.is_file()}
    of_job(shop, job, "html")
    assert {path: path.read_bytes() for path in shop.root.rglob("*") if path.is_file()} == before
