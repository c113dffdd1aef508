"""The small signs of a drawing, each drawn in a box one letter high whose foot is the line that text stands on.

Every sign stands beside a word that says the same; `KEY` gives that word where all signs are explained.
"""

from __future__ import annotations

from .blocks import Sign

SIGNS: dict[Sign, str] = {
    "on": "M0-.3H.62M.42-.5L.64-.3L.42-.1",
    "back": "M.7-.06H.22V-.55M.02-.34L.22-.57L.42-.34",
    "bound": "M0-.3H.48M.3-.48L.5-.3L.3-.12M.66-.58V-.02",
    "end": "M0-.3H.36M.4-.56V-.04M.56-.56V-.04",
    "hold": "M.2-.62H.03V.02H.2M.56-.62H.73V.02H.56M.2-.39H.56M.2-.21H.56",
    "told": "M.04-.6H.7V-.2H.36L.2 0V-.2H.04Z",
    "run": "M0-.44H.74M0-.16H.74M.06-.1L.28-.5M.27-.1L.49-.5M.48-.1L.7-.5",
    "choice": "M0-.3H.26L.64-.56M.26-.3L.64-.04",
    "wait": "M.1-.62H.6L.1 0H.6Z",
    "skip": "M0-.08C.06-.62.5-.62.58-.16M.4-.3L.59-.12L.74-.33",
    "hazard": "M.37-.68L.76.02H-.02ZM.37-.46V-.2M.37-.11V-.07",
    "event": "M.1.02V-.66L.66-.46L.1-.26",
}
KEY: dict[Sign, str] = {
    "on": "a way on",
    "back": "a way back",
    "bound": "how often a stop is come to",
    "end": "an end",
    "hold": "somebody else must look",
    "told": "somebody is told",
    "run": "another procedure is walked",
    "choice": "one way of several",
    "wait": "a time to wait",
    "skip": "may be left out",
    "hazard": "a hazard",
    "event": "may happen there; see its letter",
}
ROPE = ("M.2-.66V.02M.46-.66V.02", "rope: one stop leads to the next")
