"""What the tests of reports share: jobs to report on, HTML taken apart, and a browser to look at it with."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from html.parser import HTMLParser
from pathlib import Path

import pytest

from benchwalk.job.shop import Shop
from benchwalk.session import Session
from benchwalk.walk import acts
from house import ROOT
from shop_helpers import SENIOR, Clock, begin, command, fresh_shop, reach_hold
from walk_helpers import linked, procedure

SAMPLE = ROOT / "sample_jobs"
JOBS = ("J-0001", "J-0002", "J-0003")
AUDIENCES = ("owner", "shop")
FORMATS = ("html", "md", "text")
OWNER = {"name": "Ilse Brandt", "contact": "the choir loft, second door"}
NOTE = {"instrument": "Field drum 14 x 10 in", "complaint": "Dull, and rattles", "tag": "4 on shelf A"}

HEARD = procedure(
    """
takes: {}
readings:
  heard: {ask: What the owner heard, kind: words}
  gap: {ask: Gap, unit: mm, possible: 0 .. 20, wanted: 3 .. 6, per: [butt side, strainer side]}
  knob: {ask: Knob, unit: turns, possible: 0 .. 40}
  lie: {ask: The snares, choices: {flat: lie flat, lift: lift}, wanted: flat}
sums:
  both: {use: difference, with: {a: knob, b: most}}
limits:
  most: {is: 9 turns, sure: C, whose: the shop, because: It is enough}
findings:
  said: {found: "The owner says: {{ heard }}.", grade: tell-owner, evidence: [heard, lie], proposes: [hunt-a-rattle]}
steps:
  - step: listen
    stage: {id: s, title: Listen}
    do: Ask the owner.
    record: [heard, lie]
    branches:
      - {when: lie is flat, because: "So it is: {{ heard }}", find: said, go: measure}
      - {when: otherwise, because: They lift, go: measure}
  - step: measure
    stage: {id: m, title: Measure}
    may_skip: {because: it is known, by: technician}
    record: [gap, knob]
    work_out: [both]
    branches:
      - {when: both.by >= 0 turns, because: "Measured: {{ knob }}", go: look}
      - {when: otherwise, because: not measured, go: look}
  - step: look
    do: Show the drum.
    hold: {by: senior, signs: checked, covers: [gap], because: Four eyes}
    branches:
      - {when: hold is released, because: Looked at, go: finish}
      - {when: otherwise, because: Once more, go: measure, at_most: 2, then: finish}
  - step: finish
    do: "Write down: {{ heard }}"
    end: {as: done, say: "It said {{ heard }}"}
""".replace("takes: {}\n", ""),
    id="hear-out",
)
"""A procedure that says again what was typed, with places, a sum, a look and a skip."""

SIGN = acts.Sign(SENIOR, "practice")


def heard(shop: Shop, typed: str, *, note: dict[str, str] | None = None, reason: str = "misread") -> Session:
    """A practice job of HEARD, walked to its end with `typed` wherever words can be typed, and released."""
    session = begin(shop, linked(HEARD), drum={}, note=note or NOTE, owner=OWNER, salt=b"." * 16)
    for act in (acts.Ready(), acts.Done(), acts.Record(typed), acts.Record("flat"), acts.Note(typed)):
        _do(session, act)
    for value in ("2", "4,5", "7 1/4"):
        _do(session, acts.Record(value))
    first = min(e.n for e in session.state.entries.values() if e.name == "gap")
    _do(session, acts.Correct(first, "3.0", reason))
    _do(session, acts.Correct(first, "3.50", typed))
    while session.now().kind != "ended":
        here = session.now().kind
        usual = {"hold": acts.Release(SIGN, note=typed), "account": acts.Account(), "hazard": acts.Acknowledge()}
        _do(session, usual.get(here, acts.Done()))
    return session


def release(session: Session) -> None:
    """Release the whole job in practice."""
    _do(session, acts.ReleaseJob(SIGN, head=session.head))


def _do(session: Session, act: acts.Act) -> None:
    assert isinstance(session.clock, Clock)
    decision = session.do(act)
    assert decision.refusal is None, (act, decision.refusal)


def customer(tmp_path: Path) -> tuple[Shop, str]:
    """A customer's flagship job, walked to the senior's look, with a gap corrected three times; not released."""
    shop = fresh_shop(tmp_path)
    with begin(shop, kind="customer", note=NOTE, owner=OWNER, salt=b"." * 16) as session:
        reach_hold(session)
        gap = next(e.n for e in session.state.entries.values() if e.name == "butt_gap")
        for typed, reason in (("4.5", "rule slipped"), ("3,9 mm", "read in poor light"), ("4.0", "third time right")):
            _do(session, acts.Correct(gap, typed, reason))
        return shop, session.state.job


def report(shop: Path, job: str, audience: str = "owner", form: str = "text") -> str:
    """The report as the command prints it."""
    ran = command("report", job, "--for", audience, "--format", form, shop=shop)
    assert (ran.returncode, ran.stderr) == (0, "")
    return ran.stdout


class Page(HTMLParser):
    """An HTML page taken apart: tags with their attributes, the text shown, the style."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.shown: list[str] = []
        self.style = ""
        self._open: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._apart(tag)
        if tag not in ("meta", "link", "br", "img", "hr", "input"):
            self._open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self._open and self._open.pop() == tag, f"</{tag}> closes something else"

        self._apart(tag)

    def _apart(self, tag: str) -> None:
        if tag not in ("span", "a", "strong"):  # what stands in cells and paragraphs of their own is read apart
            self.shown.append(" ")

    def handle_data(self, data: str) -> None:
        if "style" in self._open:
            self.style += data
        elif "title" not in self._open:
            self.shown.append(data)

    @property
    def whole(self) -> bool:
        """Whether every tag was closed."""
        return not self._open

    @property
    def text(self) -> str:
        """What a person reads."""
        return " ".join("".join(self.shown).split())

    def values(self, tag: str, attribute: str) -> list[str]:
        """An attribute of every tag of that kind which has it."""
        return [value for name, attrs in self.tags if name == tag and (value := attrs.get(attribute)) is not None]


# --- a browser -------------------------------------------------------------------------------------------------------

QUIET = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-extensions"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync", "--hide-scrollbars"),
    *("--disable-default-apps", "--no-default-browser-check", "--metrics-recording-only", "--disable-dev-shm-usage"),
)


def browser() -> str:
    """The browser's program; skips where this machine has none."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        pytest.skip("chromium is not installed here; `apt-get install chromium` brings it")
    return found


@contextmanager
def _profile() -> Iterator[str]:
    folder = tempfile.mkdtemp(prefix="benchwalk-browser-")
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def browse(page: Path, *options: str) -> subprocess.CompletedProcess[bytes]:
    """Open a page in the browser without a screen."""
    with _profile() as folder:
        command_ = [browser(), *QUIET, f"--user-data-dir={folder}", *options, page.as_uri()]
        return subprocess.run(command_, capture_output=True, timeout=120, check=True)
