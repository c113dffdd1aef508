"""Small words: choosing from a list by number or by the beginning of a word, and sentences."""

from __future__ import annotations

from ..errors import Refused
from ..procedure.showing import shortened

YES, NO = ("yes", "y"), ("no", "n", "not yet")


def pick(answer: str, words: list[str], said: list[str]) -> str:
    """The word meant by a number, or by its (or its text's) beginning; Refused where that is not one of them."""
    return words[index_of(answer, words, said)]


def index_of(answer: str, words: list[str], said: list[str]) -> int:
    """The same as a place in the list."""
    cure = f"type a number, 1 to {len(words)}" if len(words) > 1 else "type 1"
    if answer.isascii() and answer.isdigit():
        if len(answer) < 5 and 1 <= int(answer) <= len(words):
            return int(answer) - 1
        raise Refused(f"{shortened(answer)} is none of the choices; {cure}")
    if not answer:
        raise Refused(cure)
    low = answer.lower()
    both = list(enumerate(zip(words, said, strict=True)))
    exact = [i for i, (w, s) in both if low in (w.lower(), s.lower())]
    begun = [i for i, (w, s) in both if w.lower().startswith(low) or s.lower().startswith(low)]
    found = exact or begun
    if len(found) == 1:
        return found[0]
    raise Refused(f"'{shortened(answer)}' {'fits more than one' if found else 'is none'} of the choices; {cure}")


def number_of(text: str, what: str) -> int:
    """A positive whole number that names something; Refused where it is none."""
    if text.isascii() and text.isdigit() and len(text) < 9:
        return int(text)
    raise Refused(f"'{shortened(text)}' is not the number of {what}")


def only(word: str, typed: str, passes: str) -> str:
    """What is said where something else than the one word that passes was typed."""
    if typed:
        return f"Only the word {word} passes {passes}."
    return f"Enter alone does not pass {passes}. Type the word {word}."
