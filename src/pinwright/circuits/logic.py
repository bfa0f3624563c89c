"""Does a receiver read a driver's levels, over the tolerance of both supplies.

Margins: high = lowest VOH - highest VIH, low = lowest VIL - highest VOL; a negative one is not guaranteed.
[JESD8C.01, from memory]  Between VIL and VIH lies the undefined band: a data sheet promises nothing there,
and a slow or noisy signal in it may be read both ways.
"""

from __future__ import annotations

from dataclasses import dataclass

from pinwright.circuits.bounds import finite, not_negative, positive
from pinwright.circuits.ranges import Range, Value, over
from pinwright.circuits.window import shown
from pinwright.errors import OutOfRange

__all__ = ["Band", "Driver", "Margins", "Receiver", "compatibility", "level_read", "noise_margins", "threshold"]


def threshold(vdd_v: float, fraction: float, offset_v: float = 0.0) -> float:
    """A level given as a fraction of the supply, plus an offset.

    V = fraction · VDD + offset   [as data sheets write 0.7 VDD or VDD - 0.4 V]

    Parameters
    ----------
    vdd_v : supply the level hangs on [V]
    fraction : of that supply; 0 for a fixed level [-]
    offset_v : what is added, may be negative [V]

    Returns
    -------
    level_v : the level [V]

    Raises
    ------
    OutOfRange : the supply is not positive, the fraction negative, or a value not finite.

    >>> round(threshold(3.3, 0.75), 3)
    2.475
    """
    positive(vdd_v=vdd_v)
    not_negative(fraction=fraction)
    finite(offset_v=offset_v)
    return fraction * vdd_v + offset_v


@dataclass(frozen=True, slots=True)
class Band:
    """One level of a data sheet: ``fraction`` of the supply plus ``offset_v``.  A fixed 2.0 V is ``Band(0, 2.0)``."""

    fraction: float
    offset_v: float = 0.0

    def at(self, vdd_v: Value) -> Range:
        """The level over a supply [V]."""
        return over(lambda vdd_v: threshold(vdd_v, self.fraction, self.offset_v), vdd_v=vdd_v)


@dataclass(frozen=True, slots=True)
class Driver:
    """Guaranteed output levels: ``voh`` the lowest high, ``vol`` the highest low, at the current the load draws."""

    voh: Band
    vol: Band


@dataclass(frozen=True, slots=True)
class Receiver:
    """Guaranteed input thresholds: from ``vih`` up is high, to ``vil`` down is low; ``v_max_v`` is the highest voltage taken."""

    vih: Band
    vil: Band
    v_max_v: float | None = None


@dataclass(frozen=True, slots=True)
class Margins:
    """What is left on both sides.

    ``verdict`` is ``compatible``, ``high undefined``, ``low undefined`` or ``both undefined``; ``undefined_v`` the band in which
    the receiver promises nothing, at its widest; ``over_v`` by how much the driver exceeds what the receiver takes (0 where not,
    or where no limit is known).  ``words`` name each inequality that fails and by how much, or the smaller margin.
    """

    high_v: float
    low_v: float
    verdict: str
    undefined_v: Range
    over_v: float
    words: str

    @property
    def is_sure(self) -> bool:
        """Both levels are guaranteed, and nothing is overdriven."""
        return self.verdict == "compatible" and self.over_v <= 0


def noise_margins(voh_v: float, vih_v: float, vol_v: float, vil_v: float) -> tuple[float, float]:
    """High and low noise margin of four levels.   [JESD8C.01]

    Parameters
    ----------
    voh_v : lowest high of the driver [V]
    vih_v : lowest level the receiver takes as high [V]
    vol_v : highest low of the driver [V]
    vil_v : highest level the receiver takes as low [V]

    Returns
    -------
    high_v, low_v : positive is guaranteed [V]

    Raises
    ------
    OutOfRange : a level is not finite.

    >>> [round(margin, 2) for margin in noise_margins(2.64, 2.0, 0.33, 0.8)]
    [0.64, 0.47]
    """
    finite(voh_v=voh_v, vih_v=vih_v, vol_v=vol_v, vil_v=vil_v)
    return voh_v - vih_v, vil_v - vol_v


