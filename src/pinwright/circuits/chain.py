"""From a quantity to a code and back: how far the reading may be off, in the quantity's own unit.

A chain is a sensor's curve, perhaps a divider, and a converter with its errors.  The firmware turns the code back believing the
usual values; what it gets wrong is the error.  Three answers: the *worst case* from all corners [interval arithmetic], the root
of the sum of squares (*RSS*) of each contribution alone, and a *Monte Carlo* of many made-up specimens [JCGM 101:2008, from
memory, for the method; the seed is fixed, so the same question has the same answer].  Resolution is a definition.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from pinwright.circuits.adc import AdcErrors
from pinwright.circuits.bounds import finite, positive
from pinwright.circuits.curves import Curve, Uncertain, Values
from pinwright.circuits.plain import plain
from pinwright.circuits.ranges import Range, over
from pinwright.errors import OutOfRange

__all__ = ["Budget", "Chain", "MonteCarlo", "budget", "monte_carlo", "resolution", "resolution_over", "sample_errors", "widest"]

_BLOCK = 1 << 15  # samples worked on at a time: few enough that all arrays of a block stay in the cache


@dataclass(frozen=True, slots=True)
class Chain:
    """Curve of the sensor, converter, and the divider between them as its top and bottom resistor [ohm]."""

    curve: Curve
    converter: AdcErrors
    divider_ohm: tuple[Range, Range] | None = None

    @property
    def uncertain(self) -> dict[str, Uncertain]:
        """Every value that is not known exactly, by name."""
        adc = self.converter
        found = dict(self.curve.uncertain)
        if self.divider_ohm is not None:
            found |= {"r_top_ohm": Uncertain(self.divider_ohm[0]), "r_bottom_ohm": Uncertain(self.divider_ohm[1])}
        return found | {
            "v_ref_v": Uncertain(Range.around(adc.v_ref_v, adc.reference_share)),
            "offset_lsb": Uncertain(Range(-adc.offset_lsb, adc.offset_lsb, 0.0)),
            "gain_lsb": Uncertain(Range(-adc.gain_lsb, adc.gain_lsb, 0.0)),
            "linearity_lsb": Uncertain(Range(-adc.inl_lsb, adc.inl_lsb, 0.0)),
            "steps_lsb": Uncertain(Range(-0.5, 0.5, 0.0)),
        }

    @property
    def usual(self) -> dict[str, float]:
        """What the firmware believes."""
        return {name: each.range.middle for name, each in self.uncertain.items()}

    def share(self, quantity: Any, values: Values) -> Any:
        """Reading as a share of full scale, errors of the converter included, not yet held at its ends."""
        adc = self.converter
        levels = float(1 << adc.bits)
        ideal = self.curve.volts(quantity, values) * self._ratio(values) / values["v_ref_v"]
        return ideal * (1 + values["gain_lsb"] / levels) + (values["offset_lsb"] + values["linearity_lsb"] + values["steps_lsb"]) / levels

    def reading(self, share: Any) -> Any:
        """Quantity the firmware makes of a share of full scale, which ends half a step before both ends."""
        usual = self.usual
        half = 0.5 / (1 << self.converter.bits)
        volts = np.clip(share, half, 1 - half) * usual["v_ref_v"] / self._ratio(usual)
        return self.curve.quantity(volts, usual)

    def error(self, quantity: Any, values: Values) -> Any:
        """Reading less the true quantity, in its unit."""
        return self.reading(self.share(quantity, values)) - quantity

    def _ratio(self, values: Values) -> Any:
        if self.divider_ohm is None:
            return 1.0
        return values["r_bottom_ohm"] / (values["r_top_ohm"] + values["r_bottom_ohm"])


@dataclass(frozen=True, slots=True)
class Budget:
    """Error of a chain at one value of its quantity, in the quantity's unit.

    ``parts`` is the largest error each contribution makes alone, ``shares`` its part of the sum of squares.
    """

    quantity: float
    unit: str
    worst: Range
    rss: float
    parts: Mapping[str, float]
    shares: Mapping[str, float]

    @property
    def main(self) -> str:
        """Name of the contribution worth improving first."""
        return max(self.parts, key=lambda name: self.parts[name])


@dataclass(frozen=True, slots=True)
class MonteCarlo:
    """Errors of many made-up specimens: mean, deviation, the band of 95 in 100, and the extremes, in the quantity's unit."""

    quantity: float
    unit: str
    samples: int
    mean: float
    deviation: float
    band: Range
    extremes: Range


