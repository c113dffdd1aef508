"""What can be wrong with a log, each with a name of its own.

Failure
├── DamagedLog          it does not read as it was written; names the first bad line
│   ├── NewerLog        it is sound, but written by a later Benchwalk
│   └── HeadNotFound    the head kept outside is not in it
├── NothingKept         an act could not be written; all before it is safe
├── NotConfirmed        an act was written and the disk did not confirm it
└── LogChanged          somebody else changed it under its writer
Refused
└── HeldElsewhere       somebody else is writing it
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..errors import Failure, Refused

if TYPE_CHECKING:
    from .lock import Holder


class DamagedLog(Failure):
    """A log that does not read as it was written; `line` is the first that does not fit (None if none can be named)."""

    def __init__(self, line: int | None, why: str, where: str | None = None) -> None:
        super().__init__(f"line {line} is damaged: {why}" if line else why, where)
        self.line = line
        self.why = why


class NewerLog(DamagedLog):
    """A log that holds events of a later Benchwalk; sound, but not to be read by this one."""


class HeadNotFound(DamagedLog):
    """A chain without the head that was kept outside: lines are missing at its end, or it was made anew."""


class NotConfirmed(Failure):
    """Events were written, and the disk did not confirm them; they may be lost with the power."""


class NothingKept(Failure):
    """Nothing of this act was kept; what was there before is safe."""


class LogChanged(Failure):
    """The log is not as its writer left it."""


class HeldElsewhere(Refused):
    """Somebody else writes this log; the message says who, where and since when. `holder` is None if not known."""

    def __init__(self, message: str, holder: Holder | None, where: str | None = None) -> None:
        super().__init__(message, where)
        self.holder = holder
