"""Damage to a log and to what lies beside it: every byte counts, the first bad line is named, nothing is guessed."""

from __future__ import annotations

import hashlib
import json
import os
from pathlib import Path
from typing import Any

import pytest

from benchwalk.errors import Refused
from benchwalk.job.audit import audit
from benchwalk.job.folder import NOT_OPENED, JobFolder, keep_file, pin_text
from benchwalk.job.log import DamagedLog, JobLog, read
from benchwalk.job.owner import keep_owner, remove_owner
from benchwalk.job.shop import Shop
from test_log import ADA, Unsynced, body, remade, written

# --- bytes ---------------------------------------------------------------------------------------------------------


def small_log(path: Path) -> bytes:
    """The bytes of a log with what occurs in logs: nested values, other scripts, quotes, a backslash."""
    with JobLog.open(path, ADA) as log:
        log.append([body(1, "opened", job="J-0001", texts={"retie": "0" * 64})])
        log.append([body(2, text='he said "a \\ b" — 1½'), body(3, covers=[1, 2], hash_of={"hash": "1" * 64})])
        log.append([body(4)])
    return path.read_bytes()


@pytest.mark.parametrize("pattern", [0x01, 0x20, 0x80, 0xFF, 0x2A, 0x0A])
def test_every_byte_counts(tmp_path: Path, pattern: int) -> None:
    """Change any one byte of a log in any of these ways: the line it stands in is named, and never another."""
    path = tmp_path / "log.jsonl"
    sound = small_log(path)
    for at in range(len(sound)):
        path.write_bytes(sound[:at] + bytes([sound[at] ^ pattern]) + sound[at + 1 :])
        with pytest.raises(DamagedLog) as damage:
            read(path)
        assert damage.value.line == sound[:at].count(b"\n") + 1, f"byte {at}"
        assert f"line {damage.value.line} is damaged" in str(damage.value)


@pytest.mark.heavy
def test_every_byte_counts_in_every_way(tmp_path: Path) -> None:
    """Change any one byte of a log to any other value: the line it stands in is named."""
    path = tmp_path / "log.jsonl"
    sound = small_log(path)
    for at in range(len(sound)):
        for other in range(256):
            if other == sound[at]:
                continue
            path.write_bytes(sound[:at] + bytes([other]) + sound[at + 1 :])
            with pytest.raises(DamagedLog) as damage:
                read(path)
            assert damage.value.line == sound[:at].count(b"\n") + 1, f"byte {at} to {other}"


def test_the_writer_refuses_a_damaged_log_and_leaves_it_alone(tmp_path: Path) -> None:
    """Damage in any line keeps the log from being opened for work; no byte of it is changed and no note stays."""
    path = tmp_path / "log.jsonl"
    sound = small_log(path)
    for at in (0, 10, len(sound) // 2, len(sound) - 3, len(sound) - 1):
        bad = sound[:at] + b"~" + sound[at + 1 :]
        path.write_bytes(bad)
        with pytest.raises(DamagedLog):
            JobLog.open(path, ADA)
        assert path.read_bytes() == bad and os.listdir(tmp_path) == ["log.jsonl"]


def test_lines_taken_out_put_in_doubled_or_swapped_are_named(tmp_path: Path) -> None:
    """The chain names the first line that does not follow from the one before it."""
    path = tmp_path / "log.jsonl"
    written(path, 4)
    a, b, c, d = path.read_bytes().splitlines(keepends=True)
    for kept, line in (
        ([b, c, d], 1),
        ([a, c, d], 2),
        ([a, b, d], 3),
        ([a, b, b, c, d], 3),
        ([a, c, b, d], 2),
        ([a, b, b"\n", c, d], 3),
        ([a, b, c, d, b"\n"], 5),
        ([b"\xef\xbb\xbf", a, b], 1),
        ([a.replace(b"\n", b"\r\n"), b], 1),
    ):
        path.write_bytes(b"".join(kept))
        with pytest.raises(DamagedLog) as damage:
            read(path)
        assert damage.value.line == line


def test_line_of_another_log_is_named(tmp_path: Path) -> None:
    """A sound line with the right number, taken from another log, does not follow from the line before it."""
    path, other = tmp_path / "log.jsonl", tmp_path / "other.jsonl"
    written(path, 3)
    with JobLog.open(other, ADA) as log:
        log.append([body(1, text="elsewhere"), body(2, text="elsewhere")])
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([lines[0], other.read_bytes().splitlines(keepends=True)[1], lines[2]]))
    with pytest.raises(DamagedLog, match="it follows a line with the hash") as damage:
        read(path)
    assert damage.value.line == 2


