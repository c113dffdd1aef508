"""A verdict near a limit, by one stated rule.

The rule is a guard band as wide as the uncertainty U (k = 2), after the idea of ILAC-G8:09/2019, 4.2.1 and 4.2.2: what
is within the limit even with U added is within; what is beyond it even with U taken off is outside; in between it is
too close to call. A value exactly on a limit counts as inside, which is a choice of ours.
"""

from __future__ import annotations

from fractions import Fraction

VERDICTS = ("within", "too-close", "outside")


def verdict(value: Fraction, sure: Fraction, limit: Fraction) -> str:
    """Whether `value`, known to `sure` (U, k = 2), is at most `limit`; all in one unit."""
    if value + sure <= limit:
        return "within"
    return "outside" if value - sure > limit else "too-close"
