"""The drawings a step may ask for, by the words after `show`. They are drawn by the screen, not here."""

from __future__ import annotations

DRAWINGS: dict[str, bool] = {
    "pairs": True,
    "rod order": True,
    "snares from the side": False,
    "knot": False,
    "groove": False,
}
"""Word to whether the drawing depends on how many rods the drum has."""