# --- a last line cut short -----------------------------------------------------------------------------------------


def test_log_cut_at_every_byte_loses_at_most_its_last_line(tmp_path: Path) -> None:
    """Cut a log anywhere: whole lines before the cut stay, the rest is set aside and told, and work goes on."""
    path = tmp_path / "log.jsonl"
    sound = small_log(path)
    events = read(path).events
    for at in range(len(sound)):
        path.write_bytes(sound[:at])
        whole = sound[:at].count(b"\n")
        rest = sound[:at].rpartition(b"\n")[2] if whole else sound[:at]
        assert read(path).torn == (rest or None)
        assert path.read_bytes() == sound[:at], "reading changes nothing"
        with JobLog.open(path, ADA, disk=Unsynced()) as log:
            assert log.opened.events == events[:whole] and log.next_n == whole + 1
            assert len(log.notices) == (1 if rest else 0)
            if rest:
                assert f"cut short ({len(rest)} bytes)" in log.notices[0] and "log.torn-1" in log.notices[0]
                assert (tmp_path / "log.torn-1").read_bytes() == rest
                (tmp_path / "log.torn-1").unlink()
            log.append([body(whole + 1, text="goes on")])
        assert len(read(path).events) == whole + 1


def test_each_torn_line_is_kept_under_a_name_of_its_own(tmp_path: Path) -> None:
    """A second torn line does not overwrite what was set aside before."""
    path = tmp_path / "log.jsonl"
    for number in (1, 2, 3):
        written(path, 1)
        with open(path, "ab") as file:
            file.write(b'{"v":1,"n":%d,"at":"20' % (number + 1))
        with JobLog.open(path, ADA):
            assert (tmp_path / f"log.torn-{number}").read_bytes().endswith(b'"at":"20')


def test_whole_event_without_its_newline_was_not_confirmed(tmp_path: Path) -> None:
    """A last event that lacks only its newline counts as torn; followed by anything else it is damage."""
    path = tmp_path / "log.jsonl"
    written(path, 2)
    bare = path.read_bytes()[:-1]
    path.write_bytes(bare)
    assert len(read(path).events) == 1 and read(path).torn == bare.splitlines()[1]
    for more in (b" ", b"\0", b"\r", b"x", b"}", b'{"v":1'):
        path.write_bytes(bare + more)
        with pytest.raises(DamagedLog, match="line 2 is damaged: a whole event stands there"):
            read(path)
    changed = bare.replace(b"event 2", b"event 9")
    path.write_bytes(changed)
    with pytest.raises(DamagedLog, match="line 2 is damaged"):
        read(path)


@pytest.mark.parametrize(
    "rest",
    [
        b"hello",
        b"[",
        b"}",
        b'{"v":1,"n":4,"at":"2026',
        b'{"x":1',
        b'{"v":1,"n":3,"at":"\t',
        b'{"v":1,"n":3,"at":"\xff\xff',
        b"\xff",
    ],
)
def test_what_does_not_begin_the_next_event_is_damage(tmp_path: Path, rest: bytes) -> None:
    """Bytes after the last line that are not the beginning of the next event are not taken for a torn line."""
    path = tmp_path / "log.jsonl"
    written(path, 2)
    with open(path, "ab") as file:
        file.write(rest)
    with pytest.raises(DamagedLog) as damage:
        read(path)
    assert damage.value.line == 3


