"""Reports: what they say of a job, that nothing of the record is missing, and what they refuse."""

from __future__ import annotations

import random
import re
import stat
from pathlib import Path

import pytest

from benchwalk.job.log import read
from benchwalk.job.owner import owner, remove_owner
from benchwalk.job.shop import Shop
from benchwalk.report.for_owner import for_owner
from benchwalk.report.for_shop import for_shop
from benchwalk.report.record import Owner, Record, number, stamp
from benchwalk.report.render import TEMPLATES, render
from benchwalk.report.telling import TOLD
from benchwalk.session import Books
from benchwalk.walk import acts
from benchwalk.walk.events import KINDS
from benchwalk.walk.fold import replay
from benchwalk.walk.state import State
from benchwalk.walk.wording import as_typed
from report_helpers import AUDIENCES, FORMATS, JOBS, NOTE, OWNER, SAMPLE, Page, customer, heard, release, report
from shop_helpers import begin, command, drive, events, fresh_shop, resume, tree
from walk_helpers import NAMES, linked, procedure, shipped
from wander import Wanderer


def state_of(shop: Shop, job: str) -> State:
    """The state of a job as its log tells it."""
    return replay(events(shop, job))


def plain(text: str, form: str) -> str:
    """What a reader of the report sees, on one line."""
    if form == "html":
        return Page(text).text
    if form == "md":
        text = re.sub(r"\\([^\w\s])", r"\1", text).replace("**", "").replace("\u2007", "")
    return " ".join(text.split())


def section(text: str, title: str) -> str:
    """One part of a text report, its lines joined."""
    found = re.search(rf"^{title.upper()}\n\n(.*?)(?=^[A-Z][A-Z ]+\n\n|\Z)", text, re.MULTILINE | re.DOTALL)
    assert found, title
    return found[1]


@pytest.fixture
def open_job(tmp_path: Path) -> tuple[Shop, str]:
    """A customer's job before the senior's look, one gap corrected three times."""
    return customer(tmp_path)


# --- nothing is missing ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize("audience", AUDIENCES)
@pytest.mark.parametrize("job", JOBS)
def test_a_report_holds_the_four_things_of_a_record(job: str, audience: str, form: str) -> None:
    """What was done, when it was completed, who did it, and who released it with what authority stand in each."""
    state = state_of(Shop.open(SAMPLE), job)
    said = plain(report(SAMPLE, job, audience, form), form)
    assert state.ended is not None and state.released is not None
    assert state.title in said
    ended = state.ended["at"]
    day = int(ended[8:10])
    assert (f"{day} March 2026" if audience == "owner" else stamp(ended)) in said
    people = {"tam-reyes": "Tam Reyes", "ode-lindqvist": "Ode Lindqvist"}
    assert re.search(rf"Work by:? {people[state.people[0]]}", said)
    assert all(people[person] in said for person in state.people)
    released = state.released["at"]
    at = f"{day} March 2026, {released[11:16]}" if audience == "owner" else stamp(released)
    assert f"checked and released, by Mara Quill, senior, {at}" in said


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize("audience", AUDIENCES)
@pytest.mark.parametrize("job", JOBS)
def test_every_figure_that_counts_stands_in_a_report(job: str, audience: str, form: str) -> None:
    """The first and the last value of every measured thing stand beside its question, with the judgement by word."""
    shop = Shop.open(SAMPLE)
    state, said = state_of(shop, job), plain(report(SAMPLE, job, audience, form), form).replace(" | ", " ")
    books = Books(shop.job(job), state.texts)
    seen = 0
    for entry in state.entries.values():
        reading = books(state.visits[entry.visit - 1].text).procedure.readings.get(entry.name) if entry.visit else None
        if reading is None or reading.sort not in ("number", "whole", "note"):
            continue
        seen += 1
        cut = number(entry.typed, entry.unit)
        figure = re.escape(f"{cut.whole}{cut.part} {cut.unit}".strip())
        assert re.search(rf"(?<![\d.,]){figure}(?![\d.,])", said), entry
        if form == "html":
            assert reading.ask in said
        if entry.verdict and audience == "shop":
            assert re.search(rf"{figure}\W+{entry.verdict}", said), entry
    assert seen > 20 or job == "J-0003"


