"""A few screens as they look, letter by letter and colour by colour, and the pictures of all of them in docs/.

A screen that changed on purpose is taken over with `pytest tests/test_screens_snapshots.py --snapshot-update`, and
looked at first: the report that a failing run writes sets old beside new.
"""

from __future__ import annotations

import atexit
import re
import shutil
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, get_args

import pytest
from textual.app import App
from textual.color import Color
from textual.pilot import Pilot
from textual.theme import Theme

from benchwalk.daybook.ink import Tone
from benchwalk.job.shop import Shop
from benchwalk.screens.looks import THEMES, WALNUT
from house import MACHINE, ROOT
from scenes import SCENES, busy_shop, play, staged
from screen_helpers import NARROW, WIDE

KEPT = ("bench", "walk-reading", "walk-hazard", "book", "record")
PICTURES = ROOT / "docs" / "pictures"
MOST = 1_500_000  # bytes of all pictures together
_WEB_FONT = re.compile(r"@font-face\s*{[^}]*}|<!-- Generated[^>]*-->")

Compare = Callable[..., bool]


@cache
def template() -> Path:
    """The shop of the scenes, made once and copied for each."""
    folder = tempfile.mkdtemp(prefix="benchwalk-scenes-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return busy_shop(Path(folder, "shop")).root


@pytest.fixture
def compare(snap_compare: Compare, monkeypatch: pytest.MonkeyPatch) -> Compare:
    """Compares a screen with its snapshot. What the drawing names on the net is left out of both."""
    monkeypatch.setenv("TEXTUAL_SNAPSHOT_TEMPDIR", MACHINE["TEXTUAL_SNAPSHOT_TEMPDIR"])  # the plugin's, for its report
    draw = App.export_screenshot
    monkeypatch.setattr(App, "export_screenshot", lambda app, **how: _WEB_FONT.sub("", draw(app, **how)))
    return snap_compare


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "120x36"])
@pytest.mark.parametrize("name", KEPT)
def test_screen_looks_as_it_did(compare: Compare, tmp_path: Path, name: str, size: tuple[int, int]) -> None:
    """Bench, walk at a reading and at a hazard, book and a job's pages look as they did when somebody last agreed."""
    shop = Shop.open(shutil.copytree(template(), tmp_path / "shop"))

    async def reach(pilot: Pilot[Any]) -> None:
        await play(pilot, SCENES[name])

    assert compare(staged(SCENES[name], shop, WALNUT), run_before=reach, terminal_size=size)


def contrast(one: str, other: str) -> float:
    """The contrast ratio of two colours, from 1 to 21, by their relative luminance in sRGB (from memory)."""
    parts = ([p / 255 for p in Color.parse(each).rgb] for each in (one, other))
    linear = ([p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in each] for each in parts)
    darker, lighter = sorted(0.2126 * r + 0.7152 * g + 0.0722 * b for r, g, b in linear)
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.parametrize("theme", [theme for theme in THEMES if not theme.ansi], ids=lambda theme: theme.name)
def test_every_tone_can_be_read_on_its_ground(theme: Theme) -> None:
    """Ink, accent and every tone of the looks of our own keep a contrast of 4.5 to 1."""
    tones = {tone: theme.variables[tone] for tone in (*get_args(Tone), "brass") if tone in theme.variables}
    assert len(tones) == len(get_args(Tone)) - 2  # plain and loud are the ink itself
    for tone, colour in [*tones.items(), ("ink", str(theme.foreground))]:
        assert contrast(str(theme.background), colour) >= 4.5, tone


def test_pictures_are_those_of_the_scenes_and_small() -> None:
    """Every scene has its picture, every picture its scene, and all together stay small enough to be cloned."""
    found = {path.name for path in PICTURES.iterdir()}
    names = {re.sub(r"-(80x24|120x36)-(paper|walnut)\.png$", "", name) for name in found}
    assert names == set(SCENES)
    assert sum((PICTURES / name).stat().st_size for name in found) < MOST
