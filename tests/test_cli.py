"""The command contract: exit codes, one JSON document, what goes where, and readers that change nothing."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import click
import pexpect
import pytest

from benchwalk import __version__
from benchwalk.cli import COMMANDS, main
from benchwalk.errors import Refused
from benchwalk.job.shop import Shop
from benchwalk.walk import acts
from house import PATIENCE
from shop_helpers import (
    APPRENTICE,
    PINS,
    ROOT,
    SENIOR,
    Ran,
    begin,
    benchwalk,
    command,
    document,
    drive,
    events,
    fresh_shop,
    make_shop,
    tree,
    walked,
)
from walk_helpers import GAP, INNER, OUTER, REST, RESTED, SNIP, TIED, linked

SUB = {"people": ("add", "change", "pin")}
"""Commands that have commands of their own."""
ROOM = '{"clear": "340", "set": "332 mm", "least": "1"}'


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with three people."""
    return fresh_shop(tmp_path)


@pytest.fixture(scope="module")
def finished(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop with a finished practice job of the flagship, and a smaller one that waits; only to be read."""
    shop = fresh_shop(tmp_path_factory.mktemp("finished"))
    walked(begin(shop))
    with begin(
        shop, linked(OUTER, INNER, SNIP), drum={}, note={"instrument": "Side drum", "complaint": "buzz"}
    ) as session:
        drive(session, "hold", **TIED)
    return shop.root


def every_command() -> list[tuple[str, ...]]:
    """Every command with those below it."""
    found: list[tuple[str, ...]] = []
    for name in COMMANDS:
        found += [(name,), *((name, below) for below in SUB.get(name, ()))]
    return found


# --- help ------------------------------------------------------------------------------------------------------------


def test_commands_below_commands_are_all_known_here() -> None:
    """The tests of this file look at every command there is."""
    context = click.Context(main)
    for name in COMMANDS:
        found = main.get_command(context, name)
        assert found is not None
        below = tuple(sorted(found.commands)) if isinstance(found, click.Group) else ()
        assert below == tuple(sorted(SUB.get(name, ())))


@pytest.mark.parametrize("words", every_command(), ids=" ".join)
@pytest.mark.parametrize("flag", ["--help", "-h"])
def test_help_of_every_command(words: tuple[str, ...], flag: str) -> None:
    """Every command says what it is for, on stdout, with exit code 0, whether there is a shop or not."""
    ran = command(*words, flag, shop=Path("/nowhere/at/all"))
    assert ran.returncode == 0 and ran.stderr == ""
    assert ran.stdout.startswith(f"Usage: benchwalk {' '.join(words)} ")
    assert "!" not in ran.stdout and len(ran.stdout.splitlines()[2].strip()) > 20


def test_help_lists_every_command_with_a_word_about_it() -> None:
    """`benchwalk --help` names each command with what it does, as its own help says it."""
    ran = command("--help")
    assert ran.returncode == 0
    for name, about in COMMANDS.items():
        assert any(line.split()[:1] == [name] for line in ran.stdout.splitlines()), name
        assert about.endswith(".")
    assert "--shop DIR" in ran.stdout


def test_version_is_said() -> None:
    """`benchwalk --version` says the version of the package."""
    ran = command("--version")
    assert ran == Ran(0, f"benchwalk, version {__version__}\n", "")


def test_without_a_command_and_a_shop_there_is_help() -> None:
    """`benchwalk` alone says what can be done where there is no shop yet."""
    ran = command()
    assert ran.returncode == 0 and ran.stdout == command("--help").stdout and ran.stderr == ""


def test_without_a_command_the_bench_is_shown(finished: Path) -> None:
    """`benchwalk` alone shows the jobs in hand and what each waits for; what is released is not in hand."""
    ran = command(shop=finished)
    assert ran.returncode == 0 and ran.stderr == ""
    assert ran.stdout.splitlines()[0] == "Mill Lane Drums: 1 in hand."
    assert "J-0002  practice  tie-both  at stop 10, senior look, waits for a senior's look  (Side drum)" in ran.stdout
    assert "J-0001" not in ran.stdout


def test_bench_begins_with_the_next_look(shop: Shop) -> None:
    """What waits for somebody's look stands first, then what a time runs for, then work in hand, then what rests."""
    with begin(shop, linked(GAP), drum={}) as session:
        drive(session, "@measure")
        session.do(acts.Pause("later"))
    begin(shop, linked(GAP), drum={}).close()
    with begin(shop, linked(REST), drum={}) as session:
        drive(session, "wait", **RESTED)
    with begin(shop, linked(OUTER, INNER, SNIP), drum={}) as session:
        drive(session, "hold", **TIED)
    with begin(shop, linked(GAP), drum={}) as session:
        drive(session, "ended", gap="4", lie="all")
    lines = command(shop=shop.root).stdout.splitlines()
    assert [line.split()[0] for line in lines if line.startswith("J-")] == [
        "J-0004",
        "J-0005",
        "J-0003",
        "J-0002",
        "J-0001",
    ]
    assert "waits until 09:" in lines[3] and "put down at stop 1, measure" in lines[5]


# --- exit codes and where words go -----------------------------------------------------------------------------------


def test_exit_codes(finished: Path, tmp_path: Path) -> None:
    """0 fine, 1 findings or a refusal, 2 usage, 3 failure; words on stdout, complaints on stderr."""
    broken = tmp_path / "broken.yaml"
    broken.write_text("procedure: broken\ntitle: 5\n", encoding="utf-8")
    damaged = tmp_path / "damaged"
    shutil.copytree(finished, damaged)
    log = damaged / "jobs" / "J-0001" / "log.jsonl"
    log.write_bytes(log.read_bytes().replace(b'"cords"', b'"strap"', 1))
    cases: list[tuple[int, Ran]] = [
        (0, command("check", "tie-one-side")),
        (0, command("jobs", shop=finished)),
        (1, command("check", broken)),
        (1, command("show", "J-0099", shop=finished)),
        (1, command("audit", shop=damaged)),
        (2, command("check", tmp_path / "none.yaml")),
        (2, command("show", shop=finished)),
        (2, command("jobs", shop=tmp_path / "nowhere")),
        (3, command("report", "J-0001", shop=damaged)),
    ]
    assert [ran.returncode for _code, ran in cases] == [code for code, _ran in cases]
    for code, ran in cases:
        assert "Traceback" not in ran.stdout + ran.stderr
        if code in (2, 3):
            assert ran.stdout == "" and len(ran.stderr.splitlines()) == 1 and ran.stderr.endswith((".\n", "?\n"))


def test_unknown_command_and_option_are_usage() -> None:
    """A command or an option that does not exist is said in one sentence, with what was probably meant."""
    ran = command("adit")
    assert ran == Ran(2, "", "There is no command 'adit'; did you mean 'audit'?\n")
    ran = command("frobnicate")
    assert ran.returncode == 2 and "`benchwalk --help` lists them" in ran.stderr
    ran = command("jobs", "--jsno")
    assert ran.returncode == 2 and ran.stdout == "" and len(ran.stderr.splitlines()) == 1
    ran = command("draw", "tie-one-side", "--format", "crayon")
    assert ran.returncode == 2 and "crayon" in ran.stderr


NEEDS_A_SHOP: list[tuple[str, ...]] = [
    ("jobs",),
    ("show", "J-0001"),
    ("audit",),
    ("audit", "J-0001", "--again"),
    ("people",),
    ("people", "change", "tam", "--role", "senior"),
    ("people", "pin", "tam"),
    ("intake", "retie-snare-cords", "--who", "tam"),
    ("approve", "retie-snare-cords", "--who", "tam"),
    ("walk", "--job", "J-0001", "--who", "tam"),
]


@pytest.mark.parametrize("words", NEEDS_A_SHOP, ids=" ".join)
def test_missing_shop_is_usage(tmp_path: Path, words: tuple[str, ...]) -> None:
    """A command that needs a shop says in one sentence that there is none, and how one is made; nothing is made."""
    nowhere = tmp_path / "nowhere"
    ran = command(*words, shop=nowhere)
    assert ran == Ran(2, "", f"{nowhere}: There is no shop here yet; `benchwalk people add` makes one.\n")
    other = tmp_path / "other"
    other.mkdir()
    (other / "letter.txt").write_text("Dear owner", encoding="utf-8")
    ran = command(*words, shop=other)
    assert ran == Ran(2, "", f"{other}: This folder is no shop: it holds no shop.yaml.\n")
    assert not nowhere.exists() and [path.name for path in other.iterdir()] == ["letter.txt"]


@pytest.mark.parametrize(
    "words",
    [
        *(("check", "tie-one-side"), ("draw", "tie-one-side"), ("rehearse", "tie-one-side"), ("sum",), ("where",)),
        *(("sheet", "tie-one-side"), ("changes", "tie-one-side", "tie-one-side")),
    ],
    ids=" ".join,
)
def test_no_shop_is_needed_to_look_at_procedures(tmp_path: Path, words: tuple[str, ...]) -> None:
    """Procedures are checked, drawn and rehearsed, and sums and places told, without any shop; none is made."""
    ran = command(*words, shop=tmp_path / "nowhere")
    assert ran.returncode == 0 and ran.stderr == "" and ran.stdout
    assert not (tmp_path / "nowhere").exists()


# --- JSON ------------------------------------------------------------------------------------------------------------


def test_rehearse_json_is_as_the_contract_has_it() -> None:
    """The keys of `rehearse --json`, all the way down; numbers as text, as typed, beside value and unit."""
    data = document(command("rehearse", "retie-snare-cords", "--json").stdout)
    assert set(data) == {"procedure", "revision", "runs"}
    assert data["procedure"] == "retie-snare-cords" and isinstance(data["revision"], str)
    for run in data["runs"]:
        assert set(run) == {"example", "outcome", "visits", "readings", "findings", "ok", "why"}
        assert run["ok"] is True and run["why"] is None
        for rounds in run["readings"].values():
            for each in rounds:
                assert set(each) == {"visit", "typed", "value", "unit", "in_tolerance", "places"}
                assert all(set(p) == {"place", "typed", "value", "in_tolerance"} for p in each["places"])
                assert each["typed"] is None or isinstance(each["typed"], str)
                assert each["in_tolerance"] in (True, False, None)
    plain = data["runs"][0]
    assert "butt/thread" in plain["visits"] and "butt.stopper" in plain["readings"]
    (gap,) = plain["readings"]["butt_gap"]
    assert gap == {"visit": gap["visit"], "typed": "4", "value": "4", "unit": "mm", "in_tolerance": True, "places": []}
    assert plain["readings"]["knob_set"][0]["in_tolerance"] is None
    (skew,) = plain["readings"]["skew"]
    assert [p["place"] for p in skew["places"]] == ["butt side", "strainer side"] and skew["in_tolerance"] is True


def test_check_json_is_as_the_contract_has_it(tmp_path: Path) -> None:
    """The keys of `check --json`, clean or not, and `--format json` says the same."""
    clean = tmp_path / "look-over.yaml"
    clean.write_bytes(GAP)
    ran = command("check", clean, "--no-rehearsal", "--json")
    assert ran.returncode == 0 and {f["severity"] for f in document(ran.stdout)["findings"]} <= {"advice"}
    path = tmp_path / "faulty.yaml"
    path.write_bytes(GAP.replace(b"3 mm <= gap <= 6 mm", b"3 mm <= gap <= 5 mm").replace(b"otherwise", b"gap > 6 mm"))
    ran = command("check", path, "--json")
    assert ran.returncode == 1 and ran.stderr == ""
    data = document(ran.stdout)
    assert set(data) == {"findings"} and data["findings"]
    for finding in data["findings"]:
        assert set(finding) == {"file", "line", "column", "rule", "severity", "message", "related", "witness"}
        assert finding["severity"] in ("error", "advice") and finding["line"] >= 1
        assert all(set(place) == {"line", "column", "message"} for place in finding["related"])
    assert any(finding["witness"] for finding in data["findings"])
    assert document(command("check", path, "--format", "json").stdout) == data
    for style in ("sarif", "ci", "text"):
        assert command("check", path, "--format", style).returncode == 1


def test_audit_json_is_as_the_contract_has_it(finished: Path) -> None:
    """The keys of `audit --json`; the head is that of the log, and --again works out the same."""
    for more in ((), ("--again",)):
        ran = command("audit", *more, "--json", shop=finished)
        data = document(ran.stdout)
        assert ran.returncode == 0 and set(data) == {"jobs"} and len(data["jobs"]) == 2
        for row in data["jobs"]:
            assert set(row) == {"job", "events", "ok", "first_bad_line", "why", "head"}
            assert row["ok"] is True and row["first_bad_line"] is None and row["why"] is None
            assert row["head"] == events(Shop.open(finished), row["job"])[-1]["hash"]


def test_other_json_documents(finished: Path) -> None:
    """The keys of the other commands' JSON, written down here so that none goes missing unseen."""
    jobs = document(command("jobs", "--json", shop=finished).stdout)
    keys = {"job", "kind", "procedure", "opened", "person", "owner", "instrument", "complaint", "state"}
    assert set(jobs) == {"jobs"} and all(set(row) == keys for row in jobs["jobs"])
    show = document(command("show", "J-0001", "--json", shop=finished).stdout)
    keys = {"job", "kind", "procedure", "revision", "outcome", "released", "stale", "readings", "events", "head"}
    assert set(show) == keys | {"owner", "owner_removed"}
    assert show["outcome"] == "done" and show["events"][-1]["hash"] == show["head"]
    people = document(command("people", "--json", shop=finished).stdout)
    assert people["people"][0] == {"id": SENIOR, "name": "Mara Quill", "roles": ["senior"], "pin": True}
    where = document(command("where", "--json", shop=finished).stdout)
    assert {"shop", "people", "procedures", "approvals", "jobs", "cache", "shipped procedures"} <= set(where)
    assert where["shop"] == str(finished) and where["shop chosen by"] == "--shop"
    sums = document(command("sum", "--json").stdout)
    assert {"sum", "version", "about", "inputs", "outputs", "no_result", "source"} == set(sums["sums"][0])
    room = document(command("sum", "snare-room", "--json", input=ROOM).stdout)
    assert set(room) == {"sum", "version", "outputs", "no_result"} and room["outputs"]["r"] == "8.0"


def test_a_sum_takes_no_endless_input() -> None:
    """More than the readings of a drum on stdin, or in one list of rounds, is refused before it is worked with."""
    ran = command("sum", "spread", input='{"values": [' + "1, " * 2_000_000 + "2]}")
    assert (ran.returncode, ran.stdout) == (2, "") and "More than 4 MB came on stdin" in ran.stderr
    rounds = json.dumps([[220] * 6000] * 2)
    ran = command("sum", "band-likeness", input=f'{{"a": {rounds}, "b": {rounds}}}')
    assert ran.returncode == 2 and "All rounds together have 12000 values; at most 10000 are taken" in ran.stderr


JSON_COMMANDS: list[tuple[str, ...]] = [
    ("check", "no-such-procedure", "--json"),
    ("check", "./none.yaml", "--format", "json"),
    ("check", "./none.yaml", "--format=json"),
    ("rehearse", "no-such-procedure", "--json"),
    ("changes", "no-such-procedure", "tie-one-side", "--json"),
    ("rehearse", "tie-one-side", "--answers", "none.yaml", "--json"),
    ("jobs", "--json"),
    ("show", "J-0001", "--json"),
    ("audit", "--json"),
    ("people", "--json"),
    ("intake", "retie-snare-cords", "--json"),
    ("sum", "no-such-sum", "--json"),
    ("sum", "snare-room", "--json"),
    ("show", "--json"),
    ("frobnicate", "--json"),
    ("jobs", "--json", "--frobnicate"),
]


@pytest.mark.parametrize("words", JSON_COMMANDS, ids=" ".join)
def test_errors_are_json_too(tmp_path: Path, words: tuple[str, ...]) -> None:
    """With --json a complaint is the one document on stdout, {"error": {"message", "where"}}, and stderr is empty."""
    ran = command(*words, shop=tmp_path / "nowhere")
    assert ran.returncode == 2 and ran.stderr == ""
    data = document(ran.stdout)
    assert set(data) == {"error"} and set(data["error"]) == {"message", "where"}
    assert data["error"]["message"] and ran.stdout.count("\n") == 1


def test_findings_are_not_an_error_document(finished: Path, tmp_path: Path) -> None:
    """Findings (exit 1) are the command's own document; a failure (exit 3) is an error with its place."""
    damaged = tmp_path / "damaged"
    shutil.copytree(finished, damaged)
    log = damaged / "jobs" / "J-0002" / "log.jsonl"
    log.write_bytes(log.read_bytes().replace(b'"340"', b'"341"', 1))
    ran = command("audit", "--json", shop=damaged)
    rows = {row["job"]: row for row in document(ran.stdout)["jobs"]}
    assert ran.returncode == 1 and rows["J-0001"]["ok"] and not rows["J-0002"]["ok"]
    assert rows["J-0002"]["first_bad_line"] and "damaged" not in rows["J-0002"]["why"]
    ran = command("show", "J-0002", "--json", shop=damaged)
    assert ran.returncode == 3
    error = document(ran.stdout)["error"]
    assert error["message"].startswith(f"line {rows['J-0002']['first_bad_line']} is damaged") and error["where"] == str(
        log
    )


# --- readers change nothing ------------------------------------------------------------------------------------------

READERS: list[tuple[str, ...]] = [
    (),
    ("jobs",),
    ("jobs", "snare", "done"),
    ("jobs", "--json"),
    ("show", "J-0001"),
    ("show", "J-0001", "--json"),
    ("audit",),
    ("audit", "--again"),
    ("audit", "J-0002", "--json"),
    ("people",),
    ("where",),
    ("check", "tie-one-side"),
    ("draw", "tie-one-side", "--walked"),
    ("draw", "tie-one-side", "--format", "svg"),
    ("sheet", "--job", "J-0002"),
    ("sheet", "tie-one-side", "--format", "text"),
    ("changes", "tie-one-side", "tie-one-side"),
    ("rehearse", "tie-one-side"),
]


@pytest.mark.parametrize("words", READERS, ids=" ".join)
def test_readers_leave_the_shop_as_it_is(finished: Path, words: tuple[str, ...]) -> None:
    """No file of a shop is changed, touched, made or closed to others by a command that only reads."""
    before = tree(finished)
    ran = command(*words, shop=finished)
    assert ran.returncode == 0, ran.stderr
    assert tree(finished) == before


def test_readers_work_on_a_read_only_shop(finished: Path) -> None:
    """On a file system that takes no writing the same commands say the same."""
    shop = str(finished)
    script = "mount --bind $0 $0 && mount -o remount,ro,bind $0 && ! touch $0/x 2>/dev/null && echo ready && "
    probe = subprocess.run(["unshare", "-rm", "bash", "-c", script + "true", shop], capture_output=True, text=True)
    if probe.returncode or probe.stdout != "ready\n":
        pytest.skip("this machine lets no read-only mount be made")
    for words in READERS[:9]:
        expected = benchwalk(*words, shop=finished)
        line = [sys.executable, "-m", "benchwalk", "--shop", shop, *words]
        ran = subprocess.run(
            ["unshare", "-rm", "bash", "-c", script + '"$@"', shop, *line], capture_output=True, text=True, timeout=60
        )
        assert ran.returncode == 0, ran.stderr
        assert ran.stdout == "ready\n" + expected.stdout


def test_people_file_that_others_can_read_is_left_to_the_writers(finished: Path, tmp_path: Path) -> None:
    """Whoever only reads leaves the mode of people.yaml alone; who works here is told, and the next change mends it."""
    copied = tmp_path / "shop"
    shutil.copytree(finished, copied)
    (copied / "people.yaml").chmod(0o644)
    before = tree(copied)
    for words in (("jobs",), ("audit",), ("show", "J-0001"), ("people",), ()):
        ran = command(*words, shop=copied)
        assert ran.returncode == 0
        assert ("can be read by others on this machine" in ran.stderr) == (words == ("people",))
    assert tree(copied) == before
    (alone := tmp_path / "alone").mkdir()
    command("people", "add", "Zoë", "--role", "senior", shop=alone)
    (alone / "people.yaml").chmod(0o644)
    ran = command("people", "add", "Ann", "--role", "apprentice", shop=alone)
    assert ran.returncode == 0 and ran.stderr.startswith("people.yaml can be read by others")
    assert (alone / "people.yaml").stat().st_mode & 0o777 == 0o600


# --- single commands -------------------------------------------------------------------------------------------------


def test_jobs_are_found_by_their_words(finished: Path) -> None:
    """`jobs WORDS` lists the jobs that have all of them, in any case, and says where there is none."""
    assert [line.split()[0] for line in command("jobs", shop=finished).stdout.splitlines()] == ["J-0001", "J-0002"]
    ran = command("jobs", "SIDE", "waits", shop=finished)
    assert [line.split()[0] for line in ran.stdout.splitlines()] == ["J-0002"]
    assert command("jobs", "side", "elephant", shop=finished).stdout == "No job has all these words.\n"


def test_show_tells_the_job_in_order(finished: Path) -> None:
    """The pages of a job name every stop, what was done and noted, who signed, and how it ended."""
    text = command("show", "J-0001", shop=finished).stdout
    assert text.startswith("Job J-0001 (practice). Tie the snares anew with cords, revision 1.\n")
    stops = [line for line in text.splitlines() if line.startswith("Stop ")]
    assert [int(line.split()[1].rstrip(",")) for line in stops] == list(range(1, len(stops) + 1))
    for part in (
        "  Done: Put the 4 mm spacer between plate and hoop",
        "  From gate to gate, hoop to hoop: 340 mm [",
        "  Worked out, room: room 8 mm, gap wanted on each side 2.5 to 5.5 mm, spacer 4 mm",
        "  Went on early: practice",
        "Ended done, 2026-03-02 09:",
        "Released: practice closed, by senior, 2026-03-02 09:",
    ):
        assert part in text, part


def test_show_tells_what_happened_beside_the_steps(shop: Shop) -> None:
    """Corrections, going back, hand-overs and pauses stand at their stop, each with its reason."""
    session = begin(shop, linked(GAP), drum={})
    drive(session, "@look", gap="4")
    gap = max(session.state.entries)
    for act in (
        acts.Correct(gap, "5", "the feeler slipped"),
        acts.Pause("it lies on the pad"),
        acts.Resume(),
        acts.CheckPlace("the set has moved"),
        acts.GoBack(1, "measured too fast"),
        acts.Problem("which gap"),
        acts.SettleProblem("the near one"),
        acts.HandOver(SENIOR, "mind the lacquer"),
    ):
        assert session.do(act).refusal is None, act
    session.take_on(SENIOR)
    session.close()
    text = command("show", session.state.job, shop=shop.root).stdout
    for part in (
        f"  Gap: 5 mm; within; corrected, before: 4 mm [{gap}]",
        f"  Corrected [{gap}] to 5 mm by Tam Reyes, 2026-03-02 09:00: the feeler slipped",
        "  Put down by Tam Reyes, 2026-03-02 09:00: it lies on the pad",
        "  Taken up again by Tam Reyes, 2026-03-02 09:00",
        "  Looked at the drum again, Tam Reyes, 2026-03-02 09:00: the set has moved",
        "  Went back to stop 1, Tam Reyes, 2026-03-02 09:00: measured too fast",
        "  Problem with this step: which gap; settled: the near one",
        "  Handed to Mara Quill by Tam Reyes, 2026-03-02 09:00: mind the lacquer",
        "  Taken on by Mara Quill, 2026-03-02 09:00",
        "(gone back over: no longer counts)",
        "Worked on by: Tam Reyes, Mara Quill.",
    ):
        assert part in text, part


def test_audit_finds_a_head_that_was_kept_outside(finished: Path) -> None:
    """A head kept outside is found again; one that is not in the log means that lines are missing or made anew."""
    head = events(Shop.open(finished), "J-0001")[-1]["hash"]
    assert command("audit", "J-0001", "--head", head[:16], shop=finished).returncode == 0
    ran = command("audit", "J-0001", "--head", "0123456789abcdef", shop=finished)
    assert ran.returncode == 1 and "NOT as written: the head 0123456789abcdef is not in this log" in ran.stdout
    assert command("audit", "J-0001", "--head", "short", shop=finished).returncode == 2
    assert command("audit", "--head", head, shop=finished).returncode == 2
    ran = command("audit", "J-0099", shop=finished)
    assert (ran.returncode, ran.stdout) == (
        1,
        "J-0099  0 events  cannot be audited: there is no job J-0099 in this shop\n",
    )


def test_audit_again_says_what_works_out_differently(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """A sum that gives something else now than the log says is told with its line; the log is not touched."""
    with begin(shop, linked(OUTER, INNER, SNIP), drum={}) as session:
        drive(session, "hold", **TIED)
    before = tree(shop.root)
    import benchwalk.sums

    real = benchwalk.sums.compute

    def shifted(name: str, inputs: dict[str, Any]) -> Any:
        found = real(name, inputs)
        return found | {"r": found["r"] + 1} if isinstance(found, dict) else found  # type: ignore[operator]

    monkeypatch.setattr(benchwalk.sums, "compute", shifted)
    ran = command("audit", "--again", "--json", shop=shop.root)
    (row,) = document(ran.stdout)["jobs"]
    assert ran.returncode == 1 and not row["ok"] and "the sum room gives" in row["why"]
    assert tree(shop.root) == before


def test_rehearse_takes_a_file_of_answers_and_saves_its_logs(tmp_path: Path) -> None:
    """One example, or a list of them, in a file of its own is walked, and each log can be saved and read as one."""
    answers = tmp_path / "one.yaml"
    answers.write_text("given: {side: strainer, lever: lever_on}\nends: done\n", encoding="utf-8")
    ran = command("rehearse", "tie-one-side", "--answers", answers, "--save", tmp_path / "logs", "--json")
    (run,) = document(ran.stdout)["runs"]
    assert ran.returncode == 0 and run["example"] == "one" and run["outcome"] == "done"
    from benchwalk.job.log import read

    assert len(read(tmp_path / "logs" / "01" / "log.jsonl").events) > 20
    again = command("rehearse", "tie-one-side", "--answers", answers, "--save", tmp_path / "logs")
    assert again.returncode == 2 and "a log stands here already" in again.stderr.lower()
    answers.write_text(
        "- {example: a, given: {side: butt}, ends: stopped}\n- {example: b, ends: done}\n", encoding="utf-8"
    )
    ran = command("rehearse", "tie-one-side", "--answers", answers)
    assert ran.returncode == 1
    assert "DIFFERS: a: ends done, 7 stops\n  it ends done, and the example says stopped\n" in ran.stdout
    assert ran.stdout.endswith("1 of 2 examples of tie-one-side go as they say.\n")


def test_draw_says_the_steps(tmp_path: Path) -> None:
    """`draw` gives text or a flowchart, of an id or a path."""
    assert command("draw", "tie-one-side").stdout.startswith("Tie the cord at one side\n")
    chart = command("draw", ROOT / "procedures" / "tie-one-side.yaml", "--format", "mermaid").stdout
    assert "flowchart" in chart.splitlines()[0] or "flowchart" in chart


def test_where_names_every_place_and_whether_it_is_there(finished: Path, tmp_path: Path) -> None:
    """`where` tells each file and folder, and which of them are not there yet; it makes none."""
    lines = dict(line.split(": ", 1) for line in command("where", shop=finished).stdout.splitlines())
    assert lines["shop"] == str(finished) and lines["people"].endswith("people.yaml")
    lines = dict(line.split(": ", 1) for line in command("where", shop=tmp_path / "x").stdout.splitlines())
    assert lines["shop"] == f"{tmp_path / 'x'} (not there yet)" and not (tmp_path / "x").exists()


def test_sum_is_worked_out_on_json(tmp_path: Path) -> None:
    """A registered sum answers in words and in JSON; alone, `sum` lists what each takes and gives, with its source."""
    ran = command("sum", "snare-room", input=ROOM)
    assert ran.returncode == 0 and ran.stdout == "r: 8.0 mm\ngap: 2.5 to 5.5 mm\nspacer: 4.0 mm\n"
    ran = command("sum", "snare-room", input='{"clear": 330, "set": 332, "least": 1}')
    assert ran.returncode == 0 and ran.stdout.startswith("No result: ")
    for twice in ('{"clear": 342, "clear": 340, "set": 332}', '{"clear": {"1": 2, "1": 3}, "set": 332, "least": 1}'):
        ran = command("sum", "snare-room", input=twice)
        name = "clear" if twice.count("clear") > 1 else "1"
        assert ran.returncode == 2 and f'"{name}" stands twice in one JSON object' in ran.stderr and not ran.stdout
    listed = command("sum").stdout
    assert "snare-room (version 2): " in listed and "  source: common practice, no published source\n" in listed


def test_one_sum_says_what_it_takes_where_nothing_is_piped() -> None:
    """With `--about`, and at a terminal, NAME is told alone, and the inputs that may be left out are marked; JSON gives
    the same; a pipe with nothing in it is refused as before."""
    told = command("sum", "snare-balance", "--about").stdout
    assert told.startswith("snare-balance (version 2): ") and told.count("(version") == 1
    assert "input tolerance: number in mm, may be left out. " in told and "input butt: number in mm. " in told
    assert "output side: choice, one of butt, strainer, even. " in told
    assert """echo '{"butt": ..., "strainer": ...}' | benchwalk sum snare-balance""" in told
    [entry] = [e for e in document(command("sum", "--json").stdout)["sums"] if e["sum"] == "snare-balance"]
    assert document(command("sum", "snare-balance", "--about", "--json").stdout) == entry
    assert command("sum", "snare-balance").returncode == 2
    words = ["-m", "benchwalk", "sum", "snare-balance"]
    child = pexpect.spawn(sys.executable, words, encoding="utf-8", timeout=PATIENCE)
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0 and " ".join(child.before.split()) == " ".join(told.split())


# --- people, approval, intake ----------------------------------------------------------------------------------------


def test_first_person_makes_the_shop(tmp_path: Path) -> None:
    """`people add` makes the shop where there is none, with an id made from the name; without a terminal no PIN."""
    place = tmp_path / "new"
    ran = command("people", "add", "Zoë Núñez", "--role", "senior", shop=place)
    assert ran.returncode == 0 and ran.stdout.splitlines()[1] == "Zoë Núñez (zoe-nunez) works here now: senior."
    assert "benchwalk people pin zoe-nunez" in ran.stdout
    assert (place / "people.yaml").stat().st_mode & 0o777 == 0o600
    ran = command("people", shop=place)
    assert ran.stdout == "Zoë Núñez (zoe-nunez): senior; no PIN yet\n"
    ran = command("people", "change", "zoe", "--role", "senior", "--role", "technician", shop=place)
    assert ran.stdout == "Zoë Núñez (zoe-nunez): senior, technician.\n"
    ran = command("people", "add", "Zoe Nunez", "--role", "apprentice", shop=place)
    assert ran.returncode == 1 and "There is somebody with the id zoe-nunez already." in ran.stderr


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("people", "add", "Li"), 2, "Missing option '--role'"),
        (("people", "add", "李", "--role", "senior"), 2, "No id can be made from"),
        (("people", "add", "Bo", "--role", "Senior Tech"), 1, "cannot be a role"),
        (("people", "add", "Bo", "--role", "technician"), 1, "Only a senior may add people"),
        (("people", "add", "Bo", "--role", "technician", "--by", "Mara"), 2, "never from a pipe or a file"),
        (("people", "pin", "Tam"), 2, "never from a pipe or a file"),
        (("people", "change", "Zoe", "--role", "senior"), 1, "'Zoe' is nobody in this shop"),
        (("approve", "retie-snare-cords", "--who", "Mara"), 2, "never from a pipe or a file"),
        (("approve", "retie-snare-cords", "--who", "Zoe"), 1, "'Zoe' is nobody in this shop"),
        (("approve", "retie-snare-cords"), 2, "Missing option '--who'"),
    ],
)
def test_people_and_approvals_refuse_in_a_sentence(shop: Shop, words: tuple[str, ...], code: int, said: str) -> None:
    """What may not be done to people and approvals is one sentence with its code, and changes nothing."""
    before = tree(shop.root)
    ran = command(*words, shop=shop.root)
    assert ran.returncode == code and said in ran.stderr and ran.stdout == ""
    assert len(ran.stderr.splitlines()) == 1
    assert {k: v[2] for k, v in tree(shop.root).items()} == {k: v[2] for k, v in before.items()}


