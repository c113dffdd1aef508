"""Pictures of the screens, out of the program itself: `make pictures` writes docs/pictures/*.png.

Each screen is drawn by the program as SVG, and a Chromium without a window makes a PNG of that; nothing is loaded from
anywhere. Run it with tests/ on the path. Names of scenes (see tests/scenes.py) make only those.
"""

from __future__ import annotations

import asyncio
import os
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import time
import zlib
from collections import Counter
from pathlib import Path

from benchwalk.job.shop import Shop
from scenes import SCENES, busy_shop, play, staged

HERE = Path(__file__).resolve().parent / "pictures"
FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync"),
    *("--disable-background-networking", "--disable-component-update", "--hide-scrollbars"),
)
NARROW, WIDE = (80, 24), (120, 36)
IN_BOTH_LOOKS = {("bench", NARROW), ("walk-reading", WIDE)}
WIDE_TOO = {"bench", "walk-reading", "walk-tying", "route", "pages", "write", "walk-rods", "drum"}
EVENING = {"walk-hazard", "walk-hold", "sign-off", "record", "people", "procedures", "help", "walk-reading"}


def wanted(name: str) -> list[tuple[tuple[int, int], str]]:
    """The sizes and looks in which a scene is pictured: small as they all are, so that the repository stays so."""
    look = "walnut" if name in EVENING else "paper"
    other = "paper" if look == "walnut" else "walnut"
    found = [(size, look) for size in (NARROW, WIDE) if size == NARROW or name in WIDE_TOO]
    return found + [(size, other) for size in (NARROW, WIDE) if (name, size) in IN_BOTH_LOOKS]


async def drawn(name: str, shop: Shop, size: tuple[int, int], look: str) -> str:
    """The SVG of a scene."""
    app = staged(SCENES[name], shop, look)
    async with app.run_test(size=size, notifications=True) as pilot:
        await play(pilot, SCENES[name])
        return bare(app.export_screenshot())


def bare(svg: str) -> str:
    """The screen alone: a font of this machine, and no window drawn round it."""
    svg = re.sub(r"@font-face\s*{[^}]*}", "", svg)
    svg = svg.replace("Fira Code", "DejaVu Sans Mono").replace("font-size: 20px", "font-size: 21px")
    clip = re.search(r'clip-terminal">\s*<rect x="0" y="0" width="([\d.]+)" height="([\d.]+)"', svg)
    inner = re.search(r'<g transform="translate\(([\d.]+), ([\d.]+)\)" clip-path', svg)
    assert clip and inner
    width, height = (int(float(side)) for side in clip.groups())
    svg = svg.replace(clip[0], clip[0].replace(f'height="{clip[2]}"', f'height="{height + 4}"'))  # the last row in full
    box = f'width="{width}" height="{height}" viewBox="{inner[1]} {float(inner[2]) + 1.5} {width} {height}"'
    return re.sub(r'viewBox="[^"]*"', box, svg, count=1)


def picture(svg: str, to: Path) -> None:
    """Make a PNG of an SVG."""
    size = re.search(r'<svg[^>]* width="(\d+)" height="(\d+)"', svg)
    assert size
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder, "screen.html")
        page.write_text(f"<!doctype html><meta charset=utf-8><style>*{{margin:0}}svg{{display:block}}</style>{svg}")
        command = ["chromium", *FLAGS, f"--user-data-dir={folder}/profile", f"--window-size={size[1]},{size[2]}"]
        command += [f"--screenshot={to}", page.as_uri()]
        subprocess.run(command, check=True, timeout=60, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    to.write_bytes(small(to.read_bytes()))


def small(png: bytes) -> bytes:
    """The same picture (8 bits a channel, no palette) with a palette: colours that nobody tells apart become one."""
    at, packed, width, height, step = 8, b"", 0, 0, 3
    while at < len(png):
        (size,) = struct.unpack(">I", png[at : at + 4])
        kind, data = png[at + 4 : at + 8], png[at + 8 : at + 8 + size]
        if kind == b"IHDR":
            width, height = struct.unpack(">II", data[:8])
            step = {2: 3, 6: 4}[data[9]]
        packed += data if kind == b"IDAT" else b""
        at += 12 + size
    raw, stride = zlib.decompress(packed), width * step
    above, rows = bytes(stride), []
    for y in range(height):
        start = y * (stride + 1)
        above = unfiltered(raw[start], bytearray(raw[start + 1 : start + 1 + stride]), above, step)
        rows.append([above[x : x + 3] for x in range(0, stride, step)])
    kept: dict[tuple[int, ...], int] = {}
    index: dict[bytes, int] = {}
    palette: list[bytes] = []
    for colour, _count in Counter(pixel for row in rows for pixel in row).most_common():
        near = tuple(part >> 4 for part in colour)
        if near not in kept and len(palette) < 256:
            kept[near] = len(palette)
            palette.append(colour)
        index[colour] = kept.get(near, 0)
    lines = b"".join(b"\0" + bytes(index[pixel] for pixel in row) for row in rows)
    header = struct.pack(">IIBBBBB", width, height, 8, 3, 0, 0, 0)
    parts = [(b"IHDR", header), (b"PLTE", b"".join(palette)), (b"IDAT", zlib.compress(lines, 9)), (b"IEND", b"")]
    return png[:8] + b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data)) for kind, data in parts
    )


def unfiltered(kind: int, line: bytearray, above: bytes, step: int) -> bytes:
    """A row of a PNG as it was before it was filtered."""
    for i in range(len(line) if kind else 0):
        left, up = (line[i - step] if i >= step else 0), above[i]
        corner = above[i - step] if i >= step else 0
        guess = left + up - corner
        nearest = min((abs(guess - left), 0, left), (abs(guess - up), 1, up), (abs(guess - corner), 2, corner))[2]
        line[i] = line[i] + (left, up, (left + up) // 2, nearest)[kind - 1] & 255
    return bytes(line)


def main(names: list[str]) -> int:
    """Picture these scenes, or all of them."""
    if shutil.which("chromium") is None:
        print("chromium is not there; on Debian `apt-get install chromium fonts-dejavu-core` brings it and its font.")
        return 1
    HERE.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        home = Path(scratch)
        os.environ.update(HOME=scratch, XDG_CONFIG_HOME=f"{home}/config", XDG_CACHE_HOME=f"{home}/cache", TZ="UTC")
        time.tzset()
        template = busy_shop(home / "shop").root
        for name in names or SCENES:
            for size, look in wanted(name):
                shutil.copytree(template, home / "now", dirs_exist_ok=True)
                to = HERE / f"{name}-{size[0]}x{size[1]}-{look}.png"
                picture(asyncio.run(drawn(name, Shop.open(home / "now"), size, look)), to)
                shutil.rmtree(home / "now")
                print(f"{to.name}: {to.stat().st_size // 1024} KB")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
