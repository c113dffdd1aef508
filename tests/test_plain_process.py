"""Plain mode as people meet it: in a terminal, through a pipe, and with everything that can strike a process."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import textwrap
import time
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pexpect  # type: ignore[import-untyped]
import pytest

from benchwalk.job.audit import audit_job
from benchwalk.job.shop import Shop
from benchwalk.plain.stopping import SIGNALS, Broken, Stopped, Stopping
from benchwalk.plain.talk import WIDTH
from benchwalk.session import Session
from house import PATIENCE, patiently
from screen_helpers import RealTerminal
from shop_helpers import (
    APPRENTICE,
    PINS,
    ROOT,
    SENIOR,
    Typed,
    bare,
    begin,
    benchwalk,
    events,
    fresh_shop,
    reach_hold,
    walked,
    without_hashes,
)
from shop_helpers import resume as taken_up


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with three people."""
    return fresh_shop(tmp_path)


@cache
def typed_through() -> tuple[Typed, list[dict[str, object]]]:
    """The flagship typed to its end in memory: what was asked and typed, and the events without their times."""
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        shop = fresh_shop(Path(folder))
        _code, talk = walked(begin(shop))
        return talk, bare(events(shop, "J-0001"))


def scratch(home: Path) -> Shop:
    """The scratch shop of `benchwalk demo`."""
    return Shop.open(home / "cache" / "benchwalk" / "scratch-shop")


def last_line(prompt: str) -> str:
    """The line of a prompt on which the answer is typed."""
    return textwrap.wrap(prompt, WIDTH, break_on_hyphens=False)[-1]


class Terminal:
    """The program in a terminal of 24 lines by 80 cells."""

    def __init__(self, *arguments: str) -> None:
        command = ["-m", "benchwalk", *arguments]
        self.child = pexpect.spawn(sys.executable, command, encoding="utf-8", timeout=PATIENCE, dimensions=(24, 80))
        self.child.delaybeforesend = None

    def answer(self, prompt: str, line: str) -> None:
        """Wait for a prompt and type a line."""
        self.child.expect_exact(f"{last_line(prompt)} ")
        self.child.sendline(line)

    def interrupt(self, until: str) -> None:
        """Press ctrl+c, and see what is said. One that comes between a prompt and the waiting for it strikes with the
        next key, so it is pressed again after a while; the two count as one."""
        for _ in range(3):
            self.child.sendintr()
            if self.child.expect_exact([until, pexpect.TIMEOUT], timeout=4) == 0:
                return
        raise AssertionError(f"ctrl+c never came to: {until}")

    def end(self) -> int:
        """Wait for the end; the exit code as a shell has it."""
        self.child.expect(pexpect.EOF)
        self.child.close()
        signalled = self.child.signalstatus
        return 128 + signalled if signalled is not None else int(self.child.exitstatus or 0)


def walk_in_terminal(shop: Shop, job: str, who: str = APPRENTICE, *more: str) -> Terminal:
    """`benchwalk walk --job` in a terminal."""
    return Terminal("--shop", str(shop.root), "walk", "--job", job, "--who", who, "--plain", *more)


def at_first_step(shop: Shop) -> str:
    """A practice job of the flagship that stands at its first step, put down by nobody."""
    session = begin(shop)
    from benchwalk.walk import acts

    with session:
        session.do(acts.Ready())
    return session.state.job


def sound(shop: Shop, job: str) -> None:
    """The job's log is as it was written, and nobody holds it."""
    assert audit_job(shop, job)["ok"]
    taken_up(shop, job).close()


# --- the whole walk --------------------------------------------------------------------------------------------------


def test_flagship_is_walked_in_a_terminal(bare_machine: Path) -> None:
    """The practice walk that `make run` opens is walked to its end at a terminal, and its log is as typed in memory."""
    talk, expected = typed_through()
    terminal = Terminal("demo", "--plain")
    for prompt, line in zip(talk.prompts, talk.lines, strict=True):
        terminal.answer(prompt, line)
    assert terminal.end() == 0
    assert "The job is released. Nothing is left to do on it." in terminal.child.before
    assert bare(events(scratch(bare_machine), "J-0001")) == expected


def test_flagship_is_walked_through_a_pipe(bare_machine: Path) -> None:
    """The same answers from a file walk the same walk; what is printed shows them, and nothing goes to stderr."""
    talk, expected = typed_through()
    ran = benchwalk("demo", input="\n".join(talk.lines) + "\n")
    assert ran.returncode == 0 and ran.stderr == ""
    assert "The job is released." in ran.stdout
    assert "Type read when you have read this: read\n" in ran.stdout
    assert bare(events(scratch(bare_machine), "J-0001")) == expected