INTAKE = ("intake", "retie-snare-cords", "--who", "tam")


def test_intake_opens_a_customers_job_from_options_or_answers(shop: Shop) -> None:
    """What is not said as an option is asked in order, one line an answer; the questions do not disturb the JSON."""
    answers = "Alder School\nthe band room\nSnare drum 14 x 5 1/2 in\nRattles\n\n\n14 in\n"
    ran = command(*INTAKE, shop=shop.root, input=answers)
    assert ran.returncode == 0
    first, line = ran.stdout.splitlines()
    assert first == "Job J-0001 is open. Go on with:"
    assert line.endswith(f"benchwalk --shop {shop.root} walk --job J-0001 --who {APPRENTICE}")
    assert ran.stderr.startswith("Whose drum is it? ")
    options = ("--owner", "B", "--contact", "C", "--instrument", "D", "--complaint", "E", "--tag", "F")
    options += ("--promised", "12 March")
    ran = command(*INTAKE, *options, "--drum", "diameter=13 in", "--json", shop=shop.root)
    assert ran.stderr == "" and document(ran.stdout) == {
        "job": "J-0002",
        "procedure": "retie-snare-cords",
        "revision": "1",
    }
    opened = events(shop, "J-0002")[0]
    assert opened["kind"] == "customer" and opened["drum"]["diameter"]["typed"] == "13 in"
    assert opened["note"] == {"instrument": "D", "complaint": "E", "promised": "12 March", "tag": "F"}
    listed = command("jobs", "alder", shop=shop.root).stdout
    assert listed.startswith(
        "J-0001  customer  retie-snare-cords  before its first step  (Snare drum 14 x 5 1/2 in, Alder"
    )


