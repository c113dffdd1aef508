"""Bad input: one clear sentence each, the contract's exit code, nothing lost, and never a traceback."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from benchwalk.job.shop import Shop
from benchwalk.library import LARGEST
from benchwalk.walk import acts
from house import PATIENCE
from shop_helpers import (
    PINS,
    SENIOR,
    Typed,
    begin,
    benchwalk,
    command,
    document,
    drive,
    events,
    fresh_shop,
    resume,
    walked,
)
from walk_helpers import GAP, INNER, OUTER, SNIP, TIED, linked

WALK = ("walk", "--job", "J-0001", "--who", "tam", "--plain")


class Bad(NamedTuple):
    """A case: what was done to the shop (and what must be typed), the exit code, and a part of the sentence."""

    name: str
    words: tuple[str, ...]
    code: int
    said: str
    spoil: Callable[[Shop, Path], object] = lambda shop, folder: None


def _file(name: str, data: bytes) -> Callable[[Shop, Path], object]:
    return lambda shop, folder: (folder / name).write_bytes(data)


def _log(change: Callable[[bytes], bytes]) -> Callable[[Shop, Path], object]:
    def spoil(shop: Shop, folder: Path) -> None:
        log = shop.jobs_folder / "J-0001" / "log.jsonl"
        log.write_bytes(change(log.read_bytes()))

    return spoil


def _in_shop(name: str, data: bytes | None) -> Callable[[Shop, Path], object]:
    def spoil(shop: Shop, folder: Path) -> None:
        path = shop.root / name
        if data is None:
            path.unlink()
        else:
            path.write_bytes(data)

    return spoil


def _text(shop: Shop, folder: Path) -> None:
    text = next((shop.jobs_folder / "J-0001" / "texts").iterdir())
    text.write_bytes(text.read_bytes() + b"\n# more\n")


def _file_for_folder(shop: Shop, folder: Path) -> None:
    shutil.rmtree(shop.jobs_folder)
    shop.jobs_folder.write_bytes(b"not a folder")


def _held(shop: Shop, folder: Path) -> None:
    note = shop.jobs_folder / "J-0001" / "writer.json"
    note.write_text('{"who":"cy","host":"far","machine":"00","pid":7,"since":"2026-03-01T09:00:00+00:00"}')


BROKEN = b"procedure: look-over\ntitle: [\nsteps: {\n"
SHALLOW = b"procedure: look-over\ntitle: Look\nsteps:\n  - step: a\n    go: nowhere\n"
HUGE = b"# " + b"x" * (LARGEST + 1)
DEEP = b"procedure: deep\ntitle: " + b"[" * 5000

PRACTISE = ("--practice", "--who", "tam")
FLAGSHIP = ("walk", "retie-snare-cords", *PRACTISE)
REHEARSE = ("rehearse", "tie-one-side", "--answers", "{folder}/a.yaml")
NOT_AS_WRITTEN = _log(lambda data: data.replace(b'"readied"', b'"readies"', 1))
BROKEN_B = _file("b.yaml", BROKEN)

CASES = [
    # procedure files
    Bad("missing file", ("check", "{folder}/none.yaml"), 2, "There is no file"),
    Bad("folder for a file", ("check", "{folder}/"), 2, "This is a folder; a procedure is one file"),
    Bad(
        "unknown procedure",
        ("walk", "retie-snare-cord", *PRACTISE),
        2,
        "There is no procedure 'retie-snare-cord'; did you mean 'retie-snare-cords'?",
    ),
    Bad("id that climbs", ("draw", "..%2f..%2fpasswd"), 2, "There is no procedure"),
    Bad(
        "broken file walked",
        ("walk", "{folder}/b.yaml", *PRACTISE),
        1,
        "b.yaml:",
        BROKEN_B,
    ),
    Bad("broken file drawn", ("draw", "{folder}/b.yaml"), 1, "b.yaml:", BROKEN_B),
    Bad("broken file rehearsed", ("rehearse", "{folder}/b.yaml"), 1, "b.yaml:", BROKEN_B),
    Bad("broken file approved", ("approve", "{folder}/b.yaml", "--who", "Mara"), 1, "b.yaml:", BROKEN_B),
    Bad(
        "unsound file walked",
        ("walk", "{folder}/s.yaml", *PRACTISE),
        1,
        "`benchwalk check` tells them",
        _file("s.yaml", SHALLOW),
    ),
    Bad(
        "binary file walked",
        ("walk", "{folder}/x.yaml", *PRACTISE),
        1,
        "x.yaml:",
        _file("x.yaml", bytes(range(256)) * 40),
    ),
    Bad(
        "huge file walked",
        ("walk", "{folder}/h.yaml", *PRACTISE),
        2,
        "more than a procedure can have",
        _file("h.yaml", HUGE),
    ),
    Bad("huge file checked", ("check", "{folder}/h.yaml"), 2, "more than a procedure can have", _file("h.yaml", HUGE)),
    Bad(
        "deep file walked",
        ("walk", "{folder}/d.yaml", *PRACTISE),
        1,
        "d.yaml:",
        _file("d.yaml", DEEP),
    ),
    Bad(
        "empty file walked",
        ("walk", "{folder}/e.yaml", *PRACTISE),
        1,
        "e.yaml:",
        _file("e.yaml", b""),
    ),
    Bad(
        "shop's own file broken",
        FLAGSHIP,
        1,
        "retie-snare-cords.yaml:",
        _in_shop("procedures/retie-snare-cords.yaml", BROKEN),
    ),
    # files of answers
    Bad("missing answers", ("rehearse", "tie-one-side", "--answers", "{folder}/none.yaml"), 2, "cannot be read"),
    Bad("answers that are a folder", ("rehearse", "tie-one-side", "--answers", "{folder}"), 2, "cannot be read"),
    Bad(
        "broken answers",
        REHEARSE,
        2,
        "a.yaml:1:",
        _file("a.yaml", b"given: ["),
    ),
    Bad(
        "answers of another kind",
        REHEARSE,
        2,
        "'owner' is not a key of an example; known are",
        _file("a.yaml", b"given: {}\nowner: A\n"),
    ),
    Bad(
        "answers that are a text",
        REHEARSE,
        2,
        "a.yaml:1:1:",
        _file("a.yaml", b"hello"),
    ),
    Bad(
        "answers that are too many",
        REHEARSE,
        2,
        "has at most",
        _file("a.yaml", HUGE),
    ),
    Bad(
        "nowhere to save",
        ("rehearse", "tie-one-side", "--save", "{folder}/f/x"),
        3,
        "The walks cannot be saved",
        _file("f", b"a file"),
    ),
    # sums
    Bad("unknown sum", ("sum", "snare-rom"), 2, "snare-rom"),
    Bad("sum without input", ("sum", "snare-room"), 2, "takes its inputs as JSON on stdin"),
    # jobs
    Bad("job that does not exist", ("show", "J-0042"), 1, "There is no job J-0042 in this shop"),
    Bad("walk of no job", ("walk", "--job", "J-0042", "--who", "tam"), 1, "There is no job J-0042 in this shop"),
    Bad("job id that climbs", ("show", "../../etc"), 1, "cannot be a job's id"),
    Bad(
        "job of another procedure",
        ("walk", "tie-one-side", *WALK[1:]),
        2,
        "is worked to 'look-over', not to 'tie-one-side'",
    ),
    Bad("unknown person", ("walk", "--job", "J-0001", "--who", "zoe"), 1, "'zoe' is nobody in this shop; here work:"),
    Bad(
        "rubbish fact",
        (*FLAGSHIP, "--drum", "diameter=wide"),
        1,
        "is not a length",
    ),
    Bad(
        "rubbish option",
        (*FLAGSHIP, "--drum", "rubbish"),
        2,
        "'rubbish' is not of the form NAME=VALUE",
    ),
    Bad(
        "fact nobody knows",
        (*FLAGSHIP, "--drum", "taste=sweet"),
        2,
        "'taste' is no fact of a drum",
    ),
    Bad("held on another machine", WALK, 1, "This is held by cy on far", _held),
    # damage
    Bad(
        "damaged log walked",
        WALK,
        3,
        "Line 2 is damaged",
        NOT_AS_WRITTEN,
    ),
    Bad(
        "damaged log reported",
        ("report", "J-0001"),
        3,
        "Line 2 is damaged",
        NOT_AS_WRITTEN,
    ),
    Bad(
        "lines swapped",
        ("report", "J-0001"),
        3,
        "Line 2 is damaged",
        _log(lambda data: b"".join([(rows := data.splitlines(keepends=True))[0], rows[2], rows[1], *rows[3:]])),
    ),
    Bad("log that is no log", WALK, 3, "Line 1 is damaged", _log(lambda data: b"GIF89a" + bytes(range(256)))),
    Bad("empty log", WALK, 3, "Job J-0001 was never opened: nothing is in its log", _log(lambda data: b"")),
    Bad("empty log shown", ("show", "J-0001"), 3, "Job J-0001 was never opened", _log(lambda data: b"")),
    Bad("text of the job changed", WALK, 3, "was changed after it was kept", _text),
    Bad("text of the job changed, shown", ("show", "J-0001"), 3, "was changed after it was kept", _text),
    Bad(
        "file where the jobs should be",
        FLAGSHIP,
        3,
        "A job cannot be begun",
        _file_for_folder,
    ),
    Bad("file where the jobs should be, listed", ("jobs",), 3, "The jobs cannot be listed", _file_for_folder),
    # the shop's files
    Bad(
        "people.yaml broken", WALK, 3, "The people's file cannot be understood", _in_shop("people.yaml", b"people: [\n")
    ),
    Bad("people.yaml of another kind", ("people",), 3, "people", _in_shop("people.yaml", b"- tam\n")),
    Bad(
        "people.yaml without roles",
        ("people",),
        3,
        "roles of tam",
        _in_shop("people.yaml", b"people: {tam: {name: T}}\n"),
    ),
    Bad("people.yaml binary", ("people",), 3, "people.yaml", _in_shop("people.yaml", bytes(range(256)))),
    Bad(
        "shop.yaml broken", ("jobs",), 3, "The shop's settings cannot be understood", _in_shop("shop.yaml", b"name: [")
    ),
    Bad(
        "shop.yaml with another key",
        ("jobs",),
        3,
        "'colour' is no setting of a shop",
        _in_shop("shop.yaml", b"name: A\ncolour: red\n"),
    ),
    Bad("shop.yaml gone", ("jobs",), 2, "This folder is no shop: it holds no shop.yaml", _in_shop("shop.yaml", None)),
    Bad(
        "approvals damaged",
        ("intake", "retie-snare-cords", "--who", "tam"),
        3,
        "Line 1 is damaged",
        _in_shop("procedures/approvals.jsonl", b"{}\n"),
    ),
    Bad(
        "people's log damaged",
        ("people", "add", "Bo", "--role", "apprentice"),
        3,
        "Line 1 is damaged",
        _in_shop("people.jsonl", b"{}\n"),
    ),
    Bad("shop that is a file", ("--shop", "{folder}/f", "jobs"), 2, "There is no shop here", _file("f", b"a file")),
    Bad("shop without a name", ("--shop", "", "jobs"), 2, "--shop was given without a folder"),
]


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with one practice job that stands at its second step, put down by nobody."""
    made = fresh_shop(tmp_path)
    with begin(made, linked(GAP), drum={}) as session:
        drive(session, "@look", gap="4")
    return made


