"""A report in a real browser: it opens without a complaint, asks nobody for anything, and prints on A4."""

from __future__ import annotations

import re
import zlib
from pathlib import Path

import pytest

from report_helpers import AUDIENCES, SAMPLE, browse, browser, report

pytestmark = pytest.mark.heavy

MOST_PAGES = {"owner": 2, "shop": 30}


@pytest.fixture(autouse=True)
def with_a_browser() -> None:
    """Skip all of it where there is no browser."""
    browser()


def opened(page: Path) -> tuple[list[str], set[str]]:
    """What the browser complained of, and the hosts that were asked for anything, its own wishes included."""
    net = page.with_suffix(".net.json")
    shot = page.with_suffix(".png")
    ran = browse(
        *(page, "--enable-logging=stderr", f"--log-net-log={net}", f"--screenshot={shot}"),
        "--host-resolver-rules=MAP * ~NOTFOUND",
    )
    complaints = [line for line in ran.stderr.decode(errors="replace").splitlines() if ":CONSOLE" in line]
    assert shot.stat().st_size > 5000, "the page was drawn"
    return complaints, set(re.findall(r'"url":"(https?://[^/"]+)', net.read_text(errors="replace").replace(" ", "")))


@pytest.mark.parametrize("audience", AUDIENCES)
def test_a_report_opens_without_a_complaint_and_asks_nobody(tmp_path: Path, audience: str) -> None:
    """The console stays empty, and no host is asked that an empty page does not ask; a page that asks is noticed."""
    page, blank, asking = (tmp_path / f"{name}.html" for name in ("page", "blank", "asking"))
    html = report(SAMPLE, "J-0001", audience, "html")
    page.write_text(html, encoding="utf-8")
    blank.write_text("<!doctype html><title>x</title><p>" + "nothing " * 2000)
    asking.write_text(html.replace("<main>", '<main><img src="http://127.0.0.1:9/x">'), encoding="utf-8")
    complaints, hosts = opened(page)
    own = opened(blank)[1]
    assert (complaints, hosts - own) == ([], set())
    refused, _ = opened(asking)
    assert any("Content Security Policy" in line for line in refused), "the policy is the browser's too"


@pytest.mark.parametrize("audience", AUDIENCES)
def test_a_report_prints_on_a4(tmp_path: Path, audience: str) -> None:
    """Printed, every page is A4, and there are as few as the report needs."""
    page, pdf = tmp_path / "page.html", tmp_path / "page.pdf"
    page.write_text(report(SAMPLE, "J-0001", audience, "html"), encoding="utf-8")
    browse(page, f"--print-to-pdf={pdf}", "--no-pdf-header-footer")
    data = pdf.read_bytes()
    boxes = [tuple(map(float, box.split())) for box in re.findall(rb"/MediaBox \[([^\]]+)\]", data)]
    assert 1 <= len(boxes) <= MOST_PAGES[audience]
    assert len(boxes) > 3 or audience == "owner"
    for box in boxes:
        assert box[:2] == (0, 0) and abs(box[2] - 595.28) < 1 and abs(box[3] - 841.89) < 1


def first_pixel(png: bytes) -> tuple[int, ...]:
    """The colour of a picture's first pixel, which no filter of the format changes."""
    parts, at = b"", 8
    while at < len(png):
        size = int.from_bytes(png[at : at + 4], "big")
        if png[at + 4 : at + 8] == b"IDAT":
            parts += png[at + 8 : at + 8 + size]
        at += size + 12
    return tuple(zlib.decompressobj().decompress(parts, 4)[1:])


def test_paper_is_light_and_walnut_is_dark(tmp_path: Path) -> None:
    """On screen the page follows the light or dark that its reader chose."""
    page = tmp_path / "page.html"
    page.write_text(report(SAMPLE, "J-0003", "owner", "html"), encoding="utf-8")
    drawn = {}
    for name, scheme in (("dark", 0), ("light", 1)):
        shot = tmp_path / f"{name}.png"
        browse(page, f"--screenshot={shot}", f"--blink-settings=preferredColorScheme={scheme}")
        drawn[name] = first_pixel(shot.read_bytes())
    assert min(drawn["light"]) > 220 and max(drawn["dark"]) < 60