@pytest.mark.parametrize(
    ("words", "answers", "code", "said"),
    [
        (INTAKE, "", 2, "Nothing answers 'Whose drum is it?'; give it as an option, or type it."),
        (INTAKE, "A\n\nB\nC\n\n\nhuge\n", 1, "is not a length"),
        ((*INTAKE, "--drum", "diameter=huge"), "", 1, "is not a length"),
        ((*INTAKE, "--drum", "diameter"), "A\n\nB\nC\n\n\n", 2, "is not of the form NAME=VALUE, as in rods=10"),
        (
            (*INTAKE, "--drum", "colour=red"),
            "A\n\nB\nC\n\n",
            2,
            "'colour' is no fact of a drum; known are rods, diameter",
        ),
        (
            ("intake", "retie-snare-cords"),
            "",
            2,
            "Say who works with --who; here work: Mara Quill, Ines Okafor, Tam Reyes.",
        ),
        (INTAKE, "\nA\n", 2, "Nothing was typed, and this has to be known; ctrl+c leaves all of it."),
        (("intake", "tie-one-side", "--who", "tam"), "", 1, "it is not approved in this shop"),
        (("intake", "no-such", "--who", "tam"), "", 2, "There is no procedure 'no-such'"),
        (("intake", "retie-snare-cords", "--who", "zoe"), "", 1, "'zoe' is nobody in this shop"),
    ],
)
def test_intake_refuses_in_a_sentence(shop: Shop, words: tuple[str, ...], answers: str, code: int, said: str) -> None:
    """What is missing or wrong at intake is one sentence, and no job is opened."""
    ran = command(*words, shop=shop.root, input=answers)
    assert ran.returncode == code and said in ran.stderr and ran.stdout == ""
    assert shop.jobs() == []


