"""Every error Benchwalk raises on purpose, in one place.

BenchwalkError          a sentence for a person, where it happened, and the exit code a command ends with
├── Refused             exit 1: findings, or an act that is not allowed here and now
│   └── Misread         a typed value could not be understood (quantities)
├── UsageError          exit 2: the command line or a request was wrong
└── Failure             exit 3: the disk, the log or the machine did not do its part
"""

from __future__ import annotations


class BenchwalkError(Exception):
    """Something a person must be told in one sentence.

    `message` says what was found, what was expected and what to do; `where` names the place (a file, a line, a job).
    """

    exit_code = 3

    def __init__(self, message: str, where: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.where = where

    def __str__(self) -> str:
        return f"{self.where}: {self.message}" if self.where else self.message


class Refused(BenchwalkError):
    """An act or an input that is not allowed, with the reason; nothing was changed."""

    exit_code = 1


class Misread(Refused):
    """A typed value that could not be understood, or could be understood in two ways."""


class UsageError(BenchwalkError):
    """The command or request itself was wrong."""

    exit_code = 2


class Failure(BenchwalkError):
    """The disk, the log or the machine failed; the message says what is known to be safe."""

    exit_code = 3
