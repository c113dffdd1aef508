"""What may be a name, an id, a role or a file's ending: everything that may reach a path is checked here."""

from __future__ import annotations

import re

from ..errors import Refused
from ..procedure.yaml_text import bad_character, named

GUEST = "guest"
"""The id of who practises in a shop that has no people yet."""

_JOB = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9._-]{0,62}[A-Za-z0-9])?")
_PERSON = re.compile(r"[a-z](?:[a-z0-9-]{0,30}[a-z0-9])?")
_HASH = re.compile(r"[0-9a-f]{64}")
_ENDING = re.compile(r"[a-z0-9]{1,8}")
_LONGEST = 200


def job_id(text: str) -> str:
    """`text` as a job's id, which is also its folder's name. Raises Refused."""
    if not _JOB.fullmatch(text) or ".." in text:
        raise Refused(
            f"{text!r} cannot be a job's id: up to 64 letters, digits, '.', '_' and '-' are, such as J-0001,"
            " beginning and ending with a letter or digit"
        )
    return text


def person_id(text: str) -> str:
    """`text` as a person's id. Raises Refused."""
    if not _PERSON.fullmatch(text):
        raise Refused(
            f"{text!r} cannot be a person's id: up to 32 small letters, digits and '-' are, beginning with a letter"
        )
    return text


def role(text: str) -> str:
    """`text` as a role, such as `senior`. Raises Refused."""
    if not _PERSON.fullmatch(text):
        raise Refused(f"{text!r} cannot be a role: one word of small letters, digits and '-' is, such as senior")
    return text


def digest(text: str) -> str:
    """`text` as a SHA-256 hash, which is also a file's name. Raises Refused."""
    if not _HASH.fullmatch(text):
        raise Refused(f"{text!r} is no hash: 64 characters out of 0-9 and a-f are expected")
    return text


def ending(text: str) -> str:
    """`text` as a file's ending, without its dot and in small letters. Raises Refused."""
    plain = text.removeprefix(".").lower()
    if not _ENDING.fullmatch(plain):
        raise Refused(f"{text!r} cannot be a file's ending: up to 8 letters and digits are, such as wav")
    return plain


def one_line(text: str, what: str) -> str:
    """`text` without blanks around it, fit to be shown in one line; `what` names it in the refusal. Raises Refused."""
    plain = text.strip()
    if not plain:
        raise Refused(f"{what} is empty")
    if len(plain) > _LONGEST:
        raise Refused(f"{what} has {len(plain)} characters; at most {_LONGEST} are kept")
    if "\n" in plain or "\r" in plain or "\t" in plain:
        raise Refused(f"{what} has more than one line, or a tab; one line is expected")
    if bad := bad_character(plain):
        raise Refused(f"{what} holds {named(bad.group())}, which may not stand there")
    return plain


def some_lines(text: str, what: str) -> str:
    """`text` without blanks around it, fit to be kept as it is; `what` names it in the refusal. Raises Refused."""
    plain = text.strip()
    if len(plain) > 10 * _LONGEST:
        raise Refused(f"{what} has {len(plain)} characters; at most {10 * _LONGEST} are kept")
    if bad := bad_character(plain):
        raise Refused(f"{what} holds {named(bad.group())}, which may not stand there")
    return plain