def compatibility(driver: Driver, receiver: Receiver, vdd_driver_v: Value, vdd_receiver_v: Value | None = None) -> Margins:
    """Margins between two parts over the tolerance of their supplies.   [JESD8C.01]

    On one rail both move together; on two, the driver's lowest meets the receiver's highest.

    Parameters
    ----------
    driver : output levels [-]
    receiver : input thresholds [-]
    vdd_driver_v : supply of the driver [V]
    vdd_receiver_v : supply of the receiver; without it both hang on one rail [V]

    Returns
    -------
    margins : with words

    Raises
    ------
    OutOfRange : a supply is not positive, or a receiver's VIL lies above its VIH.

    >>> gate = Receiver(vih=Band(0.7), vil=Band(0.3))
    >>> pin = Driver(voh=Band(0.8), vol=Band(0.1))
    >>> compatibility(pin, gate, 3.3, Range(4.5, 5.5, 5.0)).words
    'high undefined: VOH 2.64 V is 1.21 V below VIH 3.85 V'
    """
    one_rail = vdd_receiver_v is None
    vdd_receiver = vdd_driver_v if vdd_receiver_v is None else vdd_receiver_v
    voh, vol = driver.voh.at(vdd_driver_v), driver.vol.at(vdd_driver_v)
    vih, vil = receiver.vih.at(vdd_receiver), receiver.vil.at(vdd_receiver)
    if vil.low > vih.low or vil.high > vih.high:
        raise OutOfRange(f"A receiver's VIL ({vil.high:g} V) cannot lie above its VIH ({vih.high:g} V).")
    if one_rail:
        high_v = over(lambda vdd_v: _gap(driver.voh, receiver.vih, vdd_v), vdd_v=vdd_driver_v).low
        low_v = over(lambda vdd_v: _gap(receiver.vil, driver.vol, vdd_v), vdd_v=vdd_driver_v).low
    else:
        high_v, low_v = noise_margins(voh.low, vih.high, vol.high, vil.low)
    top_v = vdd_driver_v.high if isinstance(vdd_driver_v, Range) else vdd_driver_v
    over_v = max(0.0, top_v - receiver.v_max_v) if receiver.v_max_v is not None else 0.0
    verdict = {(True, True): "compatible", (False, True): "high undefined", (True, False): "low undefined"}.get(
        (high_v >= -1e-9, low_v >= -1e-9), "both undefined"
    )
    words = _margin_words(verdict, (high_v, low_v), (voh.low, vih.high, vol.high, vil.low), one_rail)
    if over_v > 0:
        words += f"; the driver's rail {top_v:.3g} V is {over_v:.3g} V above the {receiver.v_max_v:.3g} V the receiver takes"
    return Margins(float(high_v), float(low_v), verdict, Range(vil.low, vih.high), over_v, words)


def level_read(v: Range, vil_v: float, vih_v: float) -> tuple[str, str]:
    """What an input reads at a steady voltage: ``high``, ``low`` or ``undefined``, and why.   [JESD8C.01]

    Parameters
    ----------
    v : bounds of the voltage at the pin [V]
    vil_v : up to here it is low [V]
    vih_v : from here it is high [V]

    Returns
    -------
    level, words : the verdict, and the inequality with its margin or what it lacks

    Raises
    ------
    OutOfRange : the thresholds are not finite or cross.

    >>> level_read(Range(0.798, 1.721), 1.5, 3.0)
    ('undefined', '0.798 V to 1.72 V: up to 221 mV above VIL 1.5 V, and down to 2.2 V below VIH 3 V')
    """
    finite(vil_v=vil_v, vih_v=vih_v)
    if vil_v > vih_v:
        raise OutOfRange(f"VIL ({vil_v:g} V) cannot lie above VIH ({vih_v:g} V).")
    if v.low >= vih_v - 1e-9:
        return "high", f"{shown(v.low - vih_v, 'V')} above VIH {vih_v:.3g} V"
    if v.high <= vil_v + 1e-9:
        return "low", f"{shown(vil_v - v.high, 'V')} below VIL {vil_v:.3g} V"
    return "undefined", (
        f"{v.low:.3g} V to {v.high:.3g} V: up to {shown(v.high - vil_v, 'V')} above VIL {vil_v:.3g} V, "
        f"and down to {shown(vih_v - v.low, 'V')} below VIH {vih_v:.3g} V"
    )


def _gap(above: Band, below: Band, vdd_v: float) -> float:
    return threshold(vdd_v, above.fraction, above.offset_v) - threshold(vdd_v, below.fraction, below.offset_v)


def _margin_words(verdict: str, margins: tuple[float, float], levels: tuple[float, float, float, float], one_rail: bool) -> str:
    high_v, low_v = margins
    voh, vih, vol, vil = (f" {level:.3g} V" if not one_rail else "" for level in levels)
    where = " on one rail" if one_rail else ""
    if verdict == "compatible":
        if high_v <= low_v:
            return f"compatible: VOH{voh} is {shown(high_v, 'V')} above VIH{vih}{where}, the smaller margin"
        return f"compatible: VOL{vol} is {shown(low_v, 'V')} below VIL{vil}{where}, the smaller margin"
    faults = []
    if high_v < -1e-9:
        faults.append(f"VOH{voh} is {shown(-high_v, 'V')} below VIH{vih}{where}")
    if low_v < -1e-9:
        faults.append(f"VOL{vol} is {shown(-low_v, 'V')} above VIL{vil}{where}")
    return f"{verdict}: {'; '.join(faults)}"
