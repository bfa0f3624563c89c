"""Light-dependent resistors: R = R10 (E / 10 lx)^-gamma, and how little that says.

gamma = lg(R10 / R100), tolerance ± 0.1; R10 at 10 lx of 2854 K light after two hours in 400 to 600 lx   [Token, CdS photo
resistors, notes 1 and 3].  Makers give R10 as a range of about one to two, and drifts of 20 to 30 %.
Divider that spreads a range widest: the geometric mean of both ends   [derived]
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pinwright.circuits.bounds import positive
from pinwright.circuits.plain import computed
from pinwright.circuits.preferred import in_range
from pinwright.circuits.ranges import Range, Value, over
from pinwright.errors import OutOfRange

__all__ = ["LightDivider", "illuminance", "illuminance_spread", "light_divider", "resistance"]

_E_REF_LUX = 10.0


def resistance(e_lux: float, r10_ohm: float, gamma: float) -> float:
    """Resistance at an illuminance.   [Token]

    Parameters
    ----------
    e_lux : illuminance [lx]
    r10_ohm : resistance at 10 lx [ohm]
    gamma : slope of the double logarithmic curve, about 0.5 to 0.9 [-]

    Returns
    -------
    r_ohm : resistance [ohm]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{resistance(100, 15e3, 0.7):.0f} Ω"
    '2993 Ω'
    """
    positive(e_lux=e_lux, r10_ohm=r10_ohm, gamma=gamma)
    r_ohm: float = computed(lambda: r10_ohm * (e_lux / _E_REF_LUX) ** (-gamma))
    return r_ohm


def illuminance(r_ohm: float, r10_ohm: float, gamma: float) -> float:
    """Illuminance from a resistance, the inverse of ``resistance``.   [Token]

    Parameters
    ----------
    r_ohm : measured resistance [ohm]
    r10_ohm : resistance at 10 lx [ohm]
    gamma : slope of the double logarithmic curve [-]

    Returns
    -------
    e_lux : illuminance [lx]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{illuminance(2993, 15e3, 0.7):.0f} lx"
    '100 lx'
    """
    positive(r_ohm=r_ohm, r10_ohm=r10_ohm, gamma=gamma)
    e_lux: float = computed(lambda: _E_REF_LUX * (r10_ohm / r_ohm) ** (1 / gamma))
    return e_lux


def illuminance_spread(e_lux: float, r10_ohm: Value, gamma: Value) -> Range:
    """What light there may be when a typical cell reads an illuminance, any cell of the type being fitted.   [Token]

    Parameters
    ----------
    e_lux : illuminance by the typical curve [lx]
    r10_ohm : resistance at 10 lx, as a range [ohm]
    gamma : slope, as a range [-]

    Returns
    -------
    e_lux : lowest and highest true illuminance [lx]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> found = illuminance_spread(100, Range(8e3, 20e3, 14e3), Range(0.6, 0.8, 0.7))
    >>> f"{found.low:.0f} lx to {found.high:.0f} lx"
    '37 lx to 266 lx'
    """
    typical_r10 = r10_ohm.middle if isinstance(r10_ohm, Range) else r10_ohm
    typical_gamma = gamma.middle if isinstance(gamma, Range) else gamma
    r_ohm = resistance(e_lux, typical_r10, typical_gamma)
    return over(illuminance, r_ohm=r_ohm, r10_ohm=r10_ohm, gamma=gamma)


@dataclass(frozen=True, slots=True)
class LightDivider:
    """Fixed resistor towards ground below a cell towards the supply, and the share of the supply it gives at both ends."""

    r_ohm: float
    share_dark: float
    share_bright: float

    @property
    def span(self) -> float:
        """Share of the supply between dark and bright [-]."""
        return self.share_bright - self.share_dark


def light_divider(e_low_lux: float, e_high_lux: float, r10_ohm: float, gamma: float, n: int = 12) -> LightDivider:
    """Fixed resistor of a series that spreads a range of light over the most of the supply.   [derived]

    Parameters
    ----------
    e_low_lux : darkest illuminance to tell [lx]
    e_high_lux : brightest illuminance to tell [lx]
    r10_ohm : resistance of the cell at 10 lx [ohm]
    gamma : slope of the cell [-]
    n : values a decade of the series [-]

    Returns
    -------
    divider : resistor and shares [-]

    Raises
    ------
    OutOfRange : a value is not positive, or the range is none.

    >>> made = light_divider(10, 1000, 15e3, 0.7)
    >>> f"{made.r_ohm:.0f} Ω: {made.share_dark:.2f} to {made.share_bright:.2f} of the supply"
    '3300 Ω: 0.18 to 0.85 of the supply'
    """
    positive(e_low_lux=e_low_lux, e_high_lux=e_high_lux)
    if e_low_lux >= e_high_lux:
        raise OutOfRange(f"A range runs from dark to bright, not from {e_low_lux:g} lx to {e_high_lux:g} lx.")
    dark, bright = resistance(e_low_lux, r10_ohm, gamma), resistance(e_high_lux, r10_ohm, gamma)
    best = float(np.sqrt(dark * bright))
    made = [LightDivider(r, r / (r + dark), r / (r + bright)) for r in in_range(best / 10, best * 10, n)]
    if not made:
        raise OutOfRange(f"No preferred value lies near {best:.3g} Ω.")
    return max(made, key=lambda divider: divider.span)