def sentence(said: str) -> None:
    """One line that begins with a capital, a place or a quote, and ends as a sentence does."""
    assert said.count("\n") == 1 and said.endswith((".\n", "?\n")), said
    assert "!" not in said and "Errno" not in said and "<" not in said.split(": ")[-1], said


@pytest.mark.parametrize("bad", CASES, ids=lambda bad: bad.name)
def test_bad_input_is_one_sentence(shop: Shop, tmp_path: Path, bad: Bad) -> None:
    """Each is said in one sentence on stderr (or one JSON document), with the contract's code; nothing is opened."""
    folder = tmp_path / "work"
    folder.mkdir()
    bad.spoil(shop, folder)
    words = [word.format(folder=folder) for word in bad.words]
    where = None if "--shop" in words else shop.root
    ran = command(*words, shop=where)
    assert (ran.returncode, ran.stdout) == (bad.code, ""), ran
    assert bad.said in ran.stderr, ran.stderr
    sentence(ran.stderr)
    readers = {"check", "show", "jobs", "people", "rehearse"} & set(words)
    if readers and "add" not in words and bad.spoil is not _text:  # the JSON of a job needs no procedure
        as_json = command(*words, "--json", shop=where)
        assert as_json.returncode == bad.code and as_json.stderr == ""
        assert set(document(as_json.stdout)["error"]) == {"message", "where"}


