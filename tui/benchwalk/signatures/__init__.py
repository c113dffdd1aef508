"""What each sum takes and gives: names, kinds, units, domains, resolution and source. Declarations only.

A module here declares the sums that the module of the same name in `sums/` works out.
"""

from __future__ import annotations

from . import advice, arithmetic, bars, hearing, pairs, rods, snare_fit, snares, timpani, tuning, weather
from .kinds import TENTH, ZERO, Input, NoResult, Outcome, Output, Signature, Value

__all__ = ["MODULES", "SIGNATURES", "TENTH", "ZERO", "Input", "NoResult", "Outcome", "Output", "Signature", "Value"]

_DECLARED = {
    "snares": snares.SUMS,
    "arithmetic": arithmetic.SUMS,
    "rods": rods.SUMS,
    "advice": advice.SUMS,
    "tuning": tuning.SUMS,
    "snare_fit": snare_fit.SUMS,
    "pairs": pairs.SUMS,
    "weather": weather.SUMS,
    "hearing": hearing.SUMS,
    "bars": bars.SUMS,
    "timpani": timpani.SUMS,
}

SIGNATURES: dict[str, Signature] = {one.name: one for sums in _DECLARED.values() for one in sums}
"""Every sum that a procedure or `benchwalk sum` can name."""

MODULES: dict[str, str] = {one.name: module for module, sums in _DECLARED.items() for one in sums}
"""Which module of `sums/` holds a sum; the function is the sum's name with underscores."""
