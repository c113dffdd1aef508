"""The bench in a browser: who may come in, what a tab does with its process, and how it all ends."""

from __future__ import annotations

import asyncio
import contextlib
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import AsyncIterator, Callable, Coroutine, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import aiohttp
import pyte
import pytest
from aiohttp import WSMsgType

import benchwalk.serving.server as serving
import benchwalk.serving.tab as tabs
from benchwalk.errors import Failure
from benchwalk.job.audit import audit_job
from benchwalk.job.log import read
from benchwalk.job.shop import Shop
from benchwalk.serving.door import NO_TOKEN, OTHER_NAME, OTHER_PAGE, refusal
from benchwalk.serving.server import FILES, Server
from benchwalk.walk.fold import replay
from browser import Browser, colours
from house import PATIENCE
from shop_helpers import fresh_shop

APP = """
import os, sys
from pathlib import Path
from textual.app import App
from textual.widgets import Static

class Lamp(App):
    CSS = "Screen { background: #c00000; } Screen.on { background: #00c000; }"
    def compose(self):
        yield Static(f"lamp-off pid={os.getpid()}.")
    def on_key(self, event):
        if event.key == "enter":
            self.screen.add_class("on")
            self.query_one(Static).update("lamp-on")
        if event.key == "q":
            self.exit()
    def on_resize(self, event):
        self.query_one(Static).update(f"lamp-off pid={os.getpid()}. {event.size.width}x{event.size.height}.")
Lamp().run()
print("Put out by hand.")
"""
LAMP = (sys.executable, "-c", APP)
STUBBORN = """
import os, signal, subprocess, sys, time
hears = sys.argv[1] == "hears"
for number in (signal.SIGHUP, signal.SIGTERM, signal.SIGINT):
    signal.signal(number, signal.SIG_IGN)
nowhere = subprocess.DEVNULL
child = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(600)"], stdout=nowhere, stderr=nowhere)
if hears:
    signal.signal(signal.SIGHUP, signal.SIG_DFL)
said = b"pids=%d,%d." % (os.getpid(), child.pid)
sys.stdout.buffer.write(b"__GANGLION__\\n" + b"D" + len(said).to_bytes(4, "big") + said)
sys.stdout.flush()
time.sleep(600)
"""
WALK = """
import sys
from pathlib import Path
from benchwalk.cli.common import clock
from benchwalk.job.shop import Shop
from benchwalk.library import Library
from benchwalk.screens.hand import Hand
from benchwalk.screens.start import on_screen
from benchwalk.screens.walk import WalkScreen
from benchwalk.session import GUEST, Session
from benchwalk.sums import compute

shop = Shop.open(Path(sys.argv[1]))
linked = Library.of(shop.root).get("retie-snare-cords")
with Session.begin(shop, linked, GUEST, clock, compute, kind="practice", drum={"diameter": "14 in"}) as session:
    on_screen(lambda told: WalkScreen(Hand(session)))
"""


def page_of(host: str, scheme: str = "http") -> str:
    """What a browser calls the pages of a host."""
    return f"{scheme}:" + f"//{host}"