def test_zeros_left_by_a_power_cut_are_set_aside(tmp_path: Path) -> None:
    """Zeros from where the unconfirmed line began, or a sector's edge in it, are a torn line; others are damage."""
    path = tmp_path / "log.jsonl"
    written(path, 2)
    sound = path.read_bytes()
    begun = b'{"v":1,"n":3,"at":"2026-11-25T09:53:46+00:00","who":"ada","what":"noted","text":"' + b"x" * 512
    edge = -len(sound) % 512
    assert edge
    for rest in (b"\0" * 512, begun[:edge] + b"\0" * 100, begun[: edge + 512] + b"\0"):
        path.write_bytes(sound + rest)
        assert read(path).torn == rest
    for bad in (sound + b"\0\0\n", sound[:-5] + b"\0" * 5, sound + begun[: edge - 1] + b"\0" * 9, sound + b"\0{"):
        path.write_bytes(bad)
        with pytest.raises(DamagedLog):
            read(path)


# --- hashes right, event wrong -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({k: v for k, v in body(2).items() if k != "what"}, "it has no 'what'"),
        ({k: v for k, v in body(2).items() if k != "at"}, "it has no 'at'"),
        ({**body(2), "n": 3}, "it is numbered 3"),
        ({**body(2), "n": "2"}, "its 'n' is '2'"),
        ({**body(2), "v": 0}, "its 'v' is 0"),
        ({**body(2), "v": True}, "its 'v' is True"),
        ({**body(2), "who": 7}, "its 'who' is 7"),
        ({**body(2), "at": "yesterday"}, "its time is 'yesterday'"),
        ({**body(2), "what": ["x"]}, "its 'what' is"),
        ({"n": 2, "v": 1, "at": body(2)["at"], "who": "ada", "what": "x"}, "do not open with"),
    ],
)
def test_event_with_right_hash_and_wrong_keys_is_named(tmp_path: Path, wrong: dict[str, Any], why: str) -> None:
    """A line whose hash fits but which is no event of ours is named with what it lacks."""
    path = tmp_path / "log.jsonl"
    remade(path, [body(1), wrong, body(3)])
    with pytest.raises(DamagedLog) as damage:
        read(path)
    assert damage.value.line == 2 and why in damage.value.why


@pytest.mark.parametrize(
    "content",
    [
        b"[1,2",
        b'{"v":1,"n":1,"at":"2026-11-25T09:53:46+00:00","who":"ada","what":"x","what":["y"]',
        b'{"v":1,"n":1,"at":"2026-11-25T09:53:46+00:00","who":"ada","what":"x","n":7',
        b'{ "v":1,"n":1,"at":"2026-11-25T09:53:46+00:00","who":"ada","what":"x"',
        b'{"v":1,"n":1,"at":"2026-11-25T09:53:46+00:00","who":"ada","what":"x","text":"\xff"',
        b'{"v":1,"n":1,"at":"2026-11-25T09:53:46+00:00","who":"ada","what":"x","value":1.5',
        b'{"v":1,"n":1,"at":"2026-11-25T09:53:46+00:00","who":"ada","what":"x","value":NaN',
        b"not json",
        b'"text"',
    ],
)
def test_line_of_foreign_make_is_named_by_the_strict_reading(tmp_path: Path, content: bytes) -> None:
    """What this program never writes, such as a key twice or a fraction, is named even when somebody fixed the hash."""
    path = tmp_path / "log.jsonl"
    head = content + b',"before":"' + b"0" * 64 + b'"'
    path.write_bytes(head + b',"hash":"' + hashlib.sha256(head).hexdigest().encode() + b'"}\n')
    with pytest.raises(DamagedLog) as damage:
        read(path, strict=True)
    assert damage.value.line == 1


