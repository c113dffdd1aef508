"""How soon the full screen is there, and how soon it answers, against the smallest Textual programs in the same run.

Three ratios, each the median of alternating pairs in a real pseudo-terminal of 80 by 24:
the bench of a shop with 200 jobs, its first page, against a hello with header and footer (goal 1.3); the first stop of
a walk, its procedure read by an earlier run, against the same hello (goal 1.8); a key typed into the entry of a walk
against a key of a bare counter (goal 3). Printed, not judged: Enter to the next stop, which holds one synced write to
the log; the time with no index yet; and the time to the first stop of a procedure that no run has read.

    python benchmarks/screens.py [PAIRS]      15 pairs by default; only ratios of one run mean anything
"""

from __future__ import annotations

import os
import shutil
import statistics
import sys
import tempfile
from pathlib import Path

from terminal import Terminal

GOALS = {"bench": 1.3, "walk": 1.8, "key": 3.0}
JOBS = 200
HELLO = """
from textual.app import App
from textual.widgets import Footer, Header, Static
class Hello(App):
    def compose(self):
        yield Header()
        yield Static("this is the hello")
        yield Footer()
Hello().run()
"""
COUNTER = """
from textual.app import App
from textual.widgets import Static
class Counter(App):
    count = 0
    def compose(self):
        yield Static("count 0")
    def on_key(self):
        self.count += 1
        self.query_one(Static).update(f"count {self.count}")
Counter().run()
"""


def shop_of_jobs(folder: Path) -> Path:
    """A shop of JOBS jobs in hand: one short practice job, copied under other numbers."""
    sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
    from benchwalk.job.audit import audit_job
    from benchwalk.walk import acts
    from shop_helpers import begin, fresh_shop

    shop = fresh_shop(folder)
    for _ in range(JOBS):
        with begin(shop) as session:
            session.do(acts.Ready())
            session.do(acts.Record("cords"))
    assert audit_job(shop, "J-0001")["ok"]
    return shop.root


def first(arguments: list[str], words: bytes) -> float:
    """Seconds from the start of a program to the frame that holds these words."""
    terminal = Terminal(*arguments)
    try:
        return terminal.until(words)
    finally:
        terminal.close()


def first_of_all(arguments: list[str], cache: Path) -> float:
    """The same for the bench of a shop that has no index yet, which is written before the program ends."""
    terminal = Terminal(*arguments)
    try:
        took = terminal.until(b"J-0001")  # the newest are read first, so this is the last of them
        for _ in range(200):
            terminal.rest(0.05)
            if list(cache.rglob("index.json")):
                return took
        raise SystemExit("the index is never written")
    finally:
        terminal.close()


def pairs_of(count: int, ours: list[str], words: bytes) -> tuple[list[float], list[float]]:
    """Ours and the hello, in turn."""
    mine, theirs = [], []
    for _ in range(count):
        theirs.append(first(["-c", HELLO], b"this is the hello"))
        mine.append(first(ours, words))
    return mine, theirs


def keys_of(count: int, ours: list[str]) -> tuple[list[float], list[float], list[float]]:
    """A key in the entry of a walk and in the counter, in turn, both running; and Enter to the next stop."""
    walk, counter = Terminal(*ours), Terminal("-c", COUNTER)
    walk.until(b"at hand")
    counter.until(b"count 0")
    mine, theirs, entered = [], [], []
    for n in range(count * 4):
        theirs.append(counter.key(b"x", b"\x1b[?2026l"))
        mine.append(walk.key(b"5" if n % 2 == 0 else b"\x7f", b"\x1b[?2026l"))
    while b"held by" not in walk.out:  # what must be at hand is read on first
        walk.key(b"\r", b"\x1b[?2026l")
        walk.rest(0.3)
    for answer in (b"1", b"1"):
        walk.key(answer, b"\x1b[?2026l")
        entered.append(walk.key(b"\r", b"Stop "))
    walk.close()
    counter.close()
    return mine, theirs, entered


def said(name: str, mine: list[float], theirs: list[float], goal: float) -> bool:
    """Print one ratio; whether the goal is met."""
    ratios = [a / b for a, b in zip(mine, theirs, strict=True)]
    ratio = statistics.median(ratios)
    print(
        f"{name:<34} {statistics.median(mine) * 1000:7.1f} ms   floor {statistics.median(theirs) * 1000:7.1f} ms   "
        f"ratio {ratio:.2f}   (from {min(ratios):.2f} to {max(ratios):.2f}; goal {goal})"
    )
    return ratio <= goal


def main(arguments: list[str]) -> int:
    """Print the medians and their ratios; exit 1 if a goal is missed."""
    count = int(arguments[0]) if arguments else 15
    folder = Path(tempfile.mkdtemp(prefix="benchwalk-screens-"))
    os.environ |= {"HOME": str(folder), "XDG_CACHE_HOME": str(folder / "cache"), "XDG_CONFIG_HOME": str(folder / "c")}
    os.environ["PYTHONPYCACHEPREFIX"] = str(folder / "pyc")  # an installed program is compiled already
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    try:
        shop = shop_of_jobs(folder)
        bench = ["-m", "benchwalk", "--shop", str(shop)]
        first_of_all(bench, folder / "cache")  # compiles what it loads
        shutil.rmtree(folder / "cache")
        print(f"{JOBS} jobs, {count} pairs; all on the bench with no index yet: ", end="", flush=True)
        print(f"{first_of_all(bench, folder / 'cache') * 1000:.0f} ms")
        walk = [*bench, "walk", "retie-snare-cords", "--practice", "--who", "tam", "--drum", "diameter=14 in"]
        met = [said("first page of the bench", *pairs_of(count, bench, b"J-0001"), GOALS["bench"])]
        first(walk, b"at hand")  # compiles what it loads
        shutil.rmtree(folder / "cache" / "benchwalk" / "procedures")
        print(f"first stop of a walk never begun    {first(walk, b'at hand') * 1000:6.1f} ms")
        met.append(said("first stop of a walk", *pairs_of(count, walk, b"at hand"), GOALS["walk"]))
        mine, theirs, entered = keys_of(count, walk)
        met.append(said("key in the entry to its frame", mine, theirs, GOALS["key"]))
        print(f"Enter to the next stop, synced     {statistics.median(entered) * 1000:7.1f} ms")
        return 0 if all(met) else 1
    finally:
        shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