class Visitor:
    """A client of a server that runs here: its plain requests and its websocket, with whatever headers it likes."""

    def __init__(self, server: Server, address: str, http: aiohttp.ClientSession) -> None:
        self.server, self.address, self.http = server, address, http
        self.root = page_of(urlsplit(address).netloc)
        self.received = ""
        self.told: list[Any] = []
        self.coming: asyncio.Future[aiohttp.WSMessage] | None = None

    async def status(self, path: str, **headers: str) -> tuple[int, str]:
        """Status and text of one request at this path of the server."""
        from yarl import URL

        where = URL(self.root + path, encoded=True)
        async with self.http.get(where, headers=headers, allow_redirects=False) as answer:
            return answer.status, (await answer.read()).decode("latin-1")

    async def open(self, tab: str = "", **headers: str) -> aiohttp.ClientWebSocketResponse:
        """Open the websocket as the page itself would, as that tab, or with other headers."""
        headers = {"Origin": self.root, **headers}
        path = f"ws/{tab}" if tab else "ws"
        return await self.http.ws_connect(self.address + f"{path}?width=90&height=30", headers=headers)

    async def until(self, ws: aiohttp.ClientWebSocketResponse, text: str) -> None:
        """Read the websocket until it has brought some text; what it says beside the screen is collected."""
        async with asyncio.timeout(PATIENCE):
            while text not in self.received:
                self._take(await self._next(ws))

    async def _next(self, ws: aiohttp.ClientWebSocketResponse) -> aiohttp.WSMessage:
        coming, self.coming = self.coming, None
        return await (coming or ws.receive())

    def _take(self, message: aiohttp.WSMessage) -> None:
        if message.type is WSMsgType.TEXT:
            self.told.append(message.json())
            return
        assert message.type is WSMsgType.BINARY, f"closed after {self.received!r}"
        self.received += message.data.decode()

    async def at_rest(self, ws: aiohttp.ClientWebSocketResponse, quiet: float = 0.5) -> None:
        """Read the websocket until it brings nothing for that many seconds."""
        while True:
            self.coming = self.coming or asyncio.ensure_future(ws.receive())
            if not (await asyncio.wait({self.coming}, timeout=quiet))[0]:
                return
            self._take(await self._next(ws))

    async def closed_with(self, ws: aiohttp.ClientWebSocketResponse) -> int:
        """The code with which the server closes a websocket."""
        async with asyncio.timeout(PATIENCE):
            while (message := await ws.receive()).type is not WSMsgType.CLOSE:
                assert message.type in (WSMsgType.BINARY, WSMsgType.TEXT), message
        return int(message.data)

    async def until_away(self, tabs: int = 1) -> None:
        """Wait until that many tabs are known to be away."""
        async with asyncio.timeout(PATIENCE):
            while sum(tab.websocket is None for tab in self.server.tabs) < tabs:
                await asyncio.sleep(0.02)

    async def until_none(self) -> None:
        """Wait until no tab runs anything any more."""
        async with asyncio.timeout(PATIENCE):
            while self.server.tabs:
                await asyncio.sleep(0.02)

    def again(self) -> Visitor:
        """The same visitor, who has seen nothing yet."""
        return Visitor(self.server, self.address, self.http)

    async def rest(self, ws: aiohttp.ClientWebSocketResponse) -> str:
        """All that the websocket still brings until it is closed by the server."""
        async with asyncio.timeout(PATIENCE):
            return "".join([m.data.decode() async for m in ws if m.type is WSMsgType.BINARY])

    def pids(self) -> list[int]:
        """The processes that a program above has said it is."""
        found = re.findall(r"pids?=([0-9,]+)\.", self.received)
        return [int(number) for number in found[-1].split(",")]


@contextlib.asynccontextmanager
async def serving_to_visitor(command: tuple[str, ...], **more: Any) -> AsyncIterator[Visitor]:
    server = Server(command, **more)
    address = await server.start(0)
    try:
        async with aiohttp.ClientSession() as http:
            yield Visitor(server, address, http)
    finally:
        await server.stop()


def visit(command: tuple[str, ...], what: Callable[[Visitor], Coroutine[Any, Any, None]], **more: Any) -> None:
    """Serve a command, and do something as its visitor."""

    async def both() -> None:
        async with serving_to_visitor(command, **more) as visitor:
            await what(visitor)

    asyncio.run(both())


def cut(ws: aiohttp.ClientWebSocketResponse) -> None:
    """Break the line without a word, as sleep does."""
    transport = ws._response.connection.transport  # type: ignore[union-attr]
    assert transport is not None
    transport.abort()


def seen(data: str) -> list[str]:
    """What a new terminal shows of all that it was sent."""
    screen = pyte.Screen(90, 30)
    pyte.Stream(screen).feed(data)
    return list(screen.display)


TAB = "0123456789abcdef" * 2
"""A name that a browser may have given its tab."""


