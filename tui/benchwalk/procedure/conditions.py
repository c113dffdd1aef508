"""Conditions: the small language of branches, read into a tree in which every part knows its place in the text.

    gap < 3 mm                          a reading against a number, a limit or a note
    0.5 <= gap <= least_gap             between two
    gap is below | within | above       against what is wanted
    lie is some, lie is not all         a choice
    knob_total is missing               whether it was recorded at all
    advice has no result                whether a sum came to anything
    any runs is binds                   some place; `all` for every place; min(...) and max(...) for numbers
    skew at butt side > 1 mm            one named place
    hold is refused for gap             what became of a hold
    not (...), and, or                  `and` mixed with `or` needs brackets

Nothing is evaluated as code. This module knows words and order only; what a name stands for is settled by `binding`.
"""

from __future__ import annotations

from functools import lru_cache

from .condition_cursor import CURES, JOINERS, LEADS, OTHER_JOINERS, RESERVED, SIGNS, STOPS, Cursor
from .condition_nodes import And, Compare, Condition, Constant, HasResult, Is, Not, Operand, Or, Subject
from .condition_tokens import NAME, ConditionError, Token, quoted

__all__ = ["DEEPEST", "RESERVED", "Condition", "ConditionError", "parse_condition"]

DEEPEST = 20
"""Most brackets that may stand inside one another."""


@lru_cache(maxsize=4096)
def parse_condition(text: str) -> Condition:
    """Read one condition; raises ConditionError with a sentence and the place of the first thing that is wrong."""
    parser = _Parser(text)
    condition = parser.chain(0)
    token = parser.token
    if token.kind != "end":
        parser.unexpected_after(token)
    return condition