def test_intake_says_a_bad_option_before_it_asks_and_helps_at_its_questions(shop: Shop) -> None:
    """A fact that cannot be is said before the first question; `?` at a question says how to answer it."""
    ran = command(*INTAKE, "--drum", "diameter=huge", shop=shop.root, input="A\n")
    assert ran.returncode == 1 and "Whose drum is it?" not in ran.stderr
    ran = command(*INTAKE, shop=shop.root, input="?\nAlder School\n?\n\nSnare drum\nRattles\n\n\n14 in\n")
    assert ran.returncode == 0 and "One line is the answer;" in ran.stderr and "Enter alone says nothing." in ran.stderr
    assert events(shop, "J-0001")[0]["note"] == {"instrument": "Snare drum", "complaint": "Rattles"}


def test_intake_of_a_file_elsewhere_says_where_it_belongs(shop: Shop, tmp_path: Path) -> None:
    """A procedure outside the library that is not approved is refused with the folder to copy it into."""
    path = tmp_path / "look-over.yaml"
    path.write_bytes(GAP)
    ran = command("intake", path, "--who", "tam", shop=shop.root)
    assert ran.returncode == 1 and f"copy it into {shop.procedures}" in ran.stderr
    assert "take the drum in for 'look-over'" in ran.stderr and shop.jobs() == []