def wait_gone(pid: int) -> None:
    """Wait until no such process runs; a dead one that nobody has collected counts as gone."""
    until = time.monotonic() + PATIENCE
    while running(pid):
        assert time.monotonic() < until, f"process {pid} still runs"
        time.sleep(0.05)


def running(pid: int) -> bool:
    ran = subprocess.run(["ps", "-o", "stat=", "-p", str(pid)], capture_output=True, text=True)
    return bool(ran.stdout.strip()) and not ran.stdout.strip().startswith("Z")


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """The folder of an empty shop."""
    Shop.create(tmp_path / "shop", "A shop")
    return tmp_path / "shop"


# --- the door ---


GOOD = {"Host": "127.0.0.1:8480", "Origin": "http://127.0.0.1:8480"}


@pytest.mark.parametrize(
    "headers, path, websocket, why",
    [
        (GOOD, "/abc/ws", True, None),
        ({"Host": "localhost:9000", "Origin": page_of("LOCALHOST:9000")}, "/abc/ws", True, None),
        ({"Host": "[::1]:9000"}, "/abc/", False, None),
        ({"Host": "127.0.0.1"}, "/abc", False, None),
        ({}, "/abc/", False, OTHER_NAME),
        ({"Host": "bench.example"}, "/abc/", False, OTHER_NAME),
        ({"Host": "127.0.0.1.bench.example"}, "/abc/", False, OTHER_NAME),
        ({"Host": "localhost@bench.example"}, "/abc/", False, OTHER_NAME),
        ({"Host": "127.0.0.1:8480\n"}, "/abc/", False, OTHER_NAME),
        (GOOD, "/", False, NO_TOKEN),
        (GOOD, "", False, NO_TOKEN),
        (GOOD, "/ab/", False, NO_TOKEN),
        (GOOD, "/abcd/", False, NO_TOKEN),
        (GOOD, "/ABC/", False, NO_TOKEN),
        (GOOD, "//abc/", False, NO_TOKEN),
        (GOOD, "/äbc\udc80/", False, NO_TOKEN),
        ({"Host": "127.0.0.1:8480"}, "/abc/ws", True, OTHER_PAGE),
        ({**GOOD, "Origin": "http://127.0.0.1:9999"}, "/abc/ws", True, OTHER_PAGE),
        ({**GOOD, "Origin": "http://localhost:8480"}, "/abc/ws", True, OTHER_PAGE),
        ({**GOOD, "Origin": "null"}, "/abc/ws", True, OTHER_PAGE),
        ({**GOOD, "Origin": "file://127.0.0.1:8480"}, "/abc/ws", True, OTHER_PAGE),
        ({**GOOD, "Origin": page_of("[::1")}, "/abc/ws", True, OTHER_PAGE),
        ({**GOOD, "Origin": page_of("bench.example", "https")}, "/abc/", False, OTHER_PAGE),
    ],
)
def test_the_door_turns_away_for_one_reason(
    headers: dict[str, str], path: str, websocket: bool, why: str | None
) -> None:
    """A request comes in only by a name of this machine, with exactly the token, and from the bench's own page."""
    assert refusal(headers, path, "abc", websocket=websocket) == why


def test_without_the_token_everything_is_refused() -> None:
    """No route, file, unknown path or websocket answers anything but 403 and one sentence without the whole token."""

    async def look(visitor: Visitor) -> None:
        token = visitor.server.token
        near = token[:-1] + ("A" if token[-1] != "A" else "B")
        names = ["", "ws", *FILES, "nothing"]
        paths = [f"/{name}" for name in [*names, "favicon.ico", f"static/{token}/", f"x/../{token}"]]
        paths += [f"/{wrong}/{name}" for wrong in (near, token[:-1], f"{token}x", "%20") for name in names]
        for path in [*paths, f"//{token}/", f"/?{token}", f"/wrong/..%2f{token}/"]:
            assert await visitor.status(path) == (403, NO_TOKEN + "\n"), path
        for method in ("HEAD", "POST", "OPTIONS", "DELETE"):
            async with visitor.http.request(method, visitor.root + "/") as answer:
                assert answer.status == 403

    visit(LAMP, look)


