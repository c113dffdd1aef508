"""The sums themselves: `compute` one by its name. Each sum's module is imported when it is first asked for."""

from .computing import compute
from .described import describe
from .jsonio import compute_json

__all__ = ["compute", "compute_json", "describe"]