def test_job_is_found_however_its_number_is_typed(shop: Shop) -> None:
    """J-0001 is meant by j-1, J-1 and 1; where two are alike only the whole id is one of them."""
    begin(shop).close()
    for typed in ("J-0001", "j-1", "J-01", "1"):
        assert shop.job(typed).id == "J-0001"
    assert command("show", "j-1", shop=shop.root).stdout.startswith("Job J-0001 ")
    shop.new_job("j-1")
    assert shop.job("j-1").id == "j-1" and shop.job("J-0001").id == "J-0001"
    with pytest.raises(Refused, match="there is no job 1 in this shop; J-0001 and j-1 are alike"):
        shop.job("1")


def test_walk_says_first_that_there_is_no_such_procedure(shop: Shop) -> None:
    """A procedure that does not exist is said before how one is walked."""
    ran = command("walk", "nosuch", shop=shop.root)
    assert ran.returncode == 2 and "There is no procedure 'nosuch'" in ran.stderr


def test_intake_in_a_shop_without_people(tmp_path: Path) -> None:
    """A customer's job needs somebody who works here; a guest only practises."""
    shop = make_shop(tmp_path / "shop", people=False)
    ran = command("intake", "retie-snare-cords", shop=shop.root)
    assert ran.returncode == 1 and "is not approved in this shop" in ran.stderr
    ran = command("walk", "tie-one-side", "--practice", "--with", "side=butt", shop=shop.root)
    assert ran.returncode == 1 and "takes 'lever'" in ran.stderr and "--with lever=" in ran.stderr


