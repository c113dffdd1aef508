"""A job in hand at a screen: acts are decided and written in one thread of their own, never in the event loop.

The session changes its state only once the events are on disk, so whatever a screen reads from it is kept already.
"""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from ..errors import BenchwalkError, Refused
from ..session import Session
from ..walk.acts import Act, Pause
from ..walk.decide import Decision

T = TypeVar("T")


class Hand:
    """One session and the thread that writes it. Close it at the end."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="benchwalk-log")
        self._closed = False

    async def do(self, act: Act) -> Decision:
        """Do an act; it is on disk when this returns. Raises Failure where it cannot be kept."""
        return await self.call(lambda: self.session.do(act))

    async def call(self, work: Callable[[], T]) -> T:
        """Run anything that touches the session's files in its thread, after what was asked before.

        Raises Refused once the hand is closed: a key can come while the screen is being left.
        """
        if self._closed:
            raise Refused("the work is put down here; nothing more is noted")
        return await asyncio.get_running_loop().run_in_executor(self._thread, work)

    def leave(self, why: str) -> None:
        """Put the work down while the program stops, as far as that can still be done; waits for it."""
        state = self.session.state
        if not self._closed and state.person == self.session.who and state.job and not state.resting:
            with contextlib.suppress(BenchwalkError):
                self._thread.submit(self.session.do, Pause(why)).result()
        self.close()

    def close(self) -> None:
        """Give up the log, once what was asked is written; may be called twice."""
        if not self._closed:
            self._closed = True
            self._thread.shutdown(wait=True)
            self.session.close()