def test_a_foreign_name_is_refused_with_the_token() -> None:
    """A page that points its own name at this machine gets nothing, even with the token."""

    async def look(visitor: Visitor) -> None:
        for name in ("", "page.js"):
            found = await visitor.status(f"/{visitor.server.token}/{name}", Host="bench.example")
            assert found == (403, OTHER_NAME + "\n")

    visit(LAMP, look)


def test_a_websocket_is_opened_only_by_the_page() -> None:
    """Without the token, from another page, or from no page, a websocket is refused and no process begins."""

    async def look(visitor: Visitor) -> None:
        token = visitor.server.token
        for path, headers in (
            ("/ws", {"Origin": visitor.root}),
            ("/wrong/ws", {"Origin": visitor.root}),
            (f"/{token}/ws", {}),
            (f"/{token}/ws", {"Origin": page_of("bench.example")}),
            (f"/{token}/ws", {"Origin": visitor.root, "Host": "bench.example"}),
        ):
            with pytest.raises(aiohttp.WSServerHandshakeError) as refused:
                await visitor.http.ws_connect(visitor.root + path, headers=headers)
            assert refused.value.status == 403
        assert visitor.server.tabs == set()

    visit(LAMP, look)


def test_tokens_are_long_and_differ() -> None:
    """Every server makes a token of its own, of at least 128 bits."""
    tokens = {Server(LAMP).token for _ in range(50)}
    assert len(tokens) == 50 and min(map(len, tokens)) >= 22


def test_only_this_machine_is_listened_to() -> None:
    """Another address of this machine, even one that never leaves it, is not answered."""

    async def look(visitor: Visitor) -> None:
        port = urlsplit(visitor.address).port
        with pytest.raises(OSError):
            await asyncio.open_connection("127.0.0.2", port)

    visit(LAMP, look)


# --- the page ---


def test_the_page_needs_only_its_own_files() -> None:
    """Every file the page names is served beside it, and the browser is told to take nothing from elsewhere."""

    async def look(visitor: Visitor) -> None:
        token = visitor.server.token
        async with visitor.http.get(visitor.address) as answer:
            page, headers = await answer.text(), answer.headers
        assert "default-src 'none'" in headers["Content-Security-Policy"]
        assert "http" not in headers["Content-Security-Policy"]
        assert headers["Referrer-Policy"] == "no-referrer" and headers["Cache-Control"] == "no-store"
        styles = "".join([(await visitor.status(f"/{token}/{name}"))[1] for name in ("page.css", "terminal.css")])
        named = set(re.findall(r'(?:src|href)="(.*?)"', page)) | set(re.findall(r'url\("?(.*?)"?\)', styles))
        assert named == set(FILES) | {"data:,"}
        for name, path in FILES.items():
            status, said = await visitor.status(f"/{token}/{name}")
            assert status == 200 and said.encode("latin-1") == path.read_bytes()
        for path_ in ("nothing", "..%2fserver.py", "%2e%2e/server.py", "terminal.js/x"):
            assert (await visitor.status(f"/{token}/{path_}"))[0] in (403, 404), path_
        async with visitor.http.get(visitor.address.rstrip("/")) as answer:
            assert str(answer.url) == visitor.address and await answer.text() == page

    visit(LAMP, look)


# --- a tab and its process ---


def test_keys_and_size_reach_the_program() -> None:
    """What is typed and the tab's size reach the program, whose screen comes back; other messages do no harm."""

    async def look(visitor: Visitor) -> None:
        ws = await visitor.open()
        await visitor.until(ws, "90x30.")
        for noise in ("", "{", "[]", "7", '["stdin", 7]', '["resize", {"width": "x", "height": null}]', '["quit"]'):
            await ws.send_str(noise)
        await ws.send_bytes(b"\x00")
        await ws.send_json(["resize", {"width": 100, "height": 40}])
        await visitor.until(ws, "100x40.")
        await ws.send_json(["focus"])
        await ws.send_json(["stdin", "\r"])
        await visitor.until(ws, "lamp-on")
        await ws.send_json(["stdin", "q"])
        assert "Put out by hand." in await visitor.rest(ws)

    visit(LAMP, look)