class _Parser(Cursor):
    __slots__ = ()

    def chain(self, depth: int) -> Condition:
        """One term, or several joined by the same of `and` and `or`."""
        first = self.term(depth)
        joiner = self.token.text
        if joiner not in JOINERS:
            return first
        parts = [first]
        while self.token.text in JOINERS:
            if self.token.text != joiner:
                self.fail(
                    "'and' and 'or' stand side by side here; put brackets round the part that belongs together, "
                    "such as '(a and b) or c'",
                    self.token,
                )
            self.step()
            parts.append(self.term(depth))
        cls = And if joiner == "and" else Or
        return cls(tuple(parts), parts[0].at, parts[-1].end)

    def term(self, depth: int) -> Condition:
        token = self.token
        if token.text == "(":
            self.step()
            inner, _ = self.bracketed(token, depth)
            return inner
        if token.text == "not":
            self.step()
            opening = self.token
            if opening.text != "(":
                self.fail(
                    f"after 'not' comes a bracket, but {self.shown(opening)} was found; "
                    "write 'not (lie is all)' or 'lie is not all'",
                    opening,
                )
            self.step()
            inner, end = self.bracketed(opening, depth)
            return Not(inner, token.at, end)
        return self.atom()

    def bracketed(self, opening: Token, depth: int) -> tuple[Condition, int]:
        if depth >= DEEPEST:
            self.fail(f"more than {DEEPEST} brackets stand inside one another; say it more simply", opening)
        inner = self.chain(depth + 1)
        closing = self.token
        if closing.text != ")":
            if closing.kind == "end":
                self.fail("this bracket is never closed; add ')'", opening)
            self.unexpected_after(closing)
        self.step()
        return inner, closing.end

    def atom(self) -> Condition:
        token = self.token
        first = self.operand()
        following = self.token
        if following.kind == "sign":
            return self.comparison(first)
        if isinstance(first, Subject):
            if following.text == "is":
                return self.is_something(first)
            if following.text == "has":
                return self.has_result(first)
            self.no_question(first, following)
        if following.text in OTHER_JOINERS:
            self.unexpected_after(following)
        self.fail(
            f"{quoted(first.text)} is compared with nothing; expected a sign such as '<' and a name",
            token,
            first.end,
        )

    # operands

    def operand(self) -> Operand:
        token = self.token
        word = token.text
        if token.kind != "word":
            self.no_operand(token)
        if word in ("min", "max") and self.peek().text == "(":
            return self.extreme(token)
        following = self.peek()
        if word in ("any", "all"):
            if following.kind != "word" or not NAME(following.text) or following.text in RESERVED:
                self.fail(
                    f"after '{word}' comes the name of a reading with several places, "
                    f"but {self.shown(following)} was found",
                    following,
                )
            self.step()
            self.step()
            return Subject(following.text, token.at, following.end, word, None, following.at)
        if NAME(word):
            if word in RESERVED or word in STOPS:
                self.no_operand(token)
            self.step()
            if self.token.text == "at" and self.token.kind == "word":
                return self.placed(token)
            return Subject(word, token.at, token.end, "plain", None, token.at)
        return self.constant()

    def constant(self) -> Constant:
        first = last = self.token
        if first.text == "!":
            self.fail("'!' is not a word of this language; write 'not (...)'", first)
        if first.text[0] in "\"'":
            self.fail(f"names and numbers stand without quotes, but {self.shown(first)} was found", first)
        if not first.text[0].isalnum() and first.text[0] not in LEADS:
            self.fail(f"{self.shown(first)} is neither a name nor a number", first)
        while self.token.kind == "word" and self.token.text not in STOPS:
            last = self.step()
        return Constant(self.text[first.at : last.end], first.at, last.end)

    def extreme(self, token: Token) -> Subject:
        self.step()
        opening = self.step()
        name = self.step()
        if name.kind != "word" or not NAME(name.text) or name.text in RESERVED:
            self.fail(
                f"inside '{token.text}(...)' comes the name of a reading with several places, "
                f"but {self.shown(name)} was found",
                name,
            )
        closing = self.token
        if closing.text != ")":
            if closing.kind == "end":
                self.fail("this bracket is never closed; add ')'", opening)
            self.fail(
                f"'{token.text}(...)' holds one name, but {self.shown(closing)} follows {quoted(name.text)}", closing
            )
        self.step()
        return Subject(name.text, token.at, closing.end, token.text, None, name.at)

    def placed(self, name: Token) -> Subject:
        """The place after `at`: every word up to a sign, `is` or `has`."""
        self.step()
        first = last = self.token
        while self.token.kind == "word" and self.token.text not in STOPS:
            last = self.step()
        if first.kind != "word" or first.text in STOPS:
            self.fail(f"after 'at' comes a place, but {self.shown(first)} was found", first)
        place = " ".join(self.text[first.at : last.end].split())
        return Subject(name.text, name.at, last.end, "at", place, name.at, first.at)

    # what is asked

    def comparison(self, first: Operand) -> Compare:
        operands: list[Operand] = [first]
        signs: list[str] = []
        while self.token.kind == "sign":
            sign = self.step()
            if sign.text not in SIGNS:
                self.fail(f"{quoted(sign.text)} is not a sign of this language; {CURES[sign.text]}", sign)
            if len(signs) == 2:
                self.fail("a comparison has at most two signs; join two comparisons with 'and'", sign)
            signs.append(SIGNS[sign.text])
            if len(signs) == 2 and (signs[0][0] != signs[1][0] or "=" in signs):
                self.fail("the two signs do not point the same way; write two comparisons joined with 'and'", sign)
            operands.append(self.operand())
        return Compare(tuple(operands), tuple(signs), first.at, operands[-1].end)

    def is_something(self, subject: Subject) -> Is:
        self.step()
        negated = self.token.text == "not"
        if negated:
            self.step()
        word = self.token
        if word.kind != "word" or word.text in STOPS:
            if word.kind == "sign":
                self.fail(
                    f"after 'is' comes a word, but {self.shown(word)} was found; leave out 'is' before a sign", word
                )
            self.fail(
                f"after 'is' comes a choice, or below, within, above or missing, but {self.shown(word)} was found",
                word,
            )
        self.step()
        if word.text == "refused" and self.token.text == "for":
            self.step()
            reason = self.token
            if reason.kind != "word" or reason.text in STOPS:
                self.fail(f"after 'refused for' comes a reason, but {self.shown(reason)} was found", reason)
            self.step()
            return Is(subject, negated, word.text, word.at, subject.at, reason.end, reason.text, reason.at)
        end = word.end
        text = word.text
        if self.token.kind == "word" and self.token.text not in JOINERS:
            if not (text[0].isdigit() or text[0] in LEADS):
                self.too_many_words(subject, word)
            while self.token.kind == "word" and self.token.text not in STOPS:
                end = self.step().end
            text = self.text[word.at : end]
        return Is(subject, negated, text, word.at, subject.at, end)

    def has_result(self, subject: Subject) -> HasResult:
        has = self.step()
        which, result = self.token, self.peek()
        if which.text not in ("no", "a") or result.text != "result":
            self.fail(
                f"after '{subject.name} has' comes 'no result' or 'a result', but {self.shown(which)} was found",
                has if which.kind == "end" else which,
            )
        self.step()
        self.step()
        return HasResult(subject, which.text == "no", subject.at, result.end)