@pytest.mark.parametrize("job", JOBS)
def test_every_event_stands_in_the_shops_report_and_every_reference_leads_to_one(job: str) -> None:
    """Events 1 to the last each stand once, in order, and a number in brackets leads to its event."""
    count = len(events(Shop.open(SAMPLE), job))
    page = Page(report(SAMPLE, job, "shop", "html"))
    rows = [name for name in page.values("tr", "id") if re.fullmatch(r"e\d+", name)]
    assert rows == [f"e{n}" for n in range(1, count + 1)]
    links = page.values("a", "href")
    assert links and {link.removeprefix("#") for link in links} <= set(rows)
    text = report(SAMPLE, job, "shop", "text")
    told = [int(n) for n in re.findall(r"^  \[(\d+)\] ", section(text, "Every event"), re.MULTILINE)]
    assert told == list(range(1, count + 1))
    marked = re.findall(r"^- \\\[(\d+)\\\] ", report(SAMPLE, job, "shop", "md"), re.MULTILINE)
    assert list(map(int, marked)) == told


@pytest.mark.parametrize("job", JOBS)
def test_every_reading_carries_its_event_in_the_shops_report(job: str) -> None:
    """Every reading, struck or not, stands at its stop with the number of the event that noted it."""
    state = state_of(Shop.open(SAMPLE), job)
    stops = section(report(SAMPLE, job, "shop"), "Every stop")
    for entry in state.entries.values():
        if entry.visit:
            assert f"[{entry.n}]" in stops, entry


def test_a_finding_stands_with_the_readings_that_prove_it() -> None:
    """The owner reads the technician's sentence and, under it, the figures that show it with their judgement."""
    found = " ".join(section(report(SAMPLE, "J-0001"), "What was found").split())
    assert "The set lies 2 mm too near one side: butt side 2 mm, strainer side 6 mm." in found
    assert "rides on the hoop): 2 mm, below by 0.5 mm" in found
    assert "rides on the hoop): 6 mm, above by 0.5 mm" in found


def test_before_and_after_stand_side_by_side() -> None:
    """What was taken again stands with its first and its last value, aligned on the decimals."""
    lines = section(report(SAMPLE, "J-0001"), "What was measured and seen").splitlines()
    at = next(i for i, line in enumerate(lines) if "Gap from plate to hoop, strainer side" in line)
    before, after = lines[at + 1 : at + 3]
    assert re.fullmatch(r" +before +6 +mm +above by 0\.5 mm", before)
    assert re.fullmatch(r" +after +4\.5 +mm +within", after)
    assert before.index("6") == after.index("4.5") and before.index("mm") == after.index("mm")


def test_figures_stand_under_each_other_at_their_decimals() -> None:
    """Digits before the decimal sign end in one column, whatever follows them."""
    table = section(report(SAMPLE, "J-0001"), "What was measured and seen").split("Taken once")[1]
    ends = {m.end(1) for m in re.finditer(r"^.*?(?<![\d,])( \d+)(?:[.,]\d+| \d/\d)? +(?:mm|turns|mil)\b", table, re.M)}
    starts = {len(table[:end].rpartition("\n")[2]) for end in ends}
    assert len(ends) > 10 and len(starts) == 1


@pytest.mark.parametrize("form", FORMATS)
def test_every_signature_shows_name_time_and_meaning(form: str) -> None:
    """Who looked, in which role, when and with what meaning stand together, refusals included."""
    said = plain(report(SAMPLE, "J-0001", "shop", form), form)
    state = state_of(Shop.open(SAMPLE), "J-0001")
    assert [sign.meaning for sign in state.signs] == ["refused for The tails", "checked"]
    for sign in state.signs:
        meant, who, at = sign.meaning.capitalize()[:1] + sign.meaning[1:], "Mara Quill, senior", stamp(sign.at)
        assert f"{meant}: {who}, {at} [{sign.n}]" in said
        if form != "text":  # where a table's cells are not broken into lines
            assert re.search(rf"{who}[ |]+{re.escape(at)}[ |]+{sign.meaning} \[{sign.n}\]", said)


