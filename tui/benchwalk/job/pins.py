"""PINs: what may be one, its memory-hard hash as text, and how it is asked for at a terminal."""

from __future__ import annotations

import getpass
import hmac
import os
import sys
import warnings
from hashlib import scrypt
from itertools import pairwise

from ..errors import Refused, UsageError

LEAST_DIGITS = 6
MOST_DIGITS = 32
_COST, _BLOCK, _LANES = 1 << 15, 8, 1  # 32 MiB for each try
_MOST_MEMORY = 1 << 28
_KEY = 32  # bytes
_LEAST_SALT = 16  # bytes


RULES = (
    f"A PIN is {LEAST_DIGITS} to {MOST_DIGITS} digits, 0 to 9 alone: not one digit over and over, not counting up or"
    " down, not two or three digits repeated"
)
"""All that `fault` looks at, told before anything is typed."""


def fault(pin: str) -> str | None:
    """Why this cannot be a PIN, or is one of those tried first; None if it will do. Never says the PIN."""
    if not (pin.isascii() and pin.isdigit()):
        return "a PIN is made of the digits 0 to 9 alone"
    if not LEAST_DIGITS <= len(pin) <= MOST_DIGITS:
        return f"a PIN has {LEAST_DIGITS} digits or more, {MOST_DIGITS} at most"
    if len(set(pin)) == 1:
        return "a PIN of one digit over and over is the first that anybody tries; take another"
    steps = {(int(b) - int(a)) % 10 for a, b in pairwise(pin)}
    if steps in ({1}, {9}):
        return "a PIN that counts up or down is the first that anybody tries; take another"
    if any(len(pin) % n == 0 and pin == pin[:n] * (len(pin) // n) for n in (2, 3)):
        return "a PIN that repeats itself is among the first that anybody tries; take another"
    return None


def hashed(pin: str, salt: bytes) -> str:
    """The text kept of a PIN: the way of hashing, its parameters, the salt (16 bytes or more) and the hash."""
    if len(salt) < _LEAST_SALT:
        raise ValueError(f"a salt of {len(salt)} bytes is too short; {_LEAST_SALT} are the least")
    key = _key(pin, salt, _COST, _BLOCK, _LANES)
    return f"scrypt:{_COST}:{_BLOCK}:{_LANES}:{salt.hex()}:{key.hex()}"


def fits(pin: str, kept: str) -> bool:
    """Whether `pin` is the one whose hash was kept. Raises Refused if what was kept is no such hash."""
    try:
        way, cost, block, lanes, salt, key = kept.split(":")
        numbers = int(cost), int(block), int(lanes)
        if way != "scrypt" or min(numbers) < 1 or 128 * numbers[0] * numbers[1] * numbers[2] > _MOST_MEMORY:
            raise ValueError
        wanted = bytes.fromhex(key)
        if len(wanted) != _KEY:
            raise ValueError
        return hmac.compare_digest(_key(pin, bytes.fromhex(salt), *numbers), wanted)
    except ValueError:
        raise Refused("the PIN kept for this person cannot be understood; a senior must set a new one") from None


def read_pin(prompt: str) -> str:
    """Ask for a PIN at a terminal, without showing it.

    Raises UsageError where there is no terminal, or one that would show what is typed: a PIN that comes through a pipe
    has been written down somewhere.
    """
    refusal = UsageError("a PIN is only taken from a person at a terminal, never from a pipe or a file")
    try:
        if not (os.isatty(sys.stdin.fileno()) and os.isatty(sys.stderr.fileno())):
            raise refusal
    except (AttributeError, OSError, ValueError):
        raise refusal from None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", getpass.GetPassWarning)
            return getpass.getpass(prompt).strip()
    except getpass.GetPassWarning:
        raise UsageError("this terminal would show the PIN while it is typed; use another") from None
    except EOFError:
        raise refusal from None


def _key(pin: str, salt: bytes, cost: int, block: int, lanes: int) -> bytes:
    memory = 128 * block * (cost + lanes + 2) + (1 << 20)
    return scrypt(pin.encode(), salt=salt, n=cost, r=block, p=lanes, dklen=_KEY, maxmem=memory)
