"""The server behind `benchwalk serve`: the page, the files it needs, and a websocket a tab; on this machine only.

A tablet sleeps while hands are busy. What its tab runs is kept meanwhile, and the tab, which has a name of its own,
finds it again; a tab that is closed says so, and its work is put down.
"""

from __future__ import annotations

import asyncio
import json
import re
import secrets
import signal
import socket
from collections.abc import Callable, Sequence
from importlib.resources import files
from pathlib import Path

from aiohttp import WSCloseCode, WSMsgType, web
from aiohttp.typedefs import Handler

from ..errors import Failure, UsageError
from . import door
from .tab import ENDED, FULL, STOPPED, Tab

MOST_TABS = 12
MOST_NAMES = 200
"""Names of tabs that are remembered after they were put down, to tell them so."""
KEEP = 30.0
"""Minutes for which what a tab runs is kept while the tab is away."""
RELOAD = 10.0
"""Seconds for which it is kept after the tab said that it leaves: a tab that is loaded again says so as well."""
HEARTBEAT = 15.0
"""Seconds between two looks whether the browser still answers."""
_TAB = re.compile(r"[0-9a-f]{32}")
_PAGE = Path(str(files("benchwalk.serving"))) / "page"
_TERMINAL = Path(str(files("textual_serve"))) / "static"
FILES = {
    "page.css": _PAGE / "page.css",
    "page.js": _PAGE / "page.js",
    "terminal.css": _TERMINAL / "css" / "xterm.css",
    "terminal.js": _TERMINAL / "js" / "textual.js",
    "upright.ttf": _TERMINAL / "fonts" / "RobotoMono-VariableFont_wght.ttf",
    "italic.ttf": _TERMINAL / "fonts" / "RobotoMono-Italic-VariableFont_wght.ttf",
}
_OWN = (  # the browser itself sees to it that nothing comes from anywhere else
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; font-src 'self'; img-src data:;"
    " connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": _OWN,
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cache-Control": "no-store",
    "Server": "benchwalk",
}


class Server:
    """Serves one command to browsers that bring the token; each tab runs a process of its own.

    `command` is an argument list that draws a Textual program; what a tab runs is kept for `keep` minutes while it is
    away. Nothing is served before `start`.
    """

    def __init__(self, command: Sequence[str], token: str | None = None, *, keep: float = KEEP) -> None:
        self.command = tuple(command)
        self.token = token or secrets.token_urlsafe(16)
        self.keep = keep
        self.tabs: set[Tab] = set()
        self._put_down: dict[str, None] = {}
        self._waiting: dict[Tab, asyncio.Task[None]] = {}
        self._runner: web.AppRunner | None = None

    async def start(self, port: int) -> str:
        """Listen on this machine, at a free port where `port` is 0; the address to open. Raises Failure."""
        listening = _listen(port)
        app = web.Application(middlewares=[self._door])
        app.router.add_get(f"/{self.token}", self._whole)
        app.router.add_get(f"/{self.token}/", self._page)
        app.router.add_get(f"/{self.token}/ws", self._socket)
        app.router.add_get(f"/{self.token}/ws/{{tab}}", self._socket)
        app.router.add_get(f"/{self.token}/{{name}}", self._file)
        app.on_response_prepare.append(_headed)
        self._runner = web.AppRunner(app, access_log=None, handle_signals=False, shutdown_timeout=2)
        await self._runner.setup()
        await web.SockSite(self._runner, listening).start()
        return f"http://127.0.0.1:{listening.getsockname()[1]}/{self.token}/"

    async def stop(self) -> None:
        """End every process, then the server; work in hand is put down."""
        for waiting in self._waiting.values():
            waiting.cancel()
        await asyncio.gather(*(tab.stop(STOPPED) for tab in self.tabs))
        if self._runner is not None:
            await self._runner.cleanup()

    @web.middleware
    async def _door(self, request: web.Request, handler: Handler) -> web.StreamResponse:
        socket_asked = request.headers.get("Upgrade") is not None or "/ws" in request.path
        why = door.refusal(request.headers, request.path, self.token, websocket=socket_asked)
        if why is not None:
            return web.Response(status=403, text=why + "\n")
        return await handler(request)

    async def _whole(self, _request: web.Request) -> web.StreamResponse:
        raise web.HTTPPermanentRedirect(f"/{self.token}/")

    async def _page(self, _request: web.Request) -> web.StreamResponse:
        return web.FileResponse(_PAGE / "page.html")

    async def _file(self, request: web.Request) -> web.StreamResponse:
        path = FILES.get(request.match_info["name"])
        if path is None:
            raise web.HTTPNotFound(text="There is no such file.\n")
        return web.FileResponse(path)

    async def _socket(self, request: web.Request) -> web.StreamResponse:
        websocket = web.WebSocketResponse(heartbeat=HEARTBEAT, max_msg_size=2**20)
        await websocket.prepare(request)
        tab = await self._tab(websocket, request)
        if tab is None:
            await websocket.send_bytes(f"There are {MOST_TABS} tabs open already; close one first.\r\n".encode())
            await websocket.close(code=FULL)
            return websocket
        leaves = False
        try:
            async for message in websocket:
                if message.type is WSMsgType.TEXT:
                    leaves = await _typed(tab, message.data, websocket) or leaves
        finally:
            if tab.websocket is websocket:
                self._away(tab, leaves or websocket.close_code == WSCloseCode.OK)
        return websocket

    async def _tab(self, websocket: web.WebSocketResponse, request: web.Request) -> Tab | None:
        """The tab that comes back on this websocket, or a new one; None where there are too many."""
        asked = request.match_info.get("tab", "")
        name = asked if _TAB.fullmatch(asked) else ""
        size = _cells(request.query.get("width"), 80), _cells(request.query.get("height"), 24)
        known = next((tab for tab in self.tabs if name and tab.name == name and not tab.ending), None)
        if known is not None:
            waiting = self._waiting.pop(known, None)
            if waiting is not None:
                waiting.cancel()
            await known.wake(websocket, *size)
            return known
        if not await self._room():
            return None
        tab = Tab(self.command, name)
        tab.websocket = websocket
        self.tabs.add(tab)
        if name in self._put_down:
            del self._put_down[name]
            await websocket.send_json(["put-down", self.keep])
        try:
            await tab.start(*size)
        except BaseException:
            self.tabs.discard(tab)
            raise
        return tab

    async def _room(self) -> bool:
        """Whether one more tab may be opened; of those that are away, the one away for longest makes room."""
        if len(self.tabs) < MOST_TABS:
            return True
        away = sorted((tab for tab in self.tabs if tab.websocket is None), key=lambda tab: tab.since)
        if not away:
            return False
        await self._end(away[0])
        return True

    def _away(self, tab: Tab, leaves: bool) -> None:
        """A tab is not there any more, and said so or did not; it is put down unless it comes back in time."""
        tab.websocket, tab.since = None, asyncio.get_running_loop().time()
        self._waiting[tab] = asyncio.create_task(self._put_down_late(tab, leaves))

    async def _put_down_late(self, tab: Tab, leaves: bool) -> None:
        seconds = self.keep * 60 if tab.name else 0.0  # without a name nobody can come back
        if not await tab.ends_within(min(RELOAD, seconds) if leaves else seconds) and not leaves:
            self._put_down[tab.name] = None
            for name in list(self._put_down)[:-MOST_NAMES]:
                del self._put_down[name]
        await self._end(tab)

    async def _end(self, tab: Tab) -> None:
        self._waiting.pop(tab, None)
        await tab.stop(ENDED)
        self.tabs.discard(tab)


