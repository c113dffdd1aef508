"""How long a check takes: of a 5,000-step file against reading it alone, of the shipped library, and behind a key.

- `5,000 steps`: everything `check` finds but its examples, against PyYAML's C loader and the typed model of the same
  tree, in turn in one run (goal 1.5); `twice the steps` shows that it grows in line (goal 2.6).
- `the library`: every shipped procedure, its examples walked as `benchwalk check` walks them: those of a text that was
  checked before are not walked again (goal 1 second); and all of them for the first time.
- `behind a key`: from a key in the writing screen, the 62-step flagship in it, until what is wrong stands on the screen
  (goal 50 ms), in a real pseudo-terminal of 120 by 36.

    python benchmarks/checking.py [PAIRS]      9 pairs by default; only ratios of one run mean anything
"""

from __future__ import annotations

import os
import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path

import yaml
from procedure_load import sound_procedure
from terminal import Terminal
from yaml_load import measure

from benchwalk.kept_walks import told
from benchwalk.library import Library
from benchwalk.procedure.model import Procedure
from benchwalk.procedure.tree import parse
from benchwalk.proof.check import check_file, check_source

RATIO, DOUBLE, LIBRARY, KEY = 1.5, 2.6, 1.0, 0.05


def half(data: bytes) -> bytes:
    """The first half of the steps, with the end."""
    lines = data.decode().split("\n")
    steps = [n for n, line in enumerate(lines) if line.startswith("  - step: ")]
    end = steps[-1]
    kept = [*lines[: steps[len(steps) // 2]], *lines[end:]]
    return "\n".join(kept).encode()


def large(pairs: int) -> bool:
    """The 5,000-step file against its floor, and against its half."""
    data = sound_procedure().replace(b", wanted: all", b"")  # which nothing there would lead by
    tree = parse(data, "x").root
    check = lambda text: check_file(text, "large.yaml", lambda name: None)  # noqa: E731

    def floor() -> object:
        yaml.load(data, Loader=yaml.CSafeLoader)
        return Procedure.of(tree)

    assert not [f for f in check(data) if f.severity == "error"], check(data)[:3]
    times, floors = measure(lambda: check(data), floor, pairs)
    ratio = statistics.median(a / b for a, b in zip(times, floors, strict=True))
    print(
        f"5,000 steps     {statistics.median(times) * 1000:6.0f} ms   loader and model "
        f"{statistics.median(floors) * 1000:6.0f} ms   ratio {ratio:.2f}   (goal {RATIO})"
    )
    fewer = half(data)
    times, floors = measure(lambda: check(data), lambda: check(fewer), pairs)
    double = statistics.median(a / b for a, b in zip(times, floors, strict=True))
    spent, fewer_spent = statistics.median(times) * 1000, statistics.median(floors) * 1000
    print(f"twice the steps {spent:6.0f} ms   half {fewer_spent:6.0f} ms   ratio {double:.2f}   (goal {DOUBLE})")
    return ratio <= RATIO and double <= DOUBLE


def library() -> bool:
    """Every shipped procedure, its examples walked for the first time; then again, the best of three."""
    folder = Path(tempfile.mkdtemp(prefix="benchwalk-checking-"))
    os.environ["XDG_CACHE_HOME"] = str(folder)
    took = []
    try:
        for _ in range(4):
            books = Library.of(None)
            start = time.perf_counter()
            for name in books.ids():
                source, linked = books.open(books.path_of(name))
                check_source(source, linked, known=books.ids(), tell=told)
            took.append(time.perf_counter() - start)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    best = min(took[1:])
    print(
        f"the library     {best * 1000:6.0f} ms   (goal {LIBRARY * 1000:.0f})   for the first time {took[0] * 1000:.0f}"
    )
    return best <= LIBRARY


def behind_a_key(count: int) -> bool:
    """From a key in the writing screen to what is wrong, on the screen."""
    folder = Path(tempfile.mkdtemp(prefix="benchwalk-checking-"))
    os.environ |= {"HOME": str(folder), "XDG_CACHE_HOME": str(folder / "cache"), "XDG_CONFIG_HOME": str(folder / "c")}
    file = folder / "retie-snare-cords.yaml"
    books = Library.of(None)
    for name in books.ids():
        shutil.copy(books.path_of(name), folder / f"{name}.yaml")
    text = file.read_text(encoding="utf-8").replace("drum: [diameter]\n", "")
    file.write_text("drum: [diameter]\n" + text, encoding="utf-8")  # what is written at stands in the first line
    try:
        terminal = Terminal("-m", "benchwalk", "write", str(file), size=(120, 36))
        terminal.until(b"no errors")
        terminal.rest(3)
        terminal.key(b"\x1b[F\x1b[D", b"\x1b[?2026l")
        times = []
        for _ in range(count):
            times.append(terminal.key(b"x", b"'diameterx'"))  # so quoted only where it is told as a fault
            terminal.rest(0.3)
            terminal.key(b"\x7f", b"no errors")
            terminal.rest(0.3)
        terminal.close()
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    took = statistics.median(times)
    least, most = min(times) * 1000, max(times) * 1000
    print(f"behind a key    {took * 1000:6.1f} ms   (from {least:.1f} to {most:.1f}; goal {KEY * 1000:.0f})")
    return took <= KEY


def main(arguments: list[str]) -> int:
    """Print the figures; exit 1 if a goal is missed."""
    pairs = int(arguments[0]) if arguments else 9
    met = [large(pairs), library(), behind_a_key(pairs * 2)]
    return 0 if all(met) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