def test_each_tab_has_a_process_that_ends_with_it() -> None:
    """Two tabs are two processes; closing one ends its own and leaves the other at work."""

    async def look(visitor: Visitor) -> None:
        first, other = await visitor.open(), Visitor(visitor.server, visitor.address, visitor.http)
        second = await other.open()
        await visitor.until(first, "pid=")
        await other.until(second, "pid=")
        assert visitor.pids() != other.pids()
        await first.close()
        await asyncio.to_thread(wait_gone, visitor.pids()[0])
        await second.send_json(["stdin", "\r"])
        await other.until(second, "lamp-on")

    visit(LAMP, look)


def test_what_a_process_says_instead_of_a_screen_is_shown() -> None:
    """Why a program cannot start is read in the tab, made harmless; its arguments pass through no shell."""
    words = "$(echo x); it is 'wrong' \x1b]0;x\x07"
    program = (sys.executable, "-c", "import sys; print('First.'); sys.exit(sys.argv[1])", words)

    async def look(visitor: Visitor) -> None:
        said = await visitor.rest(await visitor.open())
        assert "First." in said and "$(echo x); it is 'wrong' \\x1b]0;x\\x07" in said

    visit(program, look)


@pytest.mark.parametrize("first", ["hears", "is deaf"])
def test_stubborn_processes_end_with_the_server(monkeypatch: pytest.MonkeyPatch, first: str) -> None:
    """A process that will not hear is gone when the server has stopped, and so is one that the first has started."""
    monkeypatch.setattr(tabs, "ENDING", tuple((number, 0.2) for number, _patience in tabs.ENDING))
    pids: list[int] = []

    async def look(visitor: Visitor) -> None:
        await visitor.until(await visitor.open(), "pids=")
        pids.extend(visitor.pids())

    visit((sys.executable, "-c", STUBBORN, first), look)
    assert len(pids) == 2
    for pid in pids:
        wait_gone(pid)


def test_a_walk_is_put_down_when_its_tab_is_closed(shop: Path) -> None:
    """Closing the tab of a walk puts the work down, in the job's log, as where a terminal line drops."""
    program = (sys.executable, "-P", "-c", WALK, str(shop))

    async def look(visitor: Visitor) -> None:
        ws = await visitor.open()
        await visitor.until(ws, "J-0001")
        await ws.close()
        await visitor.until_none()

    visit(program, look)
    last = read(Shop.open(shop).job("J-0001").log).events[-1]
    assert (last["what"], last["note"]) == ("paused", "stopped from outside (signal 1)")


# --- a tab that sleeps ---


def test_a_walk_is_found_again_after_sleep(shop: Path) -> None:
    """A tab whose line broke finds its walk where it was, drawn whole on a new terminal with what lay over it."""
    program = (sys.executable, "-P", "-c", WALK, str(shop))

    async def look(visitor: Visitor) -> None:
        ws = await visitor.open(TAB)
        await visitor.until(ws, "at hand")
        await visitor.at_rest(ws)
        await ws.send_json(["stdin", "\x1bOP"])
        await visitor.until(ws, "What the keys do here")
        await visitor.until(ws, "Close")
        await visitor.at_rest(ws)
        cut(ws)
        await visitor.until_away()
        later = visitor.again()
        ws = await later.open(TAB)
        await later.until(ws, "Close")
        await later.at_rest(ws)
        assert seen(later.received) == seen(visitor.received)
        await ws.send_json(["stdin", "\r"])
        later.received = ""
        await later.until(ws, "Tie the snares")
        assert len(visitor.server.tabs) == 1 and later.told == []

    visit(program, look)
    log = read(Shop.open(shop).job("J-0001").log).events
    assert [event["what"] for event in log].count("opened") == 1