def test_tracebacks_are_nowhere_in_a_process_of_its_own(shop: Shop, tmp_path: Path) -> None:
    """The same cases, a few of each kind, as a person runs them: nothing but the sentence reaches the terminal."""
    for bad in CASES[::6]:
        folder = tmp_path / bad.name.replace(" ", "-").replace("'", "")
        folder.mkdir()
        spoiled = fresh_shop(folder)
        with begin(spoiled, linked(GAP), drum={}) as session:
            drive(session, "@look", gap="4")
        bad.spoil(spoiled, folder)
        words = [word.format(folder=folder) for word in bad.words]
        ran = benchwalk(*words, shop=None if "--shop" in words else spoiled.root)
        assert "Traceback" not in ran.stdout + ran.stderr
        assert ran.returncode == bad.code, (bad.name, ran.stderr)
        sentence(ran.stderr)


def test_findings_of_a_bad_file_are_not_a_failure(tmp_path: Path) -> None:
    """`check` on a file that can be read and is wrong answers with findings, exit code 1, whatever is in it."""
    for name, data in (("b", BROKEN), ("s", SHALLOW), ("x", bytes(range(256)) * 40), ("d", DEEP), ("e", b"")):
        path = tmp_path / f"{name}.yaml"
        path.write_bytes(data)
        ran = command("check", path)
        assert ran.returncode == 1 and ran.stderr == "", name
        assert f"{name}.yaml:1:" in ran.stdout or f"{name}.yaml:" in ran.stdout
        assert document(command("check", path, "--json").stdout)["findings"]