def budget(chain: Chain, quantity: float) -> Budget:
    """Worst case, RSS and contributions at one value.   [interval arithmetic, RSS]

    Parameters
    ----------
    chain : sensor, divider, converter [-]
    quantity : true value, in the unit of the curve [-]

    Returns
    -------
    budget : errors in the same unit [-]

    Raises
    ------
    OutOfRange : the value lies outside the curve, or its voltage outside the converter.

    >>> from pinwright.circuits.curves import ntc_divider
    >>> curve = ntc_divider(Range.around(10e3, 0.01), Range.around(3950, 0.01), Range.around(10e3, 0.01))
    >>> found = budget(Chain(curve, AdcErrors(12, 3.3, offset_lsb=2)), 25.0)
    >>> f"{found.worst.low:.2f} to {found.worst.high:+.2f} {found.unit}, RSS {found.rss:.2f}"
    '-0.50 to +0.51 °C, RSS 0.32'
    """
    _within(chain, quantity)
    uncertain, usual = chain.uncertain, chain.usual
    worst = over(lambda **values: chain.error(quantity, values), **{name: each.range for name, each in uncertain.items()})
    parts = {
        name: max(abs(float(chain.error(quantity, usual | {name: end}))) for end in (each.range.low, each.range.high))
        for name, each in uncertain.items()
    }
    squares = sum(part**2 for part in parts.values())
    shares = {name: part**2 / squares for name, part in parts.items()}
    return Budget(quantity, chain.curve.unit, worst, squares**0.5, parts, shares)


def widest(chain: Chain, low: float, high: float, points: int = 21) -> Budget:
    """Budget where the worst case is widest over a range of the quantity.   [interval arithmetic]

    Parameters
    ----------
    chain : sensor, divider, converter [-]
    low : lower end of the range, in the unit of the curve [-]
    high : upper end of the range [-]
    points : values looked at, at least both ends [-]

    Returns
    -------
    budget : the widest one [-]

    Raises
    ------
    OutOfRange : the range is none, or lies outside the chain.

    >>> from pinwright.circuits.curves import ntc_divider
    >>> curve = ntc_divider(Range.around(10e3, 0.01), Range.around(3950, 0.01), Range.around(10e3, 0.01))
    >>> found = widest(Chain(curve, AdcErrors(12, 3.3)), 0.0, 80.0)
    >>> found.quantity, found.main
    (80.0, 'beta_k')
    """
    if not (low < high and points >= 2):
        raise OutOfRange(f"A range runs from low to high and has two ends, not from {low:g} to {high:g} with {points:g} values.")
    found = [budget(chain, float(quantity)) for quantity in np.linspace(low, high, points)]
    return max(found, key=lambda each: each.worst.high - each.worst.low)


def sample_errors(chain: Chain, quantity: float, samples: int, seed: int = 1) -> np.ndarray:
    """Error of each of many made-up specimens.   [JCGM 101]

    Parameters
    ----------
    chain : sensor, divider, converter [-]
    quantity : true value, in the unit of the curve [-]
    samples : how many [-]
    seed : of the random numbers [-]

    Returns
    -------
    errors : array *(specimen,)* in the same unit [-]

    Raises
    ------
    OutOfRange : no samples, or the value lies outside the chain.

    >>> from pinwright.circuits.curves import linear
    >>> errors = sample_errors(Chain(linear("°C", 10e-3), AdcErrors(10, 1.1)), 25.0, 1000)
    >>> errors.shape, bool(abs(errors).max() <= 0.5 * 1.1 / 1024 / 10e-3)
    ((1000,), True)
    """
    positive(samples=samples)
    _within(chain, quantity)
    rng = np.random.default_rng(seed)
    uncertain = chain.uncertain
    errors = np.empty(samples)
    for start in range(0, samples, _BLOCK):
        size = min(_BLOCK, samples - start)
        values = {name: _draw(rng, each, size) for name, each in uncertain.items()}
        errors[start : start + size] = chain.error(quantity, values)
    return errors