def test_windows_line_ends_are_as_good(bare_machine: Path) -> None:
    """A file of answers written elsewhere, with CR LF, walks the same walk."""
    talk, expected = typed_through()
    data = ("\r\n".join(talk.lines) + "\r\n").encode()
    ran = benchwalk("demo", input=data, encoding=None, errors=None)
    assert ran.returncode == 0
    assert bare(events(scratch(bare_machine), "J-0001")) == expected


def test_answers_that_end_early_go_on_later(bare_machine: Path) -> None:
    """When a file of answers ends in the middle the work is put down, and the rest of the file goes on from there."""
    talk, expected = typed_through()
    half = len(talk.lines) // 2
    ran = benchwalk("demo", input="\n".join(talk.lines[:half]) + "\n")
    assert ran.returncode == 0 and ran.stdout.endswith("benchwalk demo\n")
    begun = ran.stdout.splitlines()[-1].split()
    assert subprocess.run([*begun[:-1], "--help"], cwd=os.getcwd(), capture_output=True, check=False).returncode == 0
    shop = scratch(bare_machine)
    rest = ["", "", *_with_hazard(shop, talk.lines[half:])]
    ran = benchwalk("walk", "--job", "J-0001", "--who", "Tam", "--plain", shop=shop.root, input="\n".join(rest) + "\n")
    assert "The job is released." in ran.stdout, ran.stdout[-2000:]
    again = [e for e in bare(events(shop, "J-0001")) if e["what"] not in ("paused", "resumed", "place_checked")]
    assert [e["what"] for e in again if e["what"] != "acknowledged"] == [
        e["what"] for e in expected if e["what"] != "acknowledged"
    ]


def _with_hazard(shop: Shop, lines: list[str]) -> list[str]:
    """The hazards of the step are read again by whoever takes it up."""
    from benchwalk.walk import acts
    from benchwalk.walk.decide import decide

    with taken_up(shop, "J-0001") as session:
        state = session.state
        for act in (acts.Resume(), acts.CheckPlace()):
            state = decide(state, act, APPRENTICE, session.bench).state
        from benchwalk.walk.phase import now

        kind = now(state, session.bench).kind
    return ["read", *lines] if kind == "hazard" and lines[0] != "read" else lines


def test_demo_goes_on_with_what_was_put_down(bare_machine: Path) -> None:
    """At a terminal the demo offers the job that was put down, and begins another one when asked to."""
    first = Terminal("demo", "--plain")
    first.answer("Enter when all is at hand, or say what is missing and why you go on without it:", "/leave")
    assert first.end() == 0
    again = Terminal("demo", "--plain")
    again.child.expect_exact("Job J-0001 was put down. Enter goes on with it, new begins another")
    again.child.sendline("")
    again.answer("Enter when all is at hand, or say what is missing and why you go on without it:", "")
    again.answer("Type its number:", "/leave so")
    assert again.end() == 0
    third = Terminal("demo", "--plain")
    third.child.expect_exact("new begins another")
    third.child.sendline("new")
    third.child.expect_exact("Job J-0002, a practice job.")
    third.answer("Enter when all is at hand, or say what is missing and why you go on without it:", "/leave")
    assert third.end() == 0


def test_demo_says_how_it_is_gone_on_with(bare_machine: Path) -> None:
    """Begun by `make run` the practice walk names that as the command that goes on with it, and else its own."""
    recipe = (ROOT / "Makefile").read_text(encoding="utf-8").partition("\nrun:")[2].partition("\n\n")[0]
    assert "BENCHWALK_AGAIN='make run'" in recipe and "benchwalk demo" in recipe
    for words, environ in (("make run", {"BENCHWALK_AGAIN": "make run"}), ("benchwalk demo", {"BENCHWALK_AGAIN": ""})):
        terminal = RealTerminal("demo", **environ)
        terminal.until("Enter reads on")
        terminal.press("f10")
        assert terminal.end() == 0 and terminal.raw.rstrip().endswith(words)
        shutil.rmtree(scratch(bare_machine).root)