@pytest.mark.parametrize("form", FORMATS)
def test_a_correction_shows_every_value_with_who_when_and_why(open_job: tuple[Shop, str], form: str) -> None:
    """Four values in their order, each correction with its person, time and reason, stand in the shop's report."""
    shop, job = open_job
    state = state_of(shop, job)
    entry = next(e for e in state.entries.values() if e.name == "butt_gap")
    said = plain(report(shop.root, job, "shop", form), form)
    at = [
        said.index(f"Corrected [{n}] from {was} by Tam Reyes, ")
        for was, n in zip(("4 mm", "4.5 mm", "3.9 mm"), (n for _typed, _value, n in entry.before), strict=True)
    ]
    assert at == sorted(at)
    assert all(reason in said for reason in ("rule slipped", "read in poor light", "third time right"))
    assert re.search(rf"4\.0 mm\W+within \[{entry.n}\]", said)


def test_the_owner_reads_the_corrected_value_and_that_it_was_corrected(open_job: tuple[Shop, str]) -> None:
    """The figure that stands is the last one, marked as corrected."""
    shop, job = open_job
    said = " ".join(section(report(shop.root, job), "What was measured and seen").split())
    assert re.search(r"on \(minus: rides on the hoop\) 4\.0 mm within corrected", said)
    assert "3.9" not in said


def test_a_sum_stands_with_what_it_was_given(open_job: tuple[Shop, str]) -> None:
    """A sum's result carries its name, version and event, and each of its inputs the event it came from."""
    shop, job = open_job
    said = plain(report(shop.root, job, "shop"), "text")
    assert re.search(
        r"Worked out room \(snare room, version \d+\): r 8 mm, .*? \[\d+\] "
        r"from clear 340 mm \[\d+\], set 332 mm \[\d+\], least 1 mm \(least gap\)",
        said,
    )


def test_the_shops_report_names_what_was_worked_to_and_the_head() -> None:
    """Every procedure stands with its id, revision and the hash of its text; the whole head stands there too."""
    reading = read(SAMPLE / "jobs" / "J-0002" / "log.jsonl")
    said = "".join(report(SAMPLE, "J-0002", "shop", "html").split())
    for name, text in reading.events[0]["texts"].items():
        assert name in said and text in said
    assert reading.head in said


def test_who_did_which_part_is_told() -> None:
    """Where work was handed over, each person's stops stand with their times."""
    said = section(report(SAMPLE, "J-0002", "shop"), "Who did which part")
    assert re.search(r"Tam Reyes +stops 1 to 55", said) and re.search(r"Ode Lindqvist +stops 55 to 70", said)


def test_every_kind_of_event_has_a_sentence() -> None:
    """No kind of event can happen for which a report has no words."""
    assert TOLD.keys() == KINDS.keys()


@pytest.mark.parametrize("seed", range(12))
def test_any_walk_can_be_reported(seed: int) -> None:
    """Whatever way a walk went, both reports can be made of it in every format, with every event."""
    walk = Wanderer(shipped("retie-snare-cords"), random.Random(seed), often=0.1, usual=0.7)
    walk.wander()
    log = [{**event, "hash": "0" * 64} for event in walk.events]
    record = Record(walk.state, walk.bench.books, NAMES, log, Owner(None, False, None), "Mill Lane", "0" * 64)
    for form in TEMPLATES:
        assert "Not released yet." in render(for_owner(record), form)
        whole = render(for_shop(record), form)
        assert f"{len(log)} events" in whole and str(log[-1]["n"]) in whole


# --- what stands in the way is said ----------------------------------------------------------------------------------


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize("audience", AUDIENCES)
def test_a_job_that_is_not_released_says_so_first(open_job: tuple[Shop, str], audience: str, form: str) -> None:
    """`Not released yet` stands before anything about the drum; a released job says nothing of the kind."""
    shop, job = open_job
    said = plain(report(shop.root, job, audience, form), form)
    assert said.index("Not released yet.") < said.index("Dull, and rattles")
    assert "not released" not in plain(report(SAMPLE, "J-0001", audience, form), form).lower()


