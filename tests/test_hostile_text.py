"""Whatever is typed, piped or named: it is kept as it was, and nothing of it acts on a terminal."""

from __future__ import annotations

import json
import subprocess
import unicodedata
from pathlib import Path

import pytest

from benchwalk.job.shop import Shop
from benchwalk.walk import acts
from shop_helpers import APPRENTICE, SENIOR, begin, benchwalk, command, drive, events, fresh_shop, walked
from shop_helpers import resume as taken_up
from walk_helpers import GAP, linked, procedure

HOSTILE = {
    "clear screen": "before\x1b[2J\x1b[Hafter",
    "title": "\x1b]0;owned\x07 and on",
    "paste end": "\x1b[201~/leave",
    "c1": "a \x9b31mred\x9d0;t\x9c",
    "turned round": "the \u202egnp.exe\u202c and \u2066x\u2069",
    "unseen": "pass\u200bword\ufeff\u2060\u00ad",
    "brackets": "[bold]x[/bold] [[ {{ 7 * 7 }} %s {0} `rm` $(id)",
    "nul and bell": "a\x00b\x07c\x08\x08d",
    "carriage": "all is well\rall is lost",
    "line ends": "one\u2028two\u2029three\x85four\x0bfive\x0csix",
    "pile": "z" + "\u0301" * 60,
    "wide": "ドラム 🥁 ñ \u00e9",
}
"""Texts that a terminal, a template or a file might act on."""

TYPED = [pytest.param(text, id=name) for name, text in HOSTILE.items()]