def test_customers_job_is_looked_at_and_released_at_a_terminal(shop: Shop) -> None:
    """The senior passes the look and releases the job by name and PIN; a PIN is never seen, kept or logged."""
    session = begin(shop, kind="customer")
    reach_hold(session)
    session.close()
    terminal = walk_in_terminal(shop, "J-0001")
    terminal.answer("Enter when it is, or say how it is; /back goes back to an earlier stop:", "")
    terminal.answer("Who looks? A senior types their name (or /leave):", "Mara")
    for pin in ("204817", PINS[SENIOR]):
        _pin(terminal, "PIN of Mara Quill (not shown):", pin)
    terminal.answer("Type release or refuse:", "release")
    terminal.answer("A word about it (or Enter):", "")
    terminal.answer("Type its number:", "1")
    terminal.answer("Enter when it is done, no if not yet:", "")
    terminal.answer("Type all when every piece is here, or missing and what is:", "all")
    terminal.answer("A senior types their name to release it (or /leave):", "Ines")
    _pin(terminal, "PIN of Ines Okafor (not shown):", PINS["ines-okafor"])
    assert terminal.end() == 0
    kept = b"".join(path.read_bytes() for path in shop.root.rglob("*") if path.is_file()).decode()
    assert not any(pin in without_hashes(kept) for pin in (*PINS.values(), "204817"))
    assert events(shop, "J-0001")[-1]["sign"]["name"] == "Ines Okafor"
    sound(shop, "J-0001")


def _pin(terminal: Terminal, prompt: str, pin: str) -> None:
    """Type a PIN once the terminal shows nothing of what is typed, and see that it does not."""
    terminal.child.expect_exact(prompt)
    assert terminal.child.waitnoecho(5)
    terminal.child.sendline(pin)
    terminal.child.expect_exact("\r\n")
    assert pin not in terminal.child.before


def test_line_is_mended_while_it_is_typed(shop: Shop) -> None:
    """At a terminal the arrows and the other editing keys mend the line; stray control keys are left out and told."""
    job = at_first_step(shop)
    terminal = walk_in_terminal(shop, job)
    terminal.answer("/back goes back to an earlier stop:", "")
    terminal.answer("Type its number:", "2\x1b[D1\x1b[C\x7f")
    terminal.answer("Type its number:", "/note mi\x16\x01ne")
    terminal.child.expect_exact("Control characters in that line were left out.")
    terminal.answer("Type its number:", "/leave as it is")
    assert terminal.end() == 0
    found = events(shop, job)
    assert next(e for e in found if e["what"] == "read")["typed"] == "cords"
    assert next(e for e in found if e["what"] == "noted")["text"] == "mine"


# --- what strikes a process ------------------------------------------------------------------------------------------


def test_ctrl_c_twice_puts_the_work_down(shop: Shop) -> None:
    """At a terminal the first ctrl+c says how to go on, the second puts the work down and ends with 130."""
    job = at_first_step(shop)
    terminal = walk_in_terminal(shop, job)
    terminal.answer("/back goes back to an earlier stop:", "")
    terminal.child.expect_exact("Type its number: ")
    terminal.interrupt("Nothing is lost. Go on here, or press ctrl+c again to put the work down.")
    terminal.answer("Type its number:", "1")
    terminal.child.expect_exact("Type its number: ")
    terminal.interrupt("Type its number: ")
    terminal.interrupt("All that was noted is kept in job J-0001. Go on with:")
    assert terminal.end() == 130
    found = events(shop, job)
    assert found[-1]["what"] == "paused" and found[-1]["note"] == "left with ctrl+c"
    assert "read" in [e["what"] for e in found]
    sound(shop, job)