@pytest.mark.parametrize("audience", AUDIENCES)
def test_a_practice_job_is_no_record_of_a_drum(tmp_path: Path, audience: str) -> None:
    """A practice job says first that it speaks of nobody's drum, and its looks that no PIN was asked."""
    shop = fresh_shop(tmp_path)
    with heard(shop, "dull") as session:
        release(session)
        said = report(shop.root, session.state.job, audience)
    assert "! Practice: nothing here speaks of a customer's drum." in said
    assert "in practice, no PIN asked" in " ".join(said.split())


@pytest.mark.parametrize("audience", AUDIENCES)
def test_an_owner_who_was_removed_is_said_to_be_removed(open_job: tuple[Shop, str], audience: str) -> None:
    """With the owner's facts removed the report says so, and nothing of them is left in it."""
    shop, job = open_job
    assert OWNER["name"] in report(shop.root, job, audience)
    assert remove_owner(shop.job(job))
    said = report(shop.root, job, audience)
    assert "Owner: removed from the shop's files" in said and OWNER["name"] not in said


def test_a_removal_that_the_log_knows_of_is_dated(open_job: tuple[Shop, str]) -> None:
    """Where the removal is an event, both reports say on which day, and the shop's by whom."""
    shop, job = open_job
    with resume(shop, job) as session:
        session.forget_owner()
    assert "Owner: removed from the shop's files, 2 March 2026" in report(shop.root, job)
    whole = " ".join(report(shop.root, job, "shop").split())
    assert "removed from the shop's files, 2 March 2026" in whole
    assert "Tam Reyes: The owner's facts were removed from beside the log" in whole


def test_an_owner_who_was_changed_is_said_to_be_changed(open_job: tuple[Shop, str]) -> None:
    """Facts that are not those given at intake are marked, since the log can tell."""
    shop, job = open_job
    path = shop.job(job).owner
    path.write_text(path.read_text().replace("Brandt", "Brandl"))
    assert "Owner: Ilse Brandl; not as given at intake" in report(shop.root, job)
    assert "not as given" not in report(SAMPLE, "J-0001")


def test_an_owner_who_was_never_given_is_not_called_removed(tmp_path: Path) -> None:
    """Without an owner from the first the report says that none was named."""
    shop = fresh_shop(tmp_path)
    with heard(shop, "dull") as session:
        record = Record(
            session.state, session.books, {}, session.events, Owner(None, False, None), shop.name, session.head
        )
        assert "- Owner: not said" in render(for_owner(record), "md")
        gone = Record(
            session.state, session.books, {}, session.events, Owner(None, True, None), shop.name, session.head
        )
        assert "- Owner: removed from the shop's files" in render(for_owner(gone), "md")


def test_the_owners_report_holds_nothing_private_of_others(open_job: tuple[Shop, str]) -> None:
    """No contact, no tag, no notes and no file's name leave the shop with the owner's copy; the shop's own has them."""
    shop, job = open_job
    facts = owner(shop.job(job))
    assert facts == OWNER
    for form in FORMATS:
        leaves, stays = (plain(report(shop.root, job, audience, form), form) for audience in AUDIENCES)
        assert OWNER["contact"] not in leaves and OWNER["contact"] in stays
        assert NOTE["tag"] not in leaves and NOTE["tag"] in stays
    assert "says the band director" not in report(SAMPLE, "J-0001")
    assert "says the band director" in report(SAMPLE, "J-0001", "shop")


def test_the_owners_copy_carries_the_head_and_audit_takes_it() -> None:
    """The sixteen characters on the owner's copy are what `audit --head` checks the record with."""
    said = section(report(SAMPLE, "J-0001"), "Keep this sheet")
    [mark] = re.findall(r"\b[0-9a-f]{16}\b", said)
    assert command("audit", "J-0001", "--head", mark, shop=SAMPLE).returncode == 0
    other = command("audit", "J-0001", "--head", mark[::-1], shop=SAMPLE)
    assert other.returncode == 1


def test_what_was_gone_back_over_counts_for_the_owner_no_more(tmp_path: Path) -> None:
    """The shop's report keeps a stop that was gone back over and marks it; the owner's figures leave it out."""
    shop = fresh_shop(tmp_path)
    with heard(shop, "dull") as session:
        assert session.do(acts.GoBack(2, "measured on the wrong drum")).refusal is None
        job = session.state.job
        kept = section(report(shop.root, job, "shop"), "Every stop")
        left = report(shop.root, job)
    assert "Stop 2, measure (gone back over: no longer counts)" in kept and "3.50 mm" in kept
    assert "3.50" not in left and "measured on the wrong drum" in " ".join(kept.split())