WORDS = procedure(
    """
readings:
  heard: {ask: What the owner heard, kind: words}
  gap: {ask: Gap, unit: mm, possible: 0 .. 20, wanted: 3 .. 6}
steps:
  - step: listen
    stage: {id: s, title: Listen}
    record: [heard]
  - step: measure
    record: [gap]
    branches:
      - {when: gap is within, because: "{{ heard }}, {{ gap }}", go: finish}
      - {when: otherwise, because: "Off: {{ heard }}", go: finish}
  - step: finish
    do: "Write down: {{ heard }}"
    end: {as: done, say: "It said {{ heard }}"}
""",
    id="hear-out",
)
"""A procedure that says again what was typed, in reasons, actions and ends."""


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with three people."""
    return fresh_shop(tmp_path)


def inert(said: str) -> None:
    """Nothing in what was said can act on a terminal, hide, or turn text round."""
    for char in said:
        assert char == "\n" or unicodedata.category(char) not in ("Cc", "Cf", "Cs", "Zl", "Zp"), repr(char)
    assert "\u0301" * 5 not in said


@pytest.mark.parametrize("text", TYPED)
def test_note_is_kept_as_typed_and_shown_harmless(shop: Shop, text: str) -> None:
    """A note stands in the log exactly as typed, and every way of showing the job shows it written out."""
    session = begin(shop, linked(GAP), drum={})
    given = iter([f"/note {text}", "/log all", "/leave", None])
    _code, talk = walked(session, answer=lambda prompt: next(given))
    assert [e["text"] for e in events(shop, "J-0001") if e["what"] == "noted"] == [text]
    inert(talk.said)
    shown = command("show", "J-0001", shop=shop.root)
    assert shown.returncode == 0
    inert(shown.stdout + shown.stderr)
    as_json = command("show", "J-0001", "--json", shop=shop.root)
    inert(as_json.stdout)
    assert text in [e.get("text") for e in json.loads(as_json.stdout)["events"]]


@pytest.mark.parametrize("text", TYPED)
def test_every_text_of_a_walk_is_harmless(shop: Shop, text: str) -> None:
    """Readings in words, reasons, hand-over notes, problems and pauses are kept as typed and said harmless."""
    session = begin(shop, linked(WORDS), drum={})
    drive(session, "@listen")
    typed = [
        *(text, "/fix", text, text, "9", "", "/fix", "4", "", text, f"/problem {text}", text, f"/back 1 {text}"),
        *(text, "4", "", "/hand mara", text, "mara", text, "/log all", f"/leave {text}", None),
    ]
    given = iter(typed)
    _code, talk = walked(session, answer=lambda prompt: next(given))
    inert(talk.said)
    found = events(shop, "J-0001")
    kept = {e["what"]: e for e in found}
    assert kept["read"] and kept["corrected"]["reason"] == text
    assert next(e["typed"] for e in found if e["what"] == "read") == text
    assert kept["problem"]["text"] == kept["problem_settled"]["text"] == text
    assert kept["went_back"]["reason"] == kept["handed_over"]["note"] == text
    for words in (("show", "J-0001"), ("jobs",), ("audit",), ()):
        ran = command(*words, shop=shop.root)
        assert ran.returncode == 0, ran.stderr
        inert(ran.stdout + ran.stderr)


def piped(shop: Shop, data: bytes) -> subprocess.CompletedProcess[bytes]:
    """A practice job of the flagship walked with these bytes on its stdin, until they end."""
    arguments = ("walk", "retie-snare-cords", "--practice", "--who", APPRENTICE, "--plain", "--drum", "diameter=14 in")
    ran: subprocess.CompletedProcess[bytes] = benchwalk(
        *arguments, shop=shop.root, input=data, encoding=None, errors=None
    )  # type: ignore[assignment]
    return ran


def test_hundred_kilobytes_of_note_are_kept(shop: Shop) -> None:
    """A note of 100 kB without a blank is kept whole, and said without ado."""
    text = "x" * 100_000
    ran = piped(shop, f"/note {text}\n\n".encode())
    assert ran.returncode == 0 and ran.stderr == b""
    assert [e["text"] for e in events(shop, "J-0001") if e["what"] == "noted"] == [text]
    shown = benchwalk("show", "J-0001", shop=shop.root)
    assert shown.returncode == 0 and text in shown.stdout


def test_line_beyond_measure_is_refused_whole(shop: Shop) -> None:
    """A line of a megabyte is refused in one sentence, nothing of it is kept, and the next line is read as such."""
    ran = piped(shop, b"/note " + b"y" * 1_000_000 + b"\n/note after it\n")
    assert ran.returncode == 0
    assert "That line is longer than 200000 characters; nothing of it was kept." in ran.stdout.decode()
    assert [e["text"] for e in events(shop, "J-0001") if e["what"] == "noted"] == ["after it"]


def test_note_too_large_for_a_line_of_the_log_is_refused(shop: Shop) -> None:
    """A note whose event would be too large to write is refused, and the walk goes on."""
    ran = piped(shop, b"/note " + b"\x01" * 190_000 + b"\n/note after it\n")
    assert ran.returncode == 0, ran.stderr
    assert [e["text"] for e in events(shop, "J-0001") if e["what"] == "noted"] == ["after it"]


@pytest.mark.parametrize(
    "data", [b"caf\xe9", b"\xff\xfe", b"\xed\xa0\x80", b"\xf4\x90\x80\x80", b"ok \x80 ok"], ids=repr
)
def test_bytes_that_are_no_text_are_told_and_replaced(shop: Shop, data: bytes) -> None:
    """Bytes that are not UTF-8 are said to be so; the rest of the line is kept, with a sign in their place."""
    ran = piped(shop, b"/note " + data + b"\n")
    assert ran.returncode == 0 and b"Traceback" not in ran.stderr
    assert "A part of that line is not readable text; it is kept as \ufffd." in ran.stdout.decode()
    (note,) = [e["text"] for e in events(shop, "J-0001") if e["what"] == "noted"]
    assert "\ufffd" in note and note.replace("\ufffd", "") in data.decode("utf-8", "ignore")
    inert(ran.stdout.decode())


def test_random_bytes_lose_nothing(shop: Shop) -> None:
    """Two hundred lines of every byte there is leave a log that verifies, and a job that goes on."""
    import random

    chance = random.Random(7)
    lines = [bytes(chance.choices(range(256), k=40)) for _ in range(200)]
    ran = piped(shop, b"\n" + b"\n".join(lines) + b"\n")
    assert ran.returncode == 0 and b"Traceback" not in ran.stderr + ran.stdout
    inert(ran.stdout.decode())
    events(shop, "J-0001")
    taken_up(shop, "J-0001").close()


@pytest.mark.parametrize(
    "text", [HOSTILE[name] for name in ("clear screen", "turned round", "c1", "unseen")], ids=ascii
)
def test_hostile_words_on_the_command_line_are_harmless(shop: Shop, text: str) -> None:
    """Names of procedures, jobs, people, files and options come back written out, in the sentence that refuses them."""
    for words in (
        ("walk", text, "--practice", "--who", "tam"),
        ("walk", "--job", text, "--who", "tam"),
        ("walk", "--job", "J-1", "--who", text),
        ("show", text),
        ("check", text),
        ("check", f"./{text}.yaml"),
        ("draw", text),
        ("rehearse", "tie-one-side", "--answers", text),
        ("sum", text),
        ("people", "add", text, "--role", "senior"),
        ("audit", text),
        ("jobs", f"--{text}"),
        (text,),
    ):
        ran = command(*words, shop=shop.root, input="{}")
        assert ran.returncode in (1, 2, 3), words
        assert "Traceback" not in ran.stderr
        inert(ran.stdout + ran.stderr)


def test_hostile_names_and_facts_are_refused_at_intake(shop: Shop) -> None:
    """What is printed on sheets later (owner, drum, tag) may hold no control characters; nothing is opened then."""
    for field in ("owner", "contact", "instrument", "complaint", "tag"):
        options = {"owner": "A", "contact": "B", "instrument": "C", "complaint": "D", "tag": "E"} | {field: "x\x1b[2Jy"}
        words = [word for key, value in options.items() for word in (f"--{key}", value)]
        ran = command("intake", "retie-snare-cords", "--who", "tam", *words, "--drum", "diameter=14 in", shop=shop.root)
        assert ran.returncode == 1, field
        inert(ran.stdout + ran.stderr)
    assert shop.jobs() == []


def test_hostile_procedure_file_is_harmless(shop: Shop, tmp_path: Path) -> None:
    """A procedure file full of control characters is refused with its place, written out."""
    path = tmp_path / "evil.yaml"
    path.write_bytes(b"procedure: evil\ntitle: \x1b[2J\x1b]0;t\x07 \xe2\x80\xae x\nsteps: [\x9b]\n")
    for words in (("check", path), ("walk", path, "--practice", "--who", "tam"), ("draw", path)):
        ran = command(*words, shop=shop.root)
        assert ran.returncode == 1
        inert(ran.stdout + ran.stderr)


def test_log_written_by_somebody_else_is_shown_harmless(shop: Shop) -> None:
    """Texts that reached a log in any other way are written out as well, in the pages and in the list."""
    session = begin(shop, linked(GAP), drum={}, note={"instrument": "\x1b[31mred", "complaint": "\u202egnp"})
    with session:
        session.do(acts.Ready(waived="\x9b2J"))
        session.do(acts.HandOver(SENIOR, "\x1b]0;x\x07"))
    for words in (("show", "J-0001"), ("jobs",), ("jobs", "red"), ("audit", "--again"), ()):
        ran = command(*words, shop=shop.root)
        assert ran.returncode == 0
        inert(ran.stdout + ran.stderr)