def test_practice_makes_a_shop_and_a_guest_goes_on(tmp_path: Path) -> None:
    """Practice needs nothing set up: a shop is made, a guest walks, and the line that is said goes on with the job."""
    place = tmp_path / "new"
    ran = command(
        "walk", "retie-snare-cords", "--practice", "--plain", "--drum", "diameter=14 in", shop=place, input="\n1\n"
    )
    assert ran.returncode == 0 and ran.stderr == ""
    assert "a guest has the work in hand." in ran.stdout
    line = ran.stdout.splitlines()[-1].split("benchwalk ", 1)[1].split()
    assert line == ["--shop", str(place), "walk", "--job", "J-0001", "--plain"]
    ran = command(*line, input="\n\n1\n")
    assert ran.returncode == 0 and "Stop 3, covering." in ran.stdout


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        ((), 2, "Name a procedure to walk, or a job with --job ID."),
        (("retie-snare-cords",), 2, "Say --practice, or --job ID"),
        (("--job", "J-0001", "--practice"), 2, "begin a new job; --job goes on with one"),
        (("--job", "J-0001", "--drum", "rods=8"), 2, "begin a new job; --job goes on with one"),
        (("retie-snare-cords", "--practice", "--take-over", "x"), 2, "--take-over speaks of a job"),
        (("--job", "J-0001"), 2, "Say who works with --who"),
        (("tie-one-side", "--job", "J-0001", "--who", "tam"), 2, "is worked to 'look-over', not to 'tie-one-side'"),
        (("retie-snare-cords", "--practice", "--who", "zoe"), 1, "'zoe' is nobody in this shop"),
        (("tie-one-side", "--practice", "--who", "tam", "--with", "side=up"), 1, "'side' is one of butt, strainer"),
        (("tie-one-side", "--practice", "--who", "tam", "--with", "=up"), 2, "is not of the form NAME=VALUE"),
    ],
)
def test_walk_refuses_in_a_sentence(shop: Shop, words: tuple[str, ...], code: int, said: str) -> None:
    """What does not fit together on the command line of `walk` is one sentence, and no job is opened or changed."""
    begin(shop, linked(GAP), drum={}).close()
    before = events(shop, "J-0001")
    ran = command("walk", *words, "--plain", shop=shop.root)
    assert ran.returncode == code and said in ran.stderr
    assert shop.jobs() == ["J-0001"] and events(shop, "J-0001") == before