def test_a_caution_stays_with_the_owner(tmp_path: Path) -> None:
    """What is to be told to the owner stands under `Please mind`, and what is proposed next by name."""
    shop = fresh_shop(tmp_path)
    with heard(shop, "it hums in the choir loft") as session:
        said = report(shop.root, session.state.job)
    assert "The owner says: it hums in the choir loft." in section(said, "Please mind")
    assert "Hunt a rattle" in section(said, "What is proposed next")


@pytest.mark.parametrize("typed", ["2", "4,5", "7 1/4", "1/2", "½", "3 ½", "-2.50 mm", "−2", "338 mm", ".5"])
def test_a_figure_is_cut_and_not_changed(typed: str) -> None:
    """Cut before its decimals, a figure still is what was typed, with the unit typed or else the reading's."""
    cut = number(typed, "mm")
    assert f"{cut.whole}{cut.part}" == typed.removesuffix(" mm") and cut.unit == "mm"
    assert number("A3 -12c", "Hz") == ("A3 -12c", "", "")


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("3,5 turns", "3.5 turns"),
        ("3,5", "3.5 turns"),
        (",075", "0.075 turns"),
        (".50turns", "0.50 turns"),
        ("+3,50", "+3.50 turns"),
        ("1 1/2", "1 1/2 turns"),
        ("90 deg", "90 deg"),
        ("1", "1 turn"),
    ],
)
def test_a_typed_decimal_is_told_with_a_point(typed: str, told: str) -> None:
    """However its decimals were typed a value is told with a point, its digits and its unit; fractions and other units
    as they were typed."""
    assert as_typed(typed, "turns") == told


def test_the_shop_reads_beside_a_value_what_was_typed_with_a_comma(tmp_path: Path) -> None:
    """The whole record tells the value with a point and, where that is not what was typed, what was."""
    shop = fresh_shop(tmp_path)
    with heard(shop, "a hum") as session:
        said = " ".join(report(shop.root, session.state.job, "shop", "text").split())
        left = report(shop.root, session.state.job)
    assert "strainer side: 4.5 mm (typed 4,5)" in said and "(typed 7 1/4)" not in said
    assert "4,5" not in left


def test_a_note_is_told_to_the_owner_by_its_frequency_however_it_was_taken(tmp_path: Path) -> None:
    """By ear, by name or heard, a note's figure is its frequency, so that the first can be read beside the last; what
    only the bench reads (beats, the second note) is not among the owner's figures."""
    data = procedure(
        """
readings:
  tone: {ask: Note beside the rod, kind: note, per: [one, two, three, four, five], possible: 40 .. 1200}
steps:
  - step: listen
    record: [tone]
    end: done
"""
    )
    shop = fresh_shop(tmp_path)
    session = begin(shop, linked(data), drum={})
    drive(session, "reading")
    for typed in ("220", "higher 3", "A3 +20c", "219.84 Hz ±0.6c second 301.20 Hz", "219,5 Hz"):
        assert session.do(acts.Record(typed)).refusal is None
    said = " ".join(section(report(shop.root, session.state.job), "What was measured and seen").split())
    wanted = ("220 Hz", "220.6 Hz, by ear", "222.556 Hz (A3 +20c)", "219.84 Hz, give or take 0.6 cents", "219.5 Hz")
    for place, figure in zip(("one", "two", "three", "four", "five"), wanted, strict=True):
        whole, _, unit = figure.partition(" ")
        assert re.search(rf"at {place} {re.escape(whole)} +{re.escape(unit)}", said), (place, said)
    assert "higher" not in said and "second" not in said


# --- the command -----------------------------------------------------------------------------------------------------


def test_report_reads_only() -> None:
    """Making reports changes no file of the shop, not even its time."""
    before = tree(SAMPLE)
    for audience in AUDIENCES:
        for form in FORMATS:
            report(SAMPLE, "J-0002", audience, form)
    assert tree(SAMPLE) == before


