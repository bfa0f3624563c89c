"""Preferred values of resistors.

E6, E12 and E24 are tables; they do not follow the formula everywhere.   [IEC 60063, from memory]
"""

from __future__ import annotations

import math

from pinwright.errors import OutOfRange

__all__ = ["E24", "nearest_e24"]

E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)


def nearest_e24(r_ohm: float) -> float:
    """Preferred value nearest by ratio.   [IEC 60063]

    Parameters
    ----------
    r_ohm : wanted resistance [ohm]

    Returns
    -------
    r_ohm : member of the E24 series [ohm]

    Raises
    ------
    OutOfRange : the value is not finite and positive.

    >>> nearest_e24(4800)
    4700.0
    """
    if not (math.isfinite(r_ohm) and r_ohm > 0):
        raise OutOfRange(f"A resistance must be finite and positive, not {r_ohm}.")
    decade = 10.0 ** math.floor(math.log10(r_ohm))
    values = [mantissa / 10 * decade * scale for scale in (1, 10) for mantissa in E24]
    return float(f"{min(values, key=lambda value: abs(math.log(value / r_ohm))):.3g}")