def monte_carlo(chain: Chain, quantity: float, samples: int = 100_000, seed: int = 1) -> MonteCarlo:
    """Mean, deviation and band of the error over many made-up specimens.   [JCGM 101]

    Parameters
    ----------
    chain : sensor, divider, converter [-]
    quantity : true value, in the unit of the curve [-]
    samples : how many [-]
    seed : of the random numbers [-]

    Returns
    -------
    result : in the same unit [-]

    Raises
    ------
    OutOfRange : no samples, or the value lies outside the chain.

    >>> from pinwright.circuits.curves import ntc_divider
    >>> curve = ntc_divider(Range.around(10e3, 0.01), Range.around(3950, 0.01), Range.around(10e3, 0.01))
    >>> found = monte_carlo(Chain(curve, AdcErrors(12, 3.3, offset_lsb=2)), 25.0)
    >>> f"{found.band.low:.1f} to {found.band.high:+.1f} {found.unit}"
    '-0.4 to +0.4 °C'
    """
    errors = sample_errors(chain, quantity, samples, seed)
    low, high = (float(end) for end in np.quantile(errors, (0.025, 0.975)))
    extremes = Range(float(errors.min()), float(errors.max()))
    return MonteCarlo(quantity, chain.curve.unit, samples, float(errors.mean()), float(errors.std()), Range(low, high), extremes)


def resolution(chain: Chain, quantity: float) -> float:
    """Change of the quantity that moves the code by one, in the quantity's unit.   [definition]

    Parameters
    ----------
    chain : sensor, divider, converter [-]
    quantity : true value, or an array of them, in the unit of the curve [-]

    Returns
    -------
    step : units a code [-]

    Raises
    ------
    OutOfRange : the value lies outside the chain.

    >>> from pinwright.circuits.curves import linear
    >>> f"{resolution(Chain(linear('°C', 10e-3), AdcErrors(10, 1.1)), 25.0):.3f} °C"
    '0.107 °C'
    """
    _within(chain, quantity)
    share = chain.share(quantity, chain.usual)
    half = 0.5 / (1 << chain.converter.bits)
    step: float = plain(np.abs(chain.reading(share + half) - chain.reading(share - half)))
    return step


def resolution_over(chain: Chain, low: float, high: float, points: int = 201) -> Range:
    """Finest and coarsest resolution over a range of the quantity.   [definition]

    Parameters
    ----------
    chain : sensor, divider, converter [-]
    low : lower end of the range, in the unit of the curve [-]
    high : upper end of the range [-]
    points : values looked at [-]

    Returns
    -------
    step : units a code [-]

    Raises
    ------
    OutOfRange : the range is none, or lies outside the chain.

    >>> from pinwright.circuits.curves import ntc_divider
    >>> curve = ntc_divider(Range.around(10e3, 0.01), Range.around(3950, 0.01), Range.around(10e3, 0.01))
    >>> found = resolution_over(Chain(curve, AdcErrors(10, 3.3)), -20.0, 80.0)
    >>> f"{found.low:.2f} to {found.high:.2f} °C a code"
    '0.09 to 0.31 °C a code'
    """
    positive(points=points)
    if not low < high:
        raise OutOfRange(f"A range runs from low to high, not from {low:g} to {high:g}.")
    steps = np.asarray(resolution(chain, np.linspace(low, high, points)))  # type: ignore[arg-type]
    return Range(float(steps.min()), float(steps.max()))


def _within(chain: Chain, quantity: float) -> None:
    finite(quantity=quantity)
    share = np.atleast_1d(chain.share(quantity, chain.usual))
    top = chain.converter.v_ref_v
    outside = share[(share < 0) | (share > 1)]
    if outside.size:
        volts = float(outside[0]) * top
        raise OutOfRange(f"The chain puts {volts:.3g} V on an input that reads 0 to {top:g} V: divide it or choose a wider range.")


def _draw(rng: np.random.Generator, one: Uncertain, size: int) -> Any:
    low, high = one.range.low, one.range.high
    if low == high:
        return low
    if one.shape == "normal":
        return rng.normal(one.range.middle, (high - low) / 6, size)
    return rng.random(size) * (high - low) + low
