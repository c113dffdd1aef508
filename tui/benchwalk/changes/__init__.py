"""What changed between two texts of a procedure, in a technician's words. Pure: from two `Linked` to changes."""

from .comparing import compare
from .parts import GROUPS, Change
from .render import as_data, as_lines

__all__ = ["GROUPS", "Change", "as_data", "as_lines", "compare"]