# --- the audit -----------------------------------------------------------------------------------------------------

TEXT = b"procedure: retie\n"
SALT = bytes(range(16))


def signed(n: int, job: str, what: str = "released", **fields: Any) -> dict[str, Any]:
    """A signature event."""
    made = {"job": job, "step": "look", "visit": "look", "meaning": "checked", "covers": [1, 2], **fields}
    return body(n, what, **{key: value for key, value in made.items() if value is not None})


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with one finished job: a pinned text, a recording, an owner, two signatures."""
    made = Shop.create(tmp_path / "shop", "The back room")
    job = made.new_job()
    text = pin_text(job, TEXT)
    (tmp_path / "tap.wav").write_bytes(b"RIFF")
    owner = keep_owner(job, {"name": "Bo Ferris", "contact": "12 Mill Lane"}, SALT)
    with JobLog.open(job.log, ADA) as log:
        log.append([body(1, "opened", job=job.id, text=text, texts={"retie": text}, owner=owner)])
        log.append(
            [body(2, "noted", text="0" * 64), signed(3, job.id), signed(4, job.id, "job_released", head=log.head)]
        )
    keep_file(job, tmp_path / "tap.wav")
    return made


def test_sound_job_passes_with_the_promised_fields(shop: Shop) -> None:
    """The audit of a sound job says so, with its number of events and its head, under exactly the promised names."""
    [row] = audit(shop)
    head = read(shop.job("J-0001").log).head
    assert row == {"job": "J-0001", "events": 4, "ok": True, "first_bad_line": None, "why": None, "head": head}
    assert audit(shop, ["J-0001"], {"J-0001": head[:16]})[0]["ok"]


def rewrite(job: JobFolder, change: dict[int, dict[str, Any]]) -> None:
    """Change events by number and make all hashes anew, as somebody who can write the folder might."""
    events = [
        change.get(e["n"], {k: v for k, v in e.items() if k not in ("before", "hash")}) for e in read(job.log).events
    ]
    remade(job.log, events)


@pytest.mark.parametrize(
    ("signature", "why"),
    [
        (signed(3, "J-0002"), "is for job J-0002, not for this one"),
        (signed(3, "J-0001", covers=[1, 3]), "covers event 3, which does not come before it"),
        (signed(3, "J-0001", covers=[9]), "covers event 9"),
        (signed(3, "J-0001", covers=["x"]), "covers event 'x'"),
        (signed(3, "J-0001", covers=[0]), "covers event 0"),
        (signed(3, "J-0001", covers=None), "does not say which events it covers"),
        (signed(3, "J-0001", "job_released", head="a" * 64), "names a head that no event before it has"),
        ({**signed(3, "J-0001"), "job": None}, "is for job unnamed"),
        (signed(3, "J-0002", "refused"), "('refused' by ada) is for job J-0002"),
        (signed(3, "J-0002", "accepted"), "('accepted' by ada) is for job J-0002"),
    ],
)
def test_signature_that_does_not_belong_is_named(shop: Shop, signature: dict[str, Any], why: str) -> None:
    """A signature copied from another job, or covering what it cannot, fails at its line though all hashes fit."""
    rewrite(shop.job("J-0001"), {3: signature})
    [row] = audit(shop)
    assert not row["ok"] and row["first_bad_line"] == 3
    assert why in row["why"]


def test_signature_line_copied_from_another_job_is_named(shop: Shop) -> None:
    """The very line of another job's signature, pasted into this log, is named even with the chain made to fit."""
    other = shop.new_job()
    with JobLog.open(other.log, ADA) as log:
        log.append([body(1, "opened", job=other.id), body(2)])
        [event] = log.append([signed(3, other.id)])
    pasted = json.loads(json.dumps(event))
    rewrite(shop.job("J-0001"), {3: {k: v for k, v in pasted.items() if k not in ("before", "hash")}})
    first, second = audit(shop)
    assert (first["ok"], first["first_bad_line"], second["ok"]) == (False, 3, True)


