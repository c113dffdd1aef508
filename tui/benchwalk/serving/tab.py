"""One browser tab and the process behind it, which lives on for a while where the tab sleeps or its line breaks."""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import signal
from asyncio import StreamReader
from asyncio.subprocess import PIPE, Process
from collections.abc import Sequence

from aiohttp.web import WebSocketResponse
from textual_serve.app_service import AppService
from textual_serve.download_manager import DownloadManager

from ..procedure.showing import safe_text
from .driver import AGAIN

DRIVER = "benchwalk.serving.driver:TabDriver"
ENDED, TAKEN, FULL, STOPPED = 4000, 4001, 4002, 1001
"""With which code a websocket is closed: the program was left, the tab goes on elsewhere, there are too many tabs, the
server stops. The page says each in its own words; any other is a line that broke."""
READY = b"__GANGLION__\n"
"""The line with which the driver says that frames follow."""
MOST_SAID = 20_000
"""Bytes that are kept of what a process says beside its frames."""
ENDING = ((signal.SIGHUP, 6.0), (signal.SIGTERM, 2.0), (signal.SIGKILL, 2.0))
"""How a process is asked to end, and the seconds it is given: the first as where a terminal line drops."""


class Tab(AppService):
    """Runs `arguments` (no shell) and carries its frames to a websocket, which is closed when the process ends.

    What the process says beside its frames, such as why it cannot start, is shown in the tab. `name` is the browser's
    own name of the tab, by which it comes back; `websocket` is None while it is away, `since` the loop's time at which
    that began. `ending`: it is being put down, and takes nobody back.
    """

    def __init__(self, arguments: Sequence[str], name: str = "") -> None:
        super().__init__(
            "",
            write_bytes=self.show,
            write_str=_nothing,  # requests to open addresses or hand over files are none of the bench's
            close=self._close,
            download_manager=DownloadManager(),
        )
        self.arguments = tuple(arguments)
        self.name = name
        self.websocket: WebSocketResponse | None = None
        self.since = 0.0
        self.ending = False
        self._code = ENDED

    async def _open_app_process(self, width: int = 80, height: int = 24) -> Process:
        here = {"TEXTUAL_DRIVER": DRIVER, "TERM": "xterm-256color", "PYTHONUNBUFFERED": "1"}
        self._process = process = await asyncio.create_subprocess_exec(
            *self.arguments,
            stdin=PIPE,
            stdout=PIPE,
            stderr=PIPE,
            env={**self._build_environment(width, height), **here},
            start_new_session=True,  # ctrl+c at the server's terminal is the server's; the process ends by `stop`
        )
        self._stdin = process.stdin
        return process

    async def wake(self, websocket: WebSocketResponse, width: int, height: int) -> None:
        """The tab has come back on another websocket, with a terminal that shows nothing yet."""
        before, self.websocket = self.websocket, websocket
        if before is not None:  # the same tab twice: the later one has it
            self._closing = asyncio.create_task(_closed(before, TAKEN))
        await self.set_terminal_size(width, height)
        await self.send_meta({"type": AGAIN})

    async def ends_within(self, seconds: float) -> bool:
        """Wait until the process has ended and its last words are shown; whether that came in time."""
        carrying = self._task
        return carrying is None or bool((await asyncio.wait({carrying}, timeout=seconds))[0])

    async def run(self) -> None:
        """Carry frames until the process ends; then show what else it said, and close the tab."""
        process = self._process
        assert process is not None and process.stdout is not None and process.stderr is not None
        complaints = asyncio.create_task(_kept(process.stderr))
        try:
            said = await _until_ready(process.stdout)
            if not said:
                await self._carry(process.stdout)
            said += await _kept(process.stdout)
            said += await complaints
            await process.wait()
            if said.strip():
                text = safe_text(said.decode("utf-8", "replace").strip(), newlines=True).replace("\n", "\r\n")
                await self.show(f"\x1b[?1049l\x1b[2J\x1b[H{text}\r\n".encode())
        finally:
            complaints.cancel()
            await self._close()

    async def _close(self) -> None:
        if self.websocket is not None:
            await _closed(self.websocket, self._code)

    async def _carry(self, stdout: StreamReader) -> None:
        """Pass frames on until the screen is given back."""
        with contextlib.suppress(asyncio.IncompleteReadError):
            while True:
                kind = await stdout.readexactly(1)
                payload = await stdout.readexactly(int.from_bytes(await stdout.readexactly(4), "big"))
                if kind == b"D":
                    await self.show(payload)
                elif kind == b"M" and json.loads(payload).get("type") == "exit":
                    return

    async def show(self, data: bytes) -> None:
        """Send what a terminal would show. A browser that is gone is no reason to stop reading the process."""
        if self.websocket is not None:
            with contextlib.suppress(ConnectionError):
                await self.websocket.send_bytes(data)

    async def stop(self, code: int = ENDED) -> None:
        """End the process, and all that it started: it is asked first, so that a walk is put down.

        `code` is what its websocket is closed with.
        """
        self.ending, self._code = True, code
        process, carrying = self._process, self._task
        if process is None or carrying is None:
            return
        for number, patience in ENDING:
            if carrying.done():
                break
            _signal(process.pid, number)
            await asyncio.wait({carrying}, timeout=patience)
        _signal(process.pid, signal.SIGKILL)  # whatever of its group may be left


async def _nothing(_text: str) -> None:
    pass


async def _closed(websocket: WebSocketResponse, code: int) -> None:
    """Close a websocket; one whose browser is gone is closed already."""
    with contextlib.suppress(ConnectionError):
        await websocket.close(code=code)


def _signal(group: int, number: signal.Signals) -> None:
    with contextlib.suppress(ProcessLookupError, PermissionError):
        os.killpg(group, number)


async def _until_ready(stdout: StreamReader) -> bytes:
    """Read up to where frames follow; what was said before, if they never do."""
    said = b""
    while line := await _line(stdout):
        if line == READY:
            return b""
        said = (said + line)[:MOST_SAID]
    return said


async def _line(stdout: StreamReader) -> bytes:
    try:
        return await stdout.readline()
    except ValueError:  # a line longer than the reader holds is no line of a person's text
        return b"\n"


async def _kept(stream: StreamReader) -> bytes:
    """Read to the end; the last of it."""
    kept = b""
    while data := await stream.read(4096):
        kept = (kept + data)[-MOST_SAID:]
    return kept
