"""Who may come in: a request has to name this machine, bring the token, and come from the bench's own page.

The server listens on this machine only, and a browser here still carries requests of any page it shows. So the name
it was reached under is looked at (a foreign name may have been pointed here), and where a websocket comes from.
"""

from __future__ import annotations

import hmac
import re
from collections.abc import Mapping
from urllib.parse import urlsplit

NO_TOKEN = "The bench opens only with the whole address that `benchwalk serve` printed."
OTHER_NAME = "The bench answers only to the names 127.0.0.1 and localhost."
OTHER_PAGE = "The bench cannot be opened from another page."

_HERE = re.compile(r"(127\.0\.0\.1|localhost|\[::1\])(:[0-9]{1,5})?", re.IGNORECASE)


def refusal(headers: Mapping[str, str], path: str, token: str, *, websocket: bool) -> str | None:
    """Why a request is turned away, as one sentence; None where it may come in.

    `path` is the request's path as it stands, its first part the token. A websocket needs an Origin, which every
    browser sends, and it has to be the very name the request was sent to.
    """
    host = headers.get("Host", "")
    if not _HERE.fullmatch(host):
        return OTHER_NAME
    brought = path.split("/", 2)[1] if path.startswith("/") else ""
    if not hmac.compare_digest(brought.encode("utf-8", "replace"), token.encode()):
        return NO_TOKEN
    origin = headers.get("Origin")
    if (websocket and origin is None) or (origin is not None and _named(origin) != host.lower()):
        return OTHER_PAGE
    return None


def _named(origin: str) -> str:
    """The name and port of an Origin, as a Host header would say them; empty where it is none of a page."""
    try:
        parts = urlsplit(origin)
    except ValueError:
        return ""
    return parts.netloc.lower() if parts.scheme in ("http", "https") else ""