def test_a_tab_that_is_loaded_again_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """A tab that says it leaves is waited for as long as loading takes, and no longer."""
    monkeypatch.setattr(serving, "RELOAD", 5.0)

    async def look(visitor: Visitor) -> None:
        ws = await visitor.open(TAB)
        await visitor.until(ws, "pid=")
        await ws.send_json(["leaving"])
        await ws.close()
        later = visitor.again()
        ws = await later.open(TAB)
        await later.until(ws, "pid=")
        assert later.pids() == visitor.pids() and later.told == []
        monkeypatch.setattr(serving, "RELOAD", 0.0)
        await ws.send_json(["leaving"])
        await ws.close()
        await visitor.until_none()
        await asyncio.to_thread(wait_gone, visitor.pids()[0])

    visit(LAMP, look)


def test_a_tab_that_is_away_too_long_is_put_down_and_told(shop: Path) -> None:
    """Past the time for which it is kept, a walk is put down in its log; the tab is told so when it comes back."""
    program = (sys.executable, "-P", "-c", WALK, str(shop))

    async def look(visitor: Visitor) -> None:
        ws = await visitor.open(TAB)
        await visitor.until(ws, "at hand")
        cut(ws)
        await visitor.until_none()
        later = visitor.again()
        ws = await later.open(TAB)
        await later.until(ws, "J-0002")
        assert later.told == [["put-down", 0.0]]

    visit(program, look, keep=0.0)
    last = read(Shop.open(shop).job("J-0001").log).events[-1]
    assert (last["what"], last["note"]) == ("paused", "stopped from outside (signal 1)")


def test_of_one_tab_twice_the_later_has_it() -> None:
    """A tab that was doubled in the browser goes on where it was opened last; the other is told so and closed."""

    async def look(visitor: Visitor) -> None:
        first = await visitor.open(TAB)
        await visitor.until(first, "pid=")
        other = visitor.again()
        second = await other.open(TAB)
        await other.until(second, "pid=")
        assert other.pids() == visitor.pids()
        assert await visitor.closed_with(first) == tabs.TAKEN
        await second.send_json(["stdin", "\r"])
        await other.until(second, "lamp-on")
        await second.send_json(["stdin", "q"])
        assert await other.closed_with(second) == tabs.ENDED

    visit(LAMP, look)


def test_what_no_browser_calls_its_tab_is_nobodys() -> None:
    """A name that the page would never make is none: two such tabs never share a program."""

    async def look(visitor: Visitor) -> None:
        ws, other = await visitor.open("x" * 32), visitor.again()
        await visitor.until(ws, "pid=")
        second = await other.open("x" * 32)
        await other.until(second, "pid=")
        assert other.pids() != visitor.pids()

    visit(LAMP, look)