NO_INPUTS = [
    *(b"", b"{", b"[1]", b'"x"', b"\xff\xfe", b"9" * 5000, b"[" * 100_000, b"null", b"NaN"),
    *(b'{"clear": "wide"}', b'{"colour": 1}', b'{"clear": [1], "set": 2, "least": 1}'),
]


@pytest.mark.parametrize("data", NO_INPUTS, ids=range(len(NO_INPUTS)))
def test_bad_json_for_a_sum(data: bytes) -> None:
    """What is no JSON object of a sum's inputs is refused in one sentence, exit code 1 or 2, in words and as JSON."""
    ran = command("sum", "snare-room", input=data)
    assert ran.returncode in (1, 2) and ran.stdout == ""
    sentence(ran.stderr)
    ran = command("sum", "snare-room", "--json", input=data)
    assert ran.returncode in (1, 2) and set(document(ran.stdout)) == {"error"}


# --- what is spoiled is told and not lost ----------------------------------------------------------------------------


def test_torn_last_line_is_set_aside_and_told(shop: Shop) -> None:
    """A log whose last line was cut short goes on after it; the rest is kept beside and told once."""
    folder = shop.job("J-0001")
    whole = folder.log.read_bytes()
    folder.log.write_bytes(whole + b'{"v":1,"n":9,"at":"2026-03-02T09:0')
    shown = command("show", "J-0001", shop=shop.root)
    assert shown.returncode == 0 and "The last line of the log was cut short and does not count." in shown.stdout
    assert folder.log.read_bytes() != whole, "who only reads mends nothing"
    ran = command(*WALK, shop=shop.root, input="\n1\n")
    assert ran.returncode == 0 and ran.stderr == ""
    assert (
        "The last line was cut short (34 bytes)" in ran.stdout or "the last line was cut short (34 bytes)" in ran.stdout
    )
    assert (folder.path / "log.torn-1").read_bytes() == b'{"v":1,"n":9,"at":"2026-03-02T09:0'
    assert "Noted: All touch; as wanted." in ran.stdout
    assert events(shop, "J-0001")


