"""How soon a key is answered while taps are listened to, against the same program at rest.

A bare counter in a real pseudo-terminal of 80 by 24, in turn: at rest; listening, as the walk does it, to taps that
follow each other without a pause (goal: at most 2 times rest). Printed, not judged: the analysis running all the time,
as no hand taps, in a process of its own and in a thread of the program, which is why there is a process (look at the
slowest keys, and have no other work on the machine: a process needs a core that is free); how long it takes until the
microphone is open, from the end of a cut to its note, and to close.

Needs a sound server (Debian: libportaudio2 pulseaudio pulseaudio-utils libasound2-plugins).

    python benchmarks/listening.py [ROUNDS]      4 rounds of 40 keys by default; only ratios of one run mean anything
"""

from __future__ import annotations

import itertools
import os
import statistics
import sys
import tempfile
import threading
import time
from pathlib import Path

import numpy as np
from terminal import Terminal

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
from sound_server import RATE, SoundServer, in_a_room, missing, recording, tap_sound

GOAL = 2.0
KEYS = 40
SETTLED_S = 2.0  # without a frame; a program that has just begun answers slower, whatever else runs
JUDGED = ("listening",)
PROGRAM = """
import subprocess, sys, threading
from textual.app import App
from textual.widgets import Static

ANALYSES = '''
import os, sys, threading
from benchwalk.taps import hear, read_sound
from benchwalk.taps.ear_process import NICE
os.nice(NICE)
threading.Thread(target=lambda: (sys.stdin.read(), os._exit(0)), daemon=True).start()  # it ends with the counter
sound = read_sound(sys.argv[1])
assert len(hear(sound).taps) == 8
print(flush=True)
while True:
    hear(sound)
'''

class Counter(App):
    count = 0
    def compose(self):
        yield Static("count 0")
        yield Static("", id="heard")
    def on_mount(self):
        threading.Thread(target=getattr(self, sys.argv[1]), daemon=True).start()
    def on_key(self):
        self.count += 1
        self.query_one(Static).update(f"count {self.count}")
    def ready(self, *_fact):
        self.call_from_thread(self.query_one("#heard", Static).update, "under way")

    def rest(self):
        self.ready()

    def listening(self):
        from benchwalk.taps.facts import TapHeard
        from benchwalk.taps.listening import Ear
        Ear().listen(600, on_fact=lambda fact: self.ready() if isinstance(fact, TapHeard) else None)

    def process(self):
        pipe = subprocess.PIPE
        self.running = subprocess.Popen([sys.executable, "-c", ANALYSES, sys.argv[2]], stdin=pipe, stdout=pipe)
        self.running.stdout.readline()
        self.ready()

    def thread(self):
        from benchwalk.taps import hear, read_sound
        sound = read_sound(sys.argv[2])
        assert len(hear(sound).taps) == 8
        self.ready()
        while True:
            hear(sound)
Counter().run()
"""
ONE_CORE = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
MODES = ("rest", "listening", "process", "thread")
STREAM = [tap_sound(200 + 10 * n, seconds=0.45) for n in range(8)]  # taps without a pause


def keys_of(mode: str, file: Path) -> list[float]:
    """Seconds from each key to the frame that shows its count, in a program of its own."""
    terminal = Terminal("-c", PROGRAM, mode, str(file))
    try:
        terminal.until(b"under way")
        terminal.rest(SETTLED_S)
        pause = np.random.default_rng(7)
        took = []
        for n in range(1, KEYS + 1):
            time.sleep(float(pause.uniform(0, 0.05)))  # not in step with anything
            took.append(terminal.key(b"x", f"count {n}".encode()))
        return took[2:]  # the first keys still load
    finally:
        terminal.close()


def times_of_listening() -> str:
    """How long the ear takes: to open the microphone, from the end of a cut to its note, and to close."""
    from benchwalk.taps.ear_process import facts_of
    from benchwalk.taps.facts import Fact, Listen, MicrophoneOpened
    from benchwalk.taps.listening import Ear

    opened = threading.Event()

    def told(fact: Fact) -> None:
        if isinstance(fact, MicrophoneOpened):
            opened.set()

    ear = Ear()
    thread = threading.Thread(target=ear.listen, args=(60,), kwargs={"on_fact": told})
    begun = time.perf_counter()
    thread.start()
    opened.wait(20)
    open_ms = (time.perf_counter() - begun) * 1000
    begun = time.perf_counter()
    ear.close()
    thread.join()
    close_ms = (time.perf_counter() - begun) * 1000
    cut = np.round(in_a_room(tap_sound(220), quiet=0.2)[: round(0.8 * RATE)] * 2**31).astype(np.int32)
    took = []
    for _ in range(20):
        begun = time.process_time()  # of one core, whatever else runs
        facts_of(cut, RATE, Listen("", 1, None, "rod"))
        took.append((time.process_time() - begun) * 1000)
    return (
        f"microphone open {open_ms:.0f} ms; a cut to its note and recording {statistics.median(took):.1f} ms of one"
        f" core (the first {took[0]:.0f} ms); closed {close_ms:.0f} ms"
    )


def main(arguments: list[str]) -> int:
    """Print the medians and their ratios; exit 1 if a goal is missed."""
    if not ONE_CORE.items() <= os.environ.items():  # as the ear has it; numpy reads this when it is loaded
        os.execve(sys.executable, [sys.executable, *sys.argv], {**os.environ, **ONE_CORE})
    rounds = int(arguments[0]) if arguments else 4
    if gone := missing():
        print(f"not measured: no sound server here, for want of {gone}")
        return 0
    with tempfile.TemporaryDirectory(prefix="benchwalk-") as folder:
        server = SoundServer(Path(folder))
        os.environ |= server.variables
        try:
            server.start()
            return measured(server, Path(folder), rounds)
        finally:
            server.end()


def measured(server: SoundServer, folder: Path, rounds: int) -> int:
    """Measure all modes in turn, and print them."""
    file = recording(in_a_room(*STREAM), folder / "stream.wav")
    keys: dict[str, list[list[float]]] = {mode: [] for mode in MODES}
    for _ in range(rounds):
        for mode in MODES:
            server.play(in_a_room(np.concatenate(STREAM * 12)))  # 43 s, longer than one round of keys
            keys[mode].append(keys_of(mode, file))
            server.hush()
    print(f"{rounds} rounds of {KEYS} keys; a key to its frame, 19 of 20 keys, the slowest; medians of rounds to rest")
    met = True
    for mode in MODES:
        each = sorted(itertools.chain.from_iterable(keys[mode]))
        ratios = [statistics.median(a) / statistics.median(b) for a, b in zip(keys[mode], keys["rest"], strict=True)]
        ratio = statistics.median(ratios)
        goal = f"; goal {GOAL}" if mode in JUDGED else ""
        met = met and (mode not in JUDGED or ratio <= GOAL)
        shown = (statistics.median(each), each[len(each) * 19 // 20], each[-1])
        milliseconds = "   ".join(f"{seconds * 1000:6.1f} ms" for seconds in shown)
        print(f"{mode:<10} {milliseconds}   ratio {ratio:.2f}   (from {min(ratios):.2f} to {max(ratios):.2f}{goal})")
    print(times_of_listening())
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