def test_one_tab_too_many_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Past the most tabs at once, a tab says so and no process begins."""
    monkeypatch.setattr(serving, "MOST_TABS", 1)

    async def look(visitor: Visitor) -> None:
        first = await visitor.open()
        await visitor.until(first, "lamp-off")
        assert "close one first" in await visitor.rest(await visitor.open())
        assert len(visitor.server.tabs) == 1

    visit(LAMP, look)


def test_a_tab_that_is_away_makes_room(monkeypatch: pytest.MonkeyPatch) -> None:
    """Past the most tabs at once, the one that is away gives its place to one that somebody looks at."""
    monkeypatch.setattr(serving, "MOST_TABS", 1)

    async def look(visitor: Visitor) -> None:
        first, later = await visitor.open(TAB), visitor.again()
        await visitor.until(first, "pid=")
        cut(first)
        await visitor.until_away()
        await later.until(await later.open(), "pid=")
        assert later.pids() != visitor.pids() and len(visitor.server.tabs) == 1
        await asyncio.to_thread(wait_gone, visitor.pids()[0])

    visit(LAMP, look)


# --- the command ---


def start(*arguments: str) -> subprocess.Popen[str]:
    command = [sys.executable, "-P", *arguments]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True)


@pytest.fixture
def served(shop: Path) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """`benchwalk serve` on a free port, and the line it has printed."""
    process = start("-m", "benchwalk", "--shop", str(shop), "serve", "--port", "0")
    assert process.stdout is not None
    yield process, process.stdout.readline()
    process.kill()
    process.communicate()


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_serve_prints_an_address_and_ends_on_a_signal(
    served: tuple[subprocess.Popen[str], str], number: signal.Signals
) -> None:
    """The address is all that is printed, it opens the page, and a signal ends the server with 128 and its number."""
    process, line = served
    assert line.startswith("http://127.0.0.1:") and re.fullmatch(r"\d+/[\w-]{22,}/\n", line[17:])

    async def opened() -> int:
        async with aiohttp.ClientSession() as http, http.get(line.strip()) as answer:
            return answer.status

    assert asyncio.run(opened()) == 200
    process.send_signal(number)
    rest, complaints = process.communicate(timeout=PATIENCE)
    assert (process.returncode, rest) == (128 + number, "")
    assert complaints.strip() == ("Stopped with ctrl+c." if number == signal.SIGINT else "")


def test_a_port_in_use_is_said_in_one_sentence(shop: Path) -> None:
    """A port that something else listens at is a failure that names it; a number that is no port is wrong usage."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        process = start("-m", "benchwalk", "--shop", str(shop), "serve", "--port", str(port))
        said, complaints = process.communicate(timeout=PATIENCE)
        assert (process.returncode, said, complaints.count("\n")) == (3, "", 1)
        assert complaints.startswith(f"Port {port} cannot be used (Address already in use)")
        with pytest.raises(Failure):
            asyncio.run(Server(LAMP).start(port))
    process = start("-m", "benchwalk", "--shop", str(shop), "serve", "--port", "70000")
    said, complaints = process.communicate(timeout=PATIENCE)
    assert (process.returncode, said) == (2, "") and "70000 is no port" in complaints


def test_without_a_shop_nothing_is_served(tmp_path: Path) -> None:
    """Where there is no shop, that is said at once at the terminal and not in every tab."""
    process = start("-m", "benchwalk", "--shop", str(tmp_path / "none"), "serve", "--port", "0")
    said, complaints = process.communicate(timeout=PATIENCE)
    assert (process.returncode, said) == (2, "") and "there is no shop here yet" in complaints.lower()


SERVE = """
import sys
from benchwalk.serving.server import serve
serve(sys.argv[1:], 0, lambda address: print(address, flush=True))
"""


def test_a_killed_server_leaves_no_process_behind() -> None:
    """Even a server that is killed outright takes the programs of its tabs with it."""
    process = start("-c", SERVE, *LAMP)
    assert process.stdout is not None
    address = process.stdout.readline().strip()
    pids: list[int] = []

    async def look() -> None:
        async with aiohttp.ClientSession() as http:
            visitor = Visitor(Server(LAMP), address, http)
            await visitor.until(await visitor.open(), "pid=")
            pids.extend(visitor.pids())
            assert running(pids[0])
            os.kill(process.pid, signal.SIGKILL)

    asyncio.run(look())
    process.communicate()
    wait_gone(pids[0])


# --- a real browser ---


CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")


