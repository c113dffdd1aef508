"""Procedure files spoilt at random: what a slipped hand, a bad copy or an ill will makes of a good one.

Run as a program it checks mutants one by one and ends with the first that is not taken as it should be:

    python tests/mutants.py FIRST COUNT
"""

from __future__ import annotations

import random
import re
import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path

from benchwalk.procedure.findings import Finding
from benchwalk.proof.check import check_file
from benchwalk.sums import compute
from samples import HEAD, other

ROOT = Path(__file__).resolve().parents[1]
SECONDS, MEGABYTES = 2.0, 200
"""What one file may take, in time of the processor, and the most memory of the whole run."""

NASTY = (
    *("\t", "\r", "\x00", "\x1b[31m", "\u202e", "\u2028", "\ufeff", "é", "日", "💥", "\u0301" * 30),
    *("{{", "}}", "{", "}", "[", "]", ": ", " #", "- ", "&a ", "*a", "!x ", "|", ">", "'", '"', "%", "@", "`", "---\n"),
    *("<<: *a", "~", "null", "yes", "0x10", "1e999", ".inf", "1,000", "-" * 50, "9" * 400, "((((((((", "not not not"),
    *(
        "{{ __import__('os').system('true') }}",
        "{{ x.__class__ }}",
        "{% for x in y %}",
        "{{ 9**9**9 }}",
        "{{ a | b | c }}",
    ),
)
BOMBS: tuple[Callable[[str], str], ...] = (
    lambda text: (
        "a: &a [x]\n" + "".join(f"{chr(98 + i)}: &{chr(98 + i)} [*{chr(97 + i)}, *{chr(97 + i)}]\n" for i in range(20))
    ),
    lambda text: text + "deep: " + "[" * 3000,
    lambda text: text + "deep: " + "{a: " * 2000,
    lambda text: text + "".join("  " * n + "k:\n" for n in range(400)),
    lambda text: text + "big: " + "x" * 300_000,
    lambda text: text + "big: |\n" + "  y\n" * 30_000,
    lambda text: text.replace("when: ", "when: " + "(" * 500, 1),
    lambda text: text.replace("when: ", "when: " + "a is b or " * 3000, 1),
    lambda text: text.replace("do: ", "do: " + "{{ x }}" * 3000, 1),
    lambda text: text * 3,
    lambda text: "",
    lambda text: "\n" * 20_000,
)


_PAIR = re.compile(r"\b([a-z_]+): ([^,{}\[\]\n]+|\[[^\[\]\n]*\])")


def originals() -> list[str]:
    """Good files to spoil: the shipped procedures, the small ones oftener, and what the rules are tried on."""
    shipped = [path.read_text(encoding="utf-8") for path in sorted((ROOT / "procedures").glob("*.yaml"))]
    shipped.sort(key=len)
    tried = [_whole(path.read_text(encoding="utf-8")) for path in sorted((ROOT / "tests" / "check").glob("*/*.yaml"))]
    return shipped[:-1] * 4 + tried + shipped[-1:]


def _whole(text: str) -> str:
    """A piece of a procedure with the head that every procedure has."""
    head = "".join(f"{key}: {value}\n" for key, value in HEAD.items() if f"\n{key}:" not in f"\n{text}")
    return head + text


def mutant(chance: random.Random, texts: list[str]) -> bytes:
    """One file, spoilt in one to four ways."""
    text = chance.choice(texts)
    if chance.random() < 0.04:
        text = chance.choice(BOMBS)(text)
    for _ in range(chance.randint(1, 4)):
        text = chance.choice(_WAYS)(chance, text)
    data = text.encode("utf-8", "surrogatepass")
    if chance.random() < 0.06:
        data = chance.choice(_BYTES)(chance, data)
    return data


def _lines(change: Callable[[random.Random, list[str]], None]) -> Callable[[random.Random, str], str]:
    def changed(chance: random.Random, text: str) -> str:
        lines = text.split("\n")
        change(chance, lines)
        return "\n".join(lines)

    return changed


def _drop(chance: random.Random, lines: list[str]) -> None:
    del lines[chance.randrange(len(lines))]


def _twice(chance: random.Random, lines: list[str]) -> None:
    at = chance.randrange(len(lines))
    lines.insert(chance.randrange(len(lines) + 1), lines[at])