def test_the_usual_report_is_the_owners_as_text() -> None:
    """Without options the owner's report is printed as text."""
    assert command("report", "J-0001", shop=SAMPLE).stdout == report(SAMPLE, "J-0001", "owner", "text")


def test_out_writes_the_file_whole_for_its_writer_only(tmp_path: Path) -> None:
    """`--out` writes the report and says where it is; only its writer can read it."""
    out = tmp_path / "copy.html"
    ran = command("report", "J-0001", "--format", "html", "--out", out, shop=SAMPLE)
    assert (ran.returncode, ran.stderr) == (0, "") and str(out) in ran.stdout and len(ran.stdout.splitlines()) == 1
    assert out.read_text(encoding="utf-8") == report(SAMPLE, "J-0001", "owner", "html")
    assert stat.S_IMODE(out.stat().st_mode) == 0o600


def test_out_never_writes_over_a_file_unless_forced(tmp_path: Path) -> None:
    """A file that is there is refused in one sentence and left as it is; --force writes over it."""
    out = tmp_path / "copy.txt"
    out.write_text("mine")
    ran = command("report", "J-0001", "--out", out, shop=SAMPLE)
    assert ran.returncode == 1 and "--force" in ran.stderr and len(ran.stderr.splitlines()) == 1
    assert (out.read_text(), ran.stdout) == ("mine", "")
    assert command("report", "J-0001", "--out", out, "--force", shop=SAMPLE).returncode == 0
    assert out.read_text(encoding="utf-8") == report(SAMPLE, "J-0001")


def test_what_cannot_be_reported_is_said_in_one_sentence(tmp_path: Path) -> None:
    """An unknown job, a place that cannot be written, a wrong word and a missing shop each end with their code."""
    shop, job = customer(tmp_path)
    nowhere = tmp_path / "no" / "such" / "copy.md"
    for arguments, code, words in (
        (("J-9999",), 1, "there is no job j-9999"),
        (("../J-0001",), 1, "cannot be a job's id"),
        ((job, "--out", nowhere), 3, "cannot be written"),
        ((job, "--out", tmp_path), 1, "already"),
        ((job, "--format", "pdf"), 2, "pdf"),
        ((job, "--for", "friend"), 2, "friend"),
    ):
        ran = command("report", *arguments, shop=shop.root)
        assert (ran.returncode, ran.stdout) == (code, "") and words in ran.stderr.lower(), arguments
        assert len(ran.stderr.splitlines()) == 1
    assert command("report", job, shop=tmp_path / "none").returncode == 2


@pytest.mark.parametrize("audience", AUDIENCES)
def test_a_damaged_job_is_not_reported(open_job: tuple[Shop, str], audience: str) -> None:
    """A changed line, a missing text and an unreadable owner's file each end in a failure that names the place."""
    shop, job = open_job
    folder = shop.job(job)
    whole = folder.log.read_bytes()
    folder.log.write_bytes(whole.replace(b'"typed":"4.5"', b'"typed":"4.6"', 1))
    ran = command("report", job, "--for", audience, shop=shop.root)
    assert (ran.returncode, ran.stdout) == (3, "") and re.search(r"Line \d+ is damaged", ran.stderr)
    folder.log.write_bytes(whole)
    facts = folder.owner.read_bytes()
    folder.owner.write_text("name: [")
    assert (ran := command("report", job, "--for", audience, shop=shop.root)).returncode == 3
    assert "owner.yaml" in ran.stderr and ran.stdout == ""
    folder.owner.write_bytes(facts)
    for path in folder.texts.iterdir():
        path.unlink()
    ran = command("report", job, "--for", audience, shop=shop.root)
    assert (ran.returncode, ran.stdout) == (3, "") and "procedure's text" in ran.stderr
    folder.log.write_bytes(b"")
    assert command("report", job, "--for", audience, shop=shop.root).returncode == 3


def test_a_last_line_cut_short_is_told(open_job: tuple[Shop, str]) -> None:
    """A torn last line does not count, and both reports say so before anything else."""
    shop, job = open_job
    with shop.job(job).log.open("ab") as log:
        log.write(b'{"v":1,"n":%d,"at":"20' % (len(events(shop, job)) + 1))
    for audience in AUDIENCES:
        said = report(shop.root, job, audience)
        assert "! The last line of the log was cut short and does not count." in said