def serve(command: Sequence[str], port: int, announce: Callable[[str], None], keep: float = KEEP) -> int:
    """Serve until a signal comes; the number of that signal. `announce` gets the address once it can be opened, `keep`
    is for how many minutes a tab may be away.

    Raises UsageError for a port that cannot be one, Failure where it cannot be listened at.
    """
    return asyncio.run(_until_signal(Server(command, keep=keep), port, announce))


async def _until_signal(server: Server, port: int, announce: Callable[[str], None]) -> int:
    loop = asyncio.get_running_loop()
    came: asyncio.Future[int] = loop.create_future()

    def note(number: int) -> None:
        if not came.done():
            came.set_result(number)

    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        loop.add_signal_handler(number, note, number)
    try:
        announce(await server.start(port))
        return await came
    finally:
        await server.stop()


def _listen(port: int) -> socket.socket:
    if not 0 <= port <= 65535:
        raise UsageError(f"{port} is no port: 0 to 65535 is expected, 0 for one that is free")
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind(("127.0.0.1", port))
        listening.listen()
    except OSError as error:
        listening.close()
        why = error.strerror or str(error)
        raise Failure(f"port {port} cannot be used ({why}); name another with --port, or 0 for a free one") from None
    return listening


async def _headed(_request: web.Request, response: web.StreamResponse) -> None:
    response.headers.update(HEADERS)


async def _typed(tab: Tab, text: str, websocket: web.WebSocketResponse) -> bool:
    """Pass on what one message of the page says, anything else is dropped; whether it says that the tab leaves."""
    try:
        said = json.loads(text)
    except ValueError:
        return False
    match said:
        case ["leaving"]:
            return True
        case ["stdin", str(keys)]:
            await tab.send_bytes(keys.encode("utf-8", "replace"))
        case ["resize", {"width": int(width), "height": int(height)}]:
            await tab.set_terminal_size(_cells(width, 80), _cells(height, 24))
        case ["ping", str(sent)]:
            await websocket.send_json(["pong", sent])
        case ["focus"]:
            await tab.focus()
        case ["blur"]:
            await tab.blur()
    return False


def _cells(said: object, otherwise: int) -> int:
    """A width or height in cells, within what a browser can show."""
    text = str(said)
    return min(max(int(text), 1), 1000) if text.isascii() and text.isdigit() and len(text) < 9 else otherwise