def test_whole_log_copied_into_another_job_is_named(shop: Shop) -> None:
    """A log moved into another job's folder does not pass as that job's."""
    other = shop.new_job("COPY-1")
    other.log.write_bytes(shop.job("J-0001").log.read_bytes())
    row = audit(shop, ["COPY-1"])[0]
    assert row["first_bad_line"] == 1 and "begun as that of job J-0001" in row["why"]


@pytest.mark.parametrize(
    "what", ["changed text", "missing text", "changed file", "other owner", "broken owner", "foreign file"]
)
def test_what_lies_beside_the_log_is_audited(shop: Shop, what: str) -> None:
    """A text, a recording or an owner's facts that are not what was kept are named, with the log itself sound."""
    job = shop.job("J-0001")
    [text], [file] = list(job.texts.iterdir()), list(job.files.iterdir())
    line, why = None, ""
    if what == "changed text":
        text.write_bytes(TEXT + b"#")
        why = f"texts/{text.name} is not what was kept"
    elif what == "missing text":
        text.unlink()
        line, why = 1, "is not kept with the job"
    elif what == "changed file":
        file.write_bytes(b"RIFF2")
        why = f"files/{file.name} is not what was kept"
    elif what == "other owner":
        keep_owner(job, {"name": "Somebody else"}, SALT)
        why = "the owner's facts are not those the log speaks of"
    elif what == "broken owner":
        job.owner.write_text("name: [")
        why = "the owner's file cannot be understood"
    else:
        (job.files / "loose.wav").write_bytes(b"x")
        why = "files/loose.wav is not what was kept"
    [row] = audit(shop)
    assert not row["ok"] and row["first_bad_line"] == line and why in row["why"]
    assert row["events"] == 4 and row["head"]


def test_removed_owner_leaves_a_sound_job(shop: Shop) -> None:
    """Personal facts can be removed: the log still passes, and gives nothing of them away."""
    job = shop.job("J-0001")
    assert b"Ferris" not in job.log.read_bytes() and b"Mill" not in job.log.read_bytes()
    assert remove_owner(job) and not remove_owner(job)
    assert audit(shop)[0]["ok"]


def test_bad_jobs_do_not_hide_others(shop: Shop) -> None:
    """A damaged, torn, gone or unknown job has its own row, one never opened too, and the rest are audited the same."""
    torn, damaged, bare, gone = shop.new_job(), shop.new_job(), shop.new_job(), shop.new_job()
    (gone.texts / f"{'a' * 64}.yaml").write_bytes(b"a text without a log")
    written(torn.log, 2)
    torn.log.write_bytes(torn.log.read_bytes()[:-10])
    written(damaged.log, 3)
    damaged.log.write_bytes(damaged.log.read_bytes().replace(b"event 2", b"event 9"))
    rows = audit(shop, [*shop.jobs(), "J-9999", "../people"], {"J-0001": "b" * 64})
    assert [(row["job"], row["ok"], row["first_bad_line"], row["events"]) for row in rows] == [
        ("J-0001", False, None, 4),
        (torn.id, False, 2, 1),
        (damaged.id, False, 2, 1),
        (bare.id, True, None, 0),
        (gone.id, False, None, 0),
        ("J-9999", False, None, 0),
        ("../people", False, None, 0),
    ]
    assert "lines are missing at its end, or it was made anew" in rows[0]["why"]
    assert "cut short" in rows[1]["why"] and "was changed after it was written" in rows[2]["why"]
    assert rows[3]["why"] == NOT_OPENED
    assert "it is not there" in rows[4]["why"] and "there is no job J-9999" in rows[5]["why"]
    with pytest.raises(Refused):
        shop.job("../people")
