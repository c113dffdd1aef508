"""Small turns of phrase of a sheet."""

from __future__ import annotations

from collections.abc import Iterable


def times(count: int) -> str:
    """`once`, `twice`, `3 times`."""
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def ended(text: str) -> str:
    """A text with a full stop, unless another mark ends it."""
    text = text.strip()
    return text if text.endswith((".", "?", "!", ":")) else f"{text}."


def capital(text: str) -> str:
    """A text that begins with a capital letter."""
    return text[:1].upper() + text[1:]


def a_role(role: str) -> str:
    """`a senior`, `an owner`."""
    return f"an {role}" if role[:1].lower() in "aeiou" else f"a {role}"


def sentences(texts: Iterable[str]) -> str:
    """Each text as a sentence, with a space before it."""
    return "".join(f" {capital(ended(text))}" for text in texts)