def test_damaged_job_does_not_hide_the_others(shop: Shop) -> None:
    """One damaged log is a line of its own in the list and the audit; every other job is told as ever."""
    begin(shop, linked(GAP), drum={}).close()
    NOT_AS_WRITTEN(shop, shop.root)
    ran = command("jobs", shop=shop.root)
    assert ran.returncode == 0
    assert [line.split()[0] for line in ran.stdout.splitlines()] == ["J-0001", "J-0002"]
    assert "cannot be read: line 2 is damaged" in ran.stdout
    ran = command("audit", shop=shop.root)
    assert ran.returncode == 1
    assert "NOT as written: " in ran.stdout.splitlines()[0] and "  as written  " in ran.stdout.splitlines()[1]
    assert command(shop=shop.root).returncode == 0


def test_damage_is_not_mended_by_opening(shop: Shop) -> None:
    """A damaged log is left exactly as it is by every command that meets it."""
    NOT_AS_WRITTEN(shop, shop.root)
    before = shop.job("J-0001").log.read_bytes()
    for words in (WALK, ("show", "J-0001"), ("audit", "--again"), ("jobs",), ()):
        command(*words, shop=shop.root)
    assert shop.job("J-0001").log.read_bytes() == before


def test_job_held_by_another_process_is_said_so(shop: Shop) -> None:
    """A job in hand at one terminal is refused at another, with who holds it, where and since when; then it is free."""
    line = [sys.executable, "-m", "benchwalk", "--shop", str(shop.root), *WALK]
    first = subprocess.Popen(line, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert first.stdout is not None
    while "Look at the drum" not in (said := first.stdout.readline()):
        assert said, "the first one walks"
    ran = command("walk", "--job", "J-0001", "--who", "Mara", "--plain", shop=shop.root)
    assert (ran.returncode, ran.stdout) == (1, "")
    assert "This is being written by Tam Reyes on " in ran.stderr
    assert re.search(rf"\(process {first.pid}\) since \d\d:\d\d;", ran.stderr)
    sentence(ran.stderr)
    shown = command("show", "J-0001", shop=shop.root)
    assert shown.returncode == 0, "it can be read all the while"
    first.communicate("", timeout=PATIENCE)
    assert command(*WALK, shop=shop.root).returncode == 0


def test_wrong_pins_are_throttled_at_the_prompt(shop: Shop) -> None:
    """Wrong PINs again and again are refused more slowly each time, logged each time, and never end the walk."""
    session = begin(shop, kind="customer")
    from shop_helpers import reach_hold

    reach_hold(session)
    pins = iter(["204817", "204818", "204819", PINS[SENIOR], PINS[SENIOR]])
    typed = iter(["Mara", "Mara", "Mara", "/leave the senior forgot"])
    code, talk = walked(session, answer=lambda prompt: next(typed), pins=lambda prompt: next(pins))
    assert code == 0
    assert talk.flat.count("This is not the PIN of Mara Quill") == 3
    assert talk.flat.count("3 wrong PINs in a row for Mara Quill; try again in ") == 2
    refused = [json.loads(line) for line in (shop.root / "people.jsonl").read_text().splitlines()]
    assert [e["what"] for e in refused][-3:] == ["pin_refused"] * 3
    assert session.state.signs == [] and session.state.paused == "the senior forgot"


# --- disks -----------------------------------------------------------------------------------------------------------

IN_A_SPACE = ["unshare", "-rm", "bash", "-c"]


def in_a_space(script: str, *words: object) -> subprocess.CompletedProcess[str]:
    """Run a script where file systems may be mounted for it alone; skips where this machine lets none be."""
    if subprocess.run([*IN_A_SPACE, "mount -t tmpfs tmpfs /mnt"], capture_output=True, check=False).returncode:
        pytest.skip("this machine lets no file system be mounted")
    line = [*IN_A_SPACE, script, *map(str, words)]
    return subprocess.run(line, capture_output=True, text=True, timeout=60, check=False)


def test_full_disk_says_what_is_kept(shop: Shop, tmp_path: Path) -> None:
    """On a disk that fills up the act is said not to be kept, exit code 3; all before it is there and goes on later."""
    place = tmp_path / "small"
    place.mkdir()
    walking = "until grep -q place_checked $0/shop/jobs/J-0001/log.jsonl; do sleep 0.05; done;"
    fill = "dd if=/dev/zero of=$0/fill bs=4k 2>/dev/null; "
    script = (
        "mount -t tmpfs -o size=1m tmpfs $0 && cp -r $1 $0/shop && "
        f"(printf '\\n'; {walking} {fill} for i in $(seq 90); do printf '/note %02000d\\n' $i; done) | "
        "$2 -m benchwalk --shop $0/shop walk --job J-0001 --who tam --plain; code=$?; "
        "rm $0/fill; cp -r $0/shop $3; exit $code"
    )
    kept = tmp_path / "kept"
    ran = in_a_space(script, place, shop.root, sys.executable, kept)
    assert ran.returncode == 3, ran
    assert "Nothing of this act was kept: " in ran.stderr and "All before it is safe." in ran.stderr
    assert len(ran.stderr.strip().splitlines()) == 1 and "Traceback" not in ran.stdout
    assert "All that was noted is kept in job J-0001. Go on with:" in ran.stdout
    after = Shop.open(kept)
    noted = [e for e in events(after, "J-0001") if e["what"] == "noted"]
    assert ran.stdout.count("Noted.") == len(noted)
    resume(after, "J-0001").close()


def test_full_disk_at_intake_opens_nothing(shop: Shop, tmp_path: Path) -> None:
    """When there is no room for a new job none is left behind, and the sentence says so."""
    place = tmp_path / "small"
    place.mkdir()
    script = (
        "mount -t tmpfs -o size=1m tmpfs $0 && cp -r $1 $0/shop && dd if=/dev/zero of=$0/fill bs=4k 2>/dev/null; "
        "$2 -m benchwalk --shop $0/shop walk retie-snare-cords --practice --who tam --plain --drum 'diameter=14 in' "
        "</dev/null; code=$?; ls $0/shop/jobs; exit $code"
    )
    ran = in_a_space(script, place, shop.root, sys.executable)
    assert ran.returncode == 3, ran
    assert "no space is left on the disk" in ran.stderr and "Traceback" not in ran.stderr
    assert ran.stdout.split() == ["J-0001"]


def test_read_only_shop_says_so_when_it_is_to_be_written(shop: Shop) -> None:
    """A shop on a file system that takes no writing refuses each writer in one sentence with exit code 3."""
    readonly = "mount --bind $0 $0 && mount -o remount,ro,bind $0 && "
    for words in (
        WALK,
        (*FLAGSHIP, "--drum", "diameter=14 in"),
        ("people", "add", "Bo", "--role", "apprentice"),
    ):
        line = [sys.executable, "-m", "benchwalk", "--shop", str(shop.root), *words]
        ran = in_a_space(readonly + '"$@" </dev/null', shop.root, *line)
        assert ran.returncode == 3, ran
        assert "the disk is read-only" in ran.stderr and "Traceback" not in ran.stderr
        sentence(ran.stderr.splitlines()[-1] + "\n")


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write everywhere")
def test_folder_that_may_not_be_written_says_so(shop: Shop) -> None:
    """A shop whose folders this account may not write refuses in one sentence with exit code 3."""
    shop.jobs_folder.chmod(0o500)
    ran = command("walk", "retie-snare-cords", "--practice", "--who", "tam", shop=shop.root)
    shop.jobs_folder.chmod(0o700)
    assert ran.returncode == 3 and "this account may not do that here" in ran.stderr


def test_shop_below_a_file_cannot_be_made(tmp_path: Path) -> None:
    """A new shop where a file stands in the way is refused in one sentence, and the file stays."""
    (tmp_path / "f").write_bytes(b"a file")
    for place in (tmp_path / "f", tmp_path / "f" / "shop"):
        ran = command("people", "add", "Bo", "--role", "senior", shop=place)
        assert ran.returncode in (1, 3) and ran.stdout == ""
        sentence(ran.stderr)
    assert (tmp_path / "f").read_bytes() == b"a file"


def test_log_that_is_changed_under_the_walk_ends_it(shop: Shop) -> None:
    """When somebody else writes to the log of a job in hand, the walk stops, says so, and writes nothing more."""
    session = resume(shop, "J-0001")
    path = session.folder.log

    def answer(prompt: str) -> str:
        if prompt.startswith("Type its number"):
            with path.open("ab") as log:
                log.write(b"\n")
        return "1" if prompt.startswith("Type its number") else ""

    from benchwalk.job.log import LogChanged

    with pytest.raises(LogChanged, match="somebody else changed the log"):
        walked(session, answer=answer)
    assert path.read_bytes().endswith(b"}\n\n")


def test_walk_says_where_to_go_on_after_a_failure(shop: Shop) -> None:
    """After a failure of the disk the walk still says what is kept and how to go on."""
    session = resume(shop, "J-0001")

    def failing(fd: int, data: bytes) -> int:
        raise OSError(28, "No space left on device")

    def answer(prompt: str) -> str:
        session.log._write = failing
        return ""

    from benchwalk.job.log import NothingKept
    from benchwalk.plain.walk import PlainWalk

    conversation = Typed(answer)
    with session, pytest.raises(NothingKept):
        PlainWalk(session, conversation).go()
    assert "All that was noted is kept in job J-0001. Go on with:" in conversation.said


def test_every_act_of_a_piped_walk_stands_before_it_is_said(shop: Shop) -> None:
    """What is printed as noted is on disk at that moment, also when the process is killed right after."""
    with begin(shop, linked(OUTER, INNER, SNIP), drum={}) as session:
        drive(session, "@measure", **TIED)
        session.do(acts.Note("before"))
    line = [sys.executable, "-m", "benchwalk", "--shop", str(shop.root), "walk", "--job", "J-0002", "--who", "tam"]
    process = subprocess.Popen([*line, "--plain"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert process.stdin is not None and process.stdout is not None
    process.stdin.write("\n/note this stands\n")
    process.stdin.flush()
    while "Noted." not in process.stdout.readline():
        pass
    process.kill()
    process.wait()
    assert [e["text"] for e in events(shop, "J-0002") if e["what"] == "noted"] == ["before", "this stands"]