@pytest.mark.parametrize(("number", "code"), [(signal.SIGTERM, 143), (signal.SIGHUP, 129), (signal.SIGINT, 130)])
def test_signal_at_a_prompt_puts_the_work_down(shop: Shop, number: signal.Signals, code: int) -> None:
    """A signal at a prompt ends the walk with 128 and its number, the work put down in the log (ctrl+c: the second)."""
    job = at_first_step(shop)
    command = [sys.executable, "-m", "benchwalk", "--shop", str(shop.root), "walk", "--job", job, "--who", "tam"]
    process = subprocess.Popen(
        [*command, "--plain"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert process.stdin is not None and process.stdout is not None
    process.stdin.write("\n1\n")
    process.stdin.flush()
    said = ""
    while "separate rods" not in said:
        said += process.stdout.readline()
    process.send_signal(number)
    if number == signal.SIGINT:
        while "press ctrl+c again" not in said:
            said += process.stdout.readline()
        process.send_signal(number)
    out, err = process.communicate(timeout=PATIENCE)
    assert process.returncode == code
    assert "All that was noted is kept" in out and err == ""
    found = events(shop, job)
    assert found[-1]["what"] == "paused" and found[-1]["note"]
    assert [e["value"] for e in found if e["what"] == "read"] == ["cords"]
    sound(shop, job)


def test_terminal_that_is_closed_puts_the_work_down(shop: Shop) -> None:
    """A terminal window that is closed ends the walk; what was noted stands, and the job goes on from there."""
    job = at_first_step(shop)
    terminal = walk_in_terminal(shop, job)
    terminal.answer("/back goes back to an earlier stop:", "")
    terminal.answer("Type its number:", "1")
    terminal.child.expect_exact("Type its number: ")
    terminal.child.close(force=False)
    for _ in patiently():
        if not terminal.child.isalive():
            break
        time.sleep(0.05)
    found = events(shop, job)
    assert found[-1]["what"] == "paused"
    sound(shop, job)


def test_reader_that_goes_away_stops_nothing(shop: Shop) -> None:
    """When whoever reads the output has gone, the work is put down, without a complaint."""
    job = at_first_step(shop)
    benchwalk_ = f"{sys.executable} -m benchwalk --shop {shop.root} walk --job {job} --who tam --plain"
    ran = subprocess.run(
        ["bash", "-c", f"(echo; sleep 0.5; echo 1; echo 1; echo /log all; echo 1) | {benchwalk_} | head -1"],
        capture_output=True,
        text=True,
        timeout=PATIENCE,
        cwd=ROOT,
    )
    assert ran.stderr == ""
    sound(shop, job)


@pytest.mark.parametrize(
    "redirection", ["<&-", "</dev/null", ">&- </dev/null", "2>&- </dev/null", "<&- >&- 2>&-"], ids=str
)
def test_closed_files_lose_nothing(shop: Shop, redirection: str) -> None:
    """With stdin, stdout or stderr closed the walk ends at its first prompt, put down, with exit code 0."""
    job = at_first_step(shop)
    command = f"{sys.executable} -m benchwalk --shop {shop.root} walk --job {job} --who tam --plain {redirection}"
    ran = subprocess.run(["bash", "-c", command], capture_output=True, text=True, timeout=PATIENCE)
    assert ran.returncode == 0
    assert "Traceback" not in ran.stdout + ran.stderr
    assert events(shop, job)[-1]["what"] == "paused"
    sound(shop, job)


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="this system has no /dev/full")
def test_output_that_cannot_be_written_is_a_failure(shop: Shop) -> None:
    """What cannot be said for lack of space ends with exit code 3 and one sentence."""
    command = f"{sys.executable} -m benchwalk --shop {shop.root} people > /dev/full"
    ran = subprocess.run(["bash", "-c", command], capture_output=True, text=True, timeout=PATIENCE)
    assert ran.returncode == 3
    assert ran.stderr == "The machine answered: No space left on device.\n"


# --- signals wait while something is written -------------------------------------------------------------------------


@pytest.fixture
def stopping() -> Iterator[Stopping]:
    """Signals taken for the length of a test."""
    with Stopping() as taken:
        yield taken


def test_signal_waits_for_the_prompt(stopping: Stopping) -> None:
    """A signal that comes while something is written strikes at the next prompt, once."""
    os.kill(os.getpid(), signal.SIGTERM)
    with pytest.raises(Stopped) as stopped, stopping.prompt():
        raise AssertionError("a prompt was reached")
    assert stopped.value.number == signal.SIGTERM
    with stopping.prompt():
        pass
    os.kill(os.getpid(), signal.SIGINT)
    with pytest.raises(Broken), stopping.prompt():
        raise AssertionError("a prompt was reached")


def test_signal_strikes_at_a_prompt(stopping: Stopping) -> None:
    """A signal that comes at a prompt strikes there; a harder one is never forgotten over a ctrl+c."""
    with pytest.raises(Stopped), stopping.prompt():
        os.kill(os.getpid(), signal.SIGHUP)
        time.sleep(1)
    os.kill(os.getpid(), signal.SIGTERM)
    os.kill(os.getpid(), signal.SIGINT)
    with pytest.raises(Stopped), stopping.prompt():
        raise AssertionError("a prompt was reached")


def test_handlers_are_given_back() -> None:
    """After the walk the signals do what they did before."""
    before = [signal.getsignal(number) for number in SIGNALS]
    with Stopping():
        assert [signal.getsignal(number) for number in SIGNALS] != before
    assert [signal.getsignal(number) for number in SIGNALS] == before


def test_session_is_whole_after_a_signal_in_the_midst_of_an_act(shop: Shop) -> None:
    """A kill that comes while an act is written takes nothing of it away."""
    from benchwalk.walk import acts

    with Stopping() as stopping, begin(shop) as session:
        write = session.log._write

        def struck(fd: int, data: bytes) -> int:
            os.kill(os.getpid(), signal.SIGTERM)
            return write(fd, data)

        session.log._write = struck
        session.do(acts.Ready())
        with pytest.raises(Stopped), stopping.prompt():
            pass
    with taken_up(shop, "J-0001") as again:
        assert again.state.readied
    assert isinstance(again, Session)
