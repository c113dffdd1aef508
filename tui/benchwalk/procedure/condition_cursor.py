"""Walking along the tokens of a condition, and saying what is wrong where they do not go on as they should."""

from __future__ import annotations

from typing import NoReturn

from .condition_nodes import Subject
from .condition_tokens import NAME, ConditionError, Token, quoted, tokens

LEADS = "+-\N{MINUS SIGN}."  # what a number may begin with, besides a digit

_TAKEN = "below within above missing released refused otherwise any all min max not and or is has at"
RESERVED = frozenset(_TAKEN.split())
"""Words that may not be names of readings, limits or sums."""

SIGNS = {"<": "<", "<=": "<=", ">": ">", ">=": ">=", "=": "=", "≤": "<=", "≥": ">="}
CURES = {
    "==": "write one '=', or 'is' before a choice",
    "=<": "write '<='",
    "=>": "write '>='",
    "!=": "write 'is not' before a choice, or 'not (... = ...)'",
    "<>": "write 'is not' before a choice, or 'not (... = ...)'",
    "≠": "write 'is not' before a choice, or 'not (... = ...)'",
}
JOINERS = frozenset(("and", "or"))
OTHER_JOINERS = {"&&": "and", "&": "and", "||": "or", "|": "or", ",": "and' or 'or", ";": "and' or 'or"} | {
    word: word.lower() for word in ("AND", "And", "OR", "Or")
}
ALL_OTHERS = frozenset(("else", "other", "others", "default", "rest", "anything"))
STOPS = frozenset(("and", "or", "is", "has", "not", *OTHER_JOINERS))


class Cursor:
    """A place in the list of tokens."""

    __slots__ = ("index", "list", "text", "token")

    def __init__(self, text: str) -> None:
        self.text = text
        self.list = tokens(text)
        self.index = 0
        self.token: Token = self.list[0]

    def step(self) -> Token:
        """Take the current token and move on."""
        token = self.token
        if token.kind != "end":
            self.index += 1
            self.token = self.list[self.index]
        return token

    def peek(self) -> Token:
        return self.list[min(self.index + 1, len(self.list) - 1)]

    def shown(self, token: Token) -> str:
        return "the end" if token.kind == "end" else quoted(token.text)

    def fail(self, message: str, token: Token | Subject, end: int | None = None) -> NoReturn:
        raise ConditionError(message, token.at, token.end if end is None else end)

    def no_operand(self, token: Token) -> NoReturn:
        if token.kind == "end":
            if self.index == 0:
                self.fail("the condition is empty; expected something such as 'gap < 3 mm'", token)
            before = self.list[self.index - 1]
            self.fail(f"something is expected after {quoted(before.text)}, but the condition ends there", before)
        if token.text == "otherwise":
            self.fail("'otherwise' stands alone in a branch of its own; it cannot be part of a condition", token)
        if token.kind == "sign" and self.index and self.list[self.index - 1].text in JOINERS:
            self.fail(f"say the name again before {quoted(token.text)}, so that it is plain what is compared", token)
        if token.text in RESERVED:
            self.fail(f"{quoted(token.text)} has a meaning of its own here; expected a name or a number", token)
        self.fail(f"expected the name of a reading or a number, but {self.shown(token)} was found", token)

    def no_question(self, subject: Subject, token: Token) -> NoReturn:
        said = quoted(self.text[subject.at : subject.end])
        before = self.list[self.index - 2].text if subject.how == "plain" and self.index >= 2 else ""
        if token.text in OTHER_JOINERS:
            self.unexpected_after(token)
        if token.kind in ("end", "bracket") or token.text in JOINERS:
            cure = f"; after '{before}' say a whole condition, such as 'lie is some'" if before in JOINERS else ""
            if subject.name.lower() in ALL_OTHERS:
                cure = "; for whatever no other branch takes, write 'otherwise'"
            self.fail(f"nothing is asked about {said}; expected a comparison, 'is' or 'has'{cure}", subject)
        if subject.how == "plain" and NAME(token.text) and self.peek().text in (*SIGNS, *CURES, "is", "has"):
            self.fail(
                f"{said} is followed by {quoted(token.text)}; a name is one word, "
                f"such as {quoted(subject.name + '_' + token.text)}",
                token,
            )
        cures = {
            "between": "; write '2 <= gap <= 5'",
            "isn't": "; write 'is not'",
            "less": "; write '<'",
            "more": "; write '>'",
            "under": "; write '<'",
            "over": "; write '>'",
            "not": "; write 'is not'",
        }
        cure = cures.get(token.text.lower(), "; expected a comparison, 'is', 'has' or 'at'")
        self.fail(f"{said} is followed by {quoted(token.text)}{cure}", token)

    def too_many_words(self, subject: Subject, word: Token) -> NoReturn:
        token = self.token
        if word.text in ("below", "above", "within", "between", "under", "over", "less", "more"):
            sign = {"below": "<", "under": "<", "less": "<", "above": ">", "over": ">", "more": ">"}.get(word.text)
            cure = f"'{subject.name} {sign} ...'" if sign else f"'2 <= {subject.name} <= 5'"
            self.fail(
                f"'is {word.text}' is about what is wanted and stands alone; against a number write {cure}", token
            )
        self.fail(
            f"a choice is one word, but {quoted(word.text)} is followed by {quoted(token.text)}; "
            "write the choice's key, not what it says",
            token,
        )

    def unexpected_after(self, token: Token) -> NoReturn:
        if token.text == ")":
            self.fail("this bracket closes nothing; take it out or add '('", token)
        joiner = OTHER_JOINERS.get(token.text)
        if joiner and token.text.isalpha():
            self.fail(f"write '{joiner}' in small letters", token)
        if joiner:
            self.fail(f"{quoted(token.text)} does not join conditions; write '{joiner}'", token)
        self.fail(f"expected 'and', 'or' or the end, but {self.shown(token)} was found", token)