def _swap(chance: random.Random, lines: list[str]) -> None:
    one, other = chance.randrange(len(lines)), chance.randrange(len(lines))
    lines[one], lines[other] = lines[other], lines[one]


def _indent(chance: random.Random, lines: list[str]) -> None:
    at = chance.randrange(len(lines))
    lines[at] = " " * chance.randint(0, 9) + lines[at].lstrip() if chance.random() < 0.7 else "\t" + lines[at]


def _value(chance: random.Random, lines: list[str]) -> None:
    at = chance.randrange(len(lines))
    key, colon, _ = lines[at].partition(": ")
    if colon:
        lines[at] = key + colon + chance.choice(NASTY)


def _same_key(chance: random.Random, text: str) -> str:
    """Give a key the value that the same key has elsewhere: the file can still be read, and says something else."""
    found = list(_PAIR.finditer(text))
    if not found:
        return text
    one = chance.choice(found)
    other = chance.choice([pair for pair in found if pair[1] == one[1]])
    return text[: one.start(2)] + other[2] + text[one.end(2) :]


def _put(chance: random.Random, text: str) -> str:
    at = chance.randint(0, len(text))
    return text[:at] + chance.choice(NASTY) + text[at:]


def _cut(chance: random.Random, text: str) -> str:
    at = chance.randint(0, len(text))
    return text[:at] + text[at + chance.randint(1, 8) :]


def _end(chance: random.Random, text: str) -> str:
    return text[: chance.randint(0, len(text))] if chance.random() < 0.3 else text.rstrip("\n")


def _ends(chance: random.Random, text: str) -> str:
    return text.replace("\n", "\r\n") if chance.random() < 0.5 else text.replace("\n", "\r", chance.randint(1, 20))


def _other_word(chance: random.Random, text: str) -> str:
    words = text.split(" ")
    at, other = chance.randrange(len(words)), chance.randrange(len(words))
    words[at] = words[other]
    return " ".join(words)


_WAYS: tuple[Callable[[random.Random, str], str], ...] = (
    *(_lines(change) for change in (_drop, _twice, _swap, _indent, _value, _value)),
    *(_put, _put, _cut, _cut, _end, _ends, _other_word, _other_word),
    *(_same_key,) * 30,
)
_BYTES: tuple[Callable[[random.Random, bytes], bytes], ...] = (
    lambda chance, data: data.decode("utf-8", "replace").encode("utf-16"),
    lambda chance, data: data.decode("utf-8", "replace").encode("latin-1", "replace"),
    lambda chance, data: b"\xef\xbb\xbf" + data,
    lambda chance, data: bytes(chance.randrange(256) for _ in range(500)),
    lambda chance, data: data[: len(data) // 2] + b"\xff\xfe\x80" + data[len(data) // 2 :],
)


def misplaced(found: list[Finding], data: bytes) -> list[Finding]:
    """Findings whose line and column are not in the text."""
    lines = data.decode("utf-8", "replace").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    return [
        f for f in found if not (1 <= f.pos.line <= len(lines) and 1 <= f.pos.column <= len(lines[f.pos.line - 1]) + 2)
    ]


def most_memory() -> int:
    """The most memory this program had, in megabytes. What `getrusage` says counts what it was begun from as well."""
    status = Path("/proc/self/status")
    if status.exists():
        return int(re.findall(r"^VmHWM:\s*(\d+) kB", status.read_text(encoding="ascii"), re.MULTILINE)[0]) // 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


def main(first: int, count: int) -> int:
    """Check mutants; 1 with a sentence on stderr at the first that goes wrong."""
    texts = originals()
    for seed in range(first, first + count):
        data = mutant(random.Random(seed), texts)
        began = time.process_time()
        try:
            found = check_file(data, "spoilt.yaml", other, compute=compute)
        except BaseException as error:
            print(f"seed {seed}: {type(error).__name__}: {error}", file=sys.stderr)
            raise
        took = time.process_time() - began
        wrong = misplaced(found, data)
        if took > SECONDS or wrong:
            print(f"seed {seed}: {took:.1f} s, misplaced: {wrong[:1]}", file=sys.stderr)
            return 1
    used = most_memory()
    if used > MEGABYTES:
        print(f"{used} MB were used", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]), int(sys.argv[2])))
