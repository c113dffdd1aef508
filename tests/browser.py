"""A real browser without a window, driven over its own debugging protocol."""

from __future__ import annotations

import asyncio
import base64
import contextlib
import itertools
import os
import signal
import struct
import zlib
from pathlib import Path
from typing import Any

import aiohttp

from house import PATIENCE

FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync"),
    *("--disable-background-networking", "--disable-component-update", "--disable-dev-shm-usage"),
    *("--remote-debugging-port=0", "--window-size=1024,768", "about:blank"),
)


class Browser:
    """One page of a browser that begins with an empty profile in `folder`. Use it as an async context."""

    def __init__(self, program: str, folder: Path) -> None:
        self.program, self.folder = program, folder
        self.events: list[dict[str, Any]] = []
        self._numbers = itertools.count(1)
        self._answers: dict[int, asyncio.Future[dict[str, Any]]] = {}
        self._changed = asyncio.Event()

    async def __aenter__(self) -> Browser:
        arguments = [*FLAGS[:-1], f"--user-data-dir={self.folder}", FLAGS[-1]]
        nowhere = asyncio.subprocess.DEVNULL
        self.process = await asyncio.create_subprocess_exec(
            self.program, *arguments, stdout=nowhere, stderr=nowhere, start_new_session=True
        )
        told = self.folder / "DevToolsActivePort"
        async with asyncio.timeout(PATIENCE):
            while not (told.exists() and told.read_text().count("\n")):
                await asyncio.sleep(0.05)
        port = told.read_text().split()[0]
        self.http = aiohttp.ClientSession()
        async with self.http.get(f"http://127.0.0.1:{port}/json/list") as answer:
            pages = [row for row in await answer.json() if row["type"] == "page"]
        self.socket = await self.http.ws_connect(pages[0]["webSocketDebuggerUrl"], max_msg_size=0)
        self._listening = asyncio.create_task(self._listen())
        for domain in ("Page", "Network", "Runtime", "Log"):
            await self.ask(f"{domain}.enable")
        return self

    async def __aexit__(self, *_failure: object) -> None:
        self._listening.cancel()
        await self.http.close()
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)
        await self.process.wait()

    async def _listen(self) -> None:
        async for message in self.socket:
            said = message.json()
            if "id" in said:
                self._answers.pop(said["id"]).set_result(said)
            else:
                self.events.append(said)
                self._changed.set()

    async def ask(self, method: str, **parameters: object) -> dict[str, Any]:
        """Send one command; its result."""
        number = next(self._numbers)
        answer = self._answers[number] = asyncio.get_running_loop().create_future()
        await self.socket.send_json({"id": number, "method": method, "params": parameters})
        said = await asyncio.wait_for(answer, PATIENCE)
        assert "error" not in said, said
        return dict(said["result"])

    async def evaluate(self, expression: str) -> Any:
        """The value of an expression in the page."""
        return (await self.ask("Runtime.evaluate", expression=expression))["result"].get("value")

    async def until(self, expression: str) -> None:
        """Wait until an expression in the page is true."""
        async with asyncio.timeout(PATIENCE):
            while not await self.evaluate(expression):
                await asyncio.sleep(0.05)

    def received(self) -> str:
        """All that the page's websocket has brought, as text with its escape sequences."""
        frames = [e["params"]["response"] for e in self.events if e["method"] == "Network.webSocketFrameReceived"]
        return "".join(base64.b64decode(f["payloadData"]).decode() for f in frames if f["opcode"] == 2)

    async def until_received(self, text: str) -> None:
        """Wait until the page's websocket has brought some text."""
        async with asyncio.timeout(PATIENCE):
            while text not in self.received():
                self._changed.clear()
                await self._changed.wait()

    async def reload(self) -> None:
        """Load the page again, and forget all that came before its new websocket."""
        self.events.clear()
        await self.ask("Page.reload")
        async with asyncio.timeout(PATIENCE):
            while "Network.webSocketCreated" not in (methods := [e["method"] for e in self.events]):
                self._changed.clear()
                await self._changed.wait()
        del self.events[: methods.index("Network.webSocketCreated")]

    async def key(self, key: str, code: int, text: str = "") -> None:
        """Press a key and let it go."""
        same = {"key": key, "code": key, "windowsVirtualKeyCode": code, "nativeVirtualKeyCode": code}
        await self.ask("Input.dispatchKeyEvent", type="keyDown", text=text, **same)
        await self.ask("Input.dispatchKeyEvent", type="keyUp", **same)

    async def picture(self) -> bytes:
        """What the page looks like, as PNG."""
        return base64.b64decode((await self.ask("Page.captureScreenshot", format="png"))["data"])

    def addresses(self) -> list[str]:
        """Every address that anything was asked of."""
        asked = [e["params"]["request"]["url"] for e in self.events if e["method"] == "Network.requestWillBeSent"]
        return asked + [e["params"]["url"] for e in self.events if e["method"] == "Network.webSocketCreated"]

    def complaints(self) -> list[str]:
        """What the browser has complained of: errors in scripts, things it refused or could not load."""
        said = [str(e["params"]) for e in self.events if e["method"] == "Runtime.exceptionThrown"]
        entries = [e["params"]["entry"] for e in self.events if e["method"] == "Log.entryAdded"]
        return said + [entry["text"] for entry in entries if entry["level"] == "error"]


def colours(png: bytes) -> set[tuple[int, ...]]:
    """The colours of a picture (PNG, 8 bits, no palette) at every eighth pixel of every eighth line."""
    position, packed, width, height, channels = 8, b"", 0, 0, 3
    while position < len(png):
        (size,) = struct.unpack(">I", png[position : position + 4])
        kind, data = png[position + 4 : position + 8], png[position + 8 : position + 8 + size]
        if kind == b"IHDR":
            width, height = struct.unpack(">II", data[:8])
            channels = {2: 3, 6: 4}[data[9]]
        elif kind == b"IDAT":
            packed += data
        position += 12 + size
    rows, found = zlib.decompress(packed), set()
    stride = width * channels
    above = bytearray(stride)
    for y in range(height):
        start = y * (stride + 1)
        line = _unfiltered(rows[start], bytearray(rows[start + 1 : start + 1 + stride]), above, channels)
        if y % 8 == 0:
            found |= {tuple(line[x : x + 3]) for x in range(0, stride, channels * 8)}
        above = line
    return found


def _unfiltered(kind: int, line: bytearray, above: bytearray, step: int) -> bytearray:
    for i in range(len(line)):
        left = line[i - step] if i >= step else 0
        corner = above[i - step] if i >= step else 0
        guess = left + above[i] - corner
        nearest = min((left, above[i], corner), key=lambda value: abs(guess - value))
        line[i] = (line[i] + (0, left, above[i], (left + above[i]) // 2, nearest)[kind]) & 255
    return line