@pytest.mark.heavy
@pytest.mark.skipif(CHROMIUM is None, reason="no Chromium is installed to open the bench with")
def test_a_browser_shows_the_screen_and_types(tmp_path: Path) -> None:
    """A real browser paints the program, sends it a key, paints what came of it, and asks nothing of anybody else."""
    assert CHROMIUM is not None

    async def look(visitor: Visitor, browser: Browser) -> None:
        await browser.ask("Page.navigate", url=visitor.address)
        await browser.until_received("lamp-off")
        await painted(browser, (0xC0, 0, 0))
        await browser.key("Enter", 13, "\r")
        await browser.until_received("lamp-on")
        await painted(browser, (0, 0xC0, 0))
        assert browser.complaints() == []
        here = urlsplit(visitor.address).netloc
        asked = browser.addresses()
        assert len(asked) == len(FILES) + 2
        assert {urlsplit(address).netloc for address in asked} == {here}
        await visitor.server.stop()
        await browser.until("getComputedStyle(document.getElementById('closed')).display == 'flex'")

    async def both() -> None:
        async with serving_to_visitor(LAMP) as visitor, Browser(CHROMIUM or "", tmp_path) as browser:
            await look(visitor, browser)

    asyncio.run(both())


@pytest.mark.heavy
@pytest.mark.skipif(CHROMIUM is None, reason="no Chromium is installed to open the bench with")
def test_a_browser_that_slept_goes_on_by_itself(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A browser that is stopped whole until its line is given up finds its program again when it wakes, without a tap;
    a tab that is loaded again does too; and where the program is left, one tap opens it anew."""
    monkeypatch.setattr(serving, "HEARTBEAT", 1.0)

    async def both() -> None:
        async with serving_to_visitor(LAMP) as visitor, Browser(CHROMIUM or "", tmp_path) as browser:
            await browser.ask("Page.navigate", url=visitor.address)
            await browser.until_received("pid=")
            visitor.received = browser.received()
            pid = visitor.pids()
            os.killpg(browser.process.pid, signal.SIGSTOP)
            await visitor.until_away()
            monkeypatch.setattr(serving, "HEARTBEAT", 15.0)  # a slow page must not lose its line again at the key below
            browser.events.clear()
            os.killpg(browser.process.pid, signal.SIGCONT)
            await browser.until_received(f"pid={pid[0]}.")
            await browser.reload()
            await browser.until_received(f"pid={pid[0]}.")
            assert len(visitor.server.tabs) == 1
            await browser.until("document.activeElement.classList.contains('xterm-helper-textarea')")
            await browser.key("q", 81, "q")
            await browser.until("document.getElementById('why').textContent.startsWith('This bench was left')")
            browser.events.clear()
            await browser.evaluate("document.getElementById('again').click()")
            await browser.until_received("pid=")
            visitor.received = browser.received()
            assert visitor.pids() != pid and browser.complaints() == []

    asyncio.run(both())


@pytest.mark.heavy
@pytest.mark.skipif(CHROMIUM is None, reason="no Chromium is installed to open the bench with")
def test_a_browser_shows_the_bench_and_a_practice_walk(tmp_path: Path) -> None:
    """What `benchwalk serve` shows is the bench; a practice walk begins in the browser by keys alone, and closing the
    tab puts it down."""
    shop = fresh_shop(tmp_path)
    program = [sys.executable, "-P", "-m", "benchwalk", "--shop", str(shop.root)]

    async def both() -> None:
        async with serving_to_visitor(program) as visitor, Browser(CHROMIUM or "", tmp_path) as browser:
            await browser.ask("Page.navigate", url=visitor.address)
            await browser.until_received("Nothing is in hand")
            await browser.key("p", 80, "p")
            await browser.until_received("Which procedure?")
            await browser.key("Enter", 13, "\r")
            await browser.until_received("Who works?")
            await browser.key("1", 49, "1")
            await browser.key("Enter", 13, "\r")
            await browser.until_received("Before the first stop")
            assert browser.complaints() == []
            (tmp_path / "tab.png").write_bytes(await browser.picture())

    asyncio.run(both())
    state = replay(read(shop.job("J-0001").log).events)
    assert state.kind == "practice" and audit_job(shop, "J-0001")["ok"]


async def painted(browser: Browser, colour: tuple[int, int, int]) -> None:
    """Wait until the browser has painted a colour, which is most of the screen."""
    async with asyncio.timeout(PATIENCE):
        while colour not in colours(await browser.picture()):
            await asyncio.sleep(0.1)
