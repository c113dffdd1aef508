"""A procedure's steps drawn: as text that reads aloud, and as a Mermaid flowchart. Pure: from `Linked` to text."""

from .mermaid import draw_mermaid
from .text import draw_text

__all__ = ["draw_mermaid", "draw_text"]
