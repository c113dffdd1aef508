"""The looks: paper and ink, walnut and ivory, and the terminal's own sixteen colours; and how tones become styles.

Meaning never rests on a colour: tones only stress words that say the same.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterable, Mapping
from pathlib import Path

from textual.content import Content
from textual.theme import Theme

from ..daybook.ink import Line, Tone
from ..errors import UsageError
from ..paths import user_folder
from ..procedure.showing import safe_text

PAPER, WALNUT, OWN_DARK, OWN_LIGHT = "paper", "walnut", "own-dark", "own-light"
LOOKS = (PAPER, WALNUT, OWN_DARK, OWN_LIGHT)
LOOK_VARIABLE = "BENCHWALK_LOOK"


def _theme(name: str, dark: bool, ground: str, raised: str, ink: str, accent: str, inks: dict[str, str]) -> Theme:
    """A theme whose variables hold the tones; the hazard colours are those of ANSI Z535 (from memory)."""
    return Theme(
        name=name,
        dark=dark,
        primary=accent,
        secondary=inks["within"],
        accent=accent,
        warning=inks["close"],
        error=inks["outside"],
        success=inks["within"],
        foreground=ink,
        background=ground,
        surface=ground,
        panel=raised,
        boost=raised,
        variables={
            **inks,
            "brass": accent,
            "footer-background": raised,
            "footer-foreground": inks["quiet"],
            "footer-key-foreground": accent,
            "footer-description-foreground": ink,
            "footer-key-background": raised,
            "footer-description-background": raised,
            "footer-item-background": raised,
            "input-selection-background": accent,
            "input-selection-foreground": ground,
            "block-cursor-background": accent,
            "block-cursor-foreground": ground,
            "border": inks["quiet"],
            "border-blurred": inks["quiet"],
        },
    )


_ON_PAPER = {
    "quiet": "#6b5f4f",
    "within": "#00645c",
    "outside": "#ab3d00",
    "close": "#735800",
    "danger": "#b00020",
    "warning": "#b04a00",
    "caution": "#6f5a00",
    "notice": "#1f4f8f",
}
_ON_WALNUT = {
    "quiet": "#b3a58e",
    "within": "#63c9ba",
    "outside": "#f2965a",
    "close": "#dcc265",
    "danger": "#ff8a80",
    "warning": "#ffab66",
    "caution": "#ffe066",
    "notice": "#8db8f0",
}
_OWN = {
    "quiet": "ansi_default",
    "within": "ansi_cyan",
    "outside": "ansi_red",
    "close": "ansi_yellow",
    "danger": "ansi_red",
    "warning": "ansi_yellow",
    "caution": "ansi_yellow",
    "notice": "ansi_blue",
}


def _own(name: str, dark: bool) -> Theme:
    """The terminal's own colours, for sixteen-colour terminals and for people who chose theirs."""
    brass = "ansi_yellow" if dark else "ansi_magenta"
    theme = _theme(name, dark, "ansi_default", "ansi_default", "ansi_default", brass, _OWN)
    theme.ansi = True
    theme.variables |= {
        "ansi-background": "ansi_black" if dark else "ansi_white",
        "ansi-foreground": "ansi_white" if dark else "ansi_black",
        "block-cursor-foreground": "ansi_black",
        "block-cursor-background": "ansi_white" if dark else "ansi_yellow",
        "input-cursor-background": "ansi_white" if dark else "ansi_black",
        "input-cursor-foreground": "ansi_black" if dark else "ansi_white",
        "input-selection-background": "ansi_blue",
        "input-selection-foreground": "ansi_white",
        "screen-selection-background": "ansi_blue",
        "screen-selection-foreground": "ansi_white",
    }
    return theme


THEMES: tuple[Theme, ...] = (
    _theme(PAPER, False, "#f7f2e6", "#ece4d1", "#221c14", "#855400", _ON_PAPER),
    _theme(WALNUT, True, "#1f1812", "#2c231a", "#f0e7d3", "#dca94a", _ON_WALNUT),
    _own(OWN_DARK, True),
    _own(OWN_LIGHT, False),
)


def first_look(environ: Mapping[str, str] = os.environ, kept: str = "") -> str:
    """The look to begin with: the one asked for, the one kept, or what the terminal can show."""
    for wish in (environ.get(LOOK_VARIABLE, ""), kept):
        if wish in LOOKS:
            return wish
    few = environ.get("TERM", "") in ("linux", "vt100", "vt220", "ansi", "xterm", "screen", "xterm-16color")
    system = environ.get("TEXTUAL_COLOR_SYSTEM", "")
    return OWN_DARK if system == "standard" or (few and not environ.get("COLORTERM")) else WALNUT


def _look_file() -> Path:
    return user_folder("config") / "look"


def kept_look() -> str:
    """The look that was chosen last; empty where none was, or it cannot be read."""
    try:
        return _look_file().read_text(encoding="utf-8").strip()
    except (OSError, ValueError, UsageError):
        return ""


def keep_look(name: str) -> None:
    """Remember a look; where that cannot be written it holds for this time only."""
    with contextlib.suppress(OSError, UsageError):
        file = _look_file()
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(name + "\n", encoding="utf-8")


_STYLES: dict[Tone, str] = {
    "plain": "",
    "quiet": "$quiet",
    "loud": "bold",
    "brass": "bold $brass",
    "within": "$within",
    "outside": "bold $outside",
    "close": "$close",
    "danger": "bold $danger",
    "warning": "bold $warning",
    "caution": "bold $caution",
    "notice": "bold $notice",
}


def inked(lines: Iterable[Line]) -> Content:
    """Toned lines as content for a widget; whatever the text holds is shown as typed and acts on nothing."""
    rows = [[(safe_text(span.text), _STYLES[span.tone]) for span in line] for line in lines]
    return Content("\n").join([Content.assemble(*row) for row in rows])


def plain(text: str) -> Content:
    """Any text as content, shown as typed."""
    return Content(safe_text(text, newlines=True))
