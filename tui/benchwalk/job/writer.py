"""The one thread that writes a log, so that a slow disk never holds up a screen."""

from __future__ import annotations

import queue
import threading
from collections.abc import Mapping, Sequence
from concurrent.futures import Future
from typing import Any

from ..errors import Failure
from .line import Event
from .log import JobLog

_Job = tuple[Sequence[Mapping[str, Any]], "Future[list[Event]]"]


class WriterThread:
    """Appends acts to a log one after the other and answers through futures.

    After an act that failed, every later one fails with the same sentence: what was decided after it was decided as if
    it had been kept. `go_on` ends that where the log itself can go on (the disk was full, and now is not).
    """

    def __init__(self, log: JobLog) -> None:
        self.log = log
        self._queue: queue.SimpleQueue[_Job | None] = queue.SimpleQueue()
        self._failed: BaseException | None = None
        self._guard = threading.Lock()
        self._closed = False
        self._thread = threading.Thread(target=self._run, name="benchwalk-log", daemon=True)
        self._thread.start()

    def submit(self, bodies: Sequence[Mapping[str, Any]]) -> Future[list[Event]]:
        """Queue the events of one act; the future gives them as they stand in the log, synced, or raises."""
        future: Future[list[Event]] = Future()
        with self._guard:
            if self._closed:
                future.set_exception(Failure("this log was closed; open it again to go on", self.log.path))
            else:
                self._queue.put((list(bodies), future))
        return future

    def go_on(self) -> None:
        """Let acts through again, once a person was told of the failure. Raises what ended the log, if it is over."""
        if self.log.over is not None:
            raise self.log.over
        self._failed = None

    def close(self) -> None:
        """Write what is queued, give up the log, end the thread; may be called twice."""
        with self._guard:
            if not self._closed:
                self._closed = True
                self._queue.put(None)
        self._thread.join()

    def _run(self) -> None:
        while (job := self._queue.get()) is not None:
            bodies, future = job
            if not future.set_running_or_notify_cancel():
                continue
            if self._failed is None:
                try:
                    events = self.log.append(bodies)
                except BaseException as error:
                    self._failed = error
                else:
                    future.set_result(events)
                    continue
            future.set_exception(self._failed)
        self.log.close()