def test_walk_without_plain_and_without_a_terminal_goes_line_by_line(shop: Shop) -> None:
    """Through a pipe there is no full screen: `walk` goes line by line by itself."""
    ran = command("walk", "retie-snare-cords", "--practice", "--who", "tam", "--drum", "diameter=14 in", shop=shop.root)
    assert ran.returncode == 0 and ran.stderr == ""
    assert "Enter when all is at hand" in ran.stdout


def test_faults_of_the_program_are_said_as_such(monkeypatch: pytest.MonkeyPatch, shop: Shop) -> None:
    """An error that nobody foresaw is one sentence and exit code 3, with --json too; debugging shows where it was."""
    import benchwalk.shop.listing

    def broken(*args: object, **more: object) -> Any:
        raise ZeroDivisionError("by nothing")

    monkeypatch.setattr(benchwalk.shop.listing, "listing", broken)
    ran = command("jobs", shop=shop.root)
    assert ran.returncode == 3 and ran.stdout == ""
    assert ran.stderr.startswith("This is a fault of Benchwalk itself (ZeroDivisionError: by nothing)")
    assert "error" in document(command("jobs", "--json", shop=shop.root).stdout)
    monkeypatch.setenv("BENCHWALK_DEBUG", "1")
    with pytest.raises(ZeroDivisionError):
        command("jobs", shop=shop.root)


def test_pins_of_the_helpers_are_pins() -> None:
    """The PINs of the invented people are such as the shop takes."""
    from benchwalk.job.pins import fault

    assert [fault(pin) for pin in PINS.values()] == [None, None, None]
