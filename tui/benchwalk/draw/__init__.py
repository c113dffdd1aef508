"""A procedure's steps drawn: as text that reads aloud, as a Mermaid flowchart, and as one page to print.

Pure: from `Linked` to text.
"""

from .mermaid import draw_mermaid
from .svg import draw_svg
from .text import draw_text

__all__ = ["draw_mermaid", "draw_svg", "draw_text"]
