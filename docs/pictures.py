"""Pictures of the screens, out of the program itself: `make pictures` writes docs/pictures/*.png.

Each screen is drawn by the program as SVG, and a Chromium without a window makes a PNG of that; nothing is loaded from
anywhere. Run it with tests/ on the path. Names of scenes (see tests/scenes.py) make only those.
"""

from __future__ import annotations

import asyncio
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from PIL import Image

from benchwalk.job.shop import Shop
from scenes import SCENES, busy_shop, play, staged

HERE = Path(__file__).resolve().parent / "pictures"
FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync"),
    *("--disable-background-networking", "--disable-component-update", "--hide-scrollbars"),
)
NARROW, WIDE = (80, 24), (120, 36)
COLOURS = 64  # of a screen with the shades of its letters' edges
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
    """Make a PNG of an SVG, with a palette: colours that nobody tells apart become one. It is there whole, or not."""
    size = re.search(r'<svg[^>]* width="(\d+)" height="(\d+)"', svg)
    assert size
    with tempfile.TemporaryDirectory() as folder:
        page, shot, small = (Path(folder, name) for name in ("screen.html", "screen.png", "small.png"))
        page.write_text(f"<!doctype html><meta charset=utf-8><style>*{{margin:0}}svg{{display:block}}</style>{svg}")
        command = ["chromium", *FLAGS, f"--user-data-dir={folder}/profile", f"--window-size={size[1]},{size[2]}"]
        command += [f"--screenshot={shot}", page.as_uri()]
        subprocess.run(command, check=True, timeout=60, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        with Image.open(shot) as screen:
            screen.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE).save(small, optimize=True)
        shutil.move(small, to)


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
