"""Between logic voltages: one MOSFET a line for open-drain buses, a divider into an input, and dedicated shifters.

Sources
-------
AN97055: Philips, bidirectional level shifter for the I2C-bus (Aug 1997): gate on the lower rail, source on the lower side,
drain on the upper; a low from above first comes through the body diode (from memory).
Rise times between 30 % and 70 % as in UM10204 r5, 7.1 (read).  Speed: a rise may take a quarter of a period (common practice).
"""

from __future__ import annotations

from dataclasses import dataclass

from pinwright.circuits.bounds import positive, share
from pinwright.circuits.dividers import source_resistance
from pinwright.circuits.logic import Band
from pinwright.circuits.pulls import rise_time
from pinwright.circuits.ranges import Range, Value
from pinwright.circuits.window import shown
from pinwright.errors import OutOfRange

__all__ = ["RISE_SHARE", "Fet", "Shifted", "Shifter", "dedicated_shifter", "divider_speed", "fet_shifter", "speed_limit"]

RISE_SHARE = 0.25
"""Share of a period a rise may take, half of the high time (common practice, no source)."""


def speed_limit(t_rise_s: float, rise_share: float = RISE_SHARE) -> float:
    """Fastest clock whose edges still settle: f = share / t_rise.   [common practice, no source]

    Parameters
    ----------
    t_rise_s : the slowest rise [s]
    rise_share : of a period [-]

    Returns
    -------
    f_max_hz : highest clock [Hz]

    Raises
    ------
    OutOfRange : the time is not positive, or the share not between 0 and 1.

    >>> round(speed_limit(300e-9))
    833333
    """
    positive(t_rise_s=t_rise_s, rise_share=rise_share)
    share(rise_share=rise_share)
    return rise_share / t_rise_s


def divider_speed(top_ohm: float, bottom_ohm: float, c_in_f: float, rise_share: float = RISE_SHARE) -> tuple[float, float]:
    """Rise time and highest clock of a divider into an input.

    t = ln 9 · C · (top parallel bottom), 10 % to 90 %   [exponential rise]

    Parameters
    ----------
    top_ohm : upper resistor [ohm]
    bottom_ohm : lower resistor [ohm]
    c_in_f : input and wiring [F]
    rise_share : of a period [-]

    Returns
    -------
    t_rise_s, f_max_hz : rise from 10 % to 90 % [s], highest clock [Hz]

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> [f"{value:.3g}" for value in divider_speed(10e3, 20e3, 15e-12)]
    ['2.2e-07', '1.14e+06']
    """
    t_rise_s = rise_time(source_resistance(top_ohm, bottom_ohm), c_in_f, 0.1, 0.9)
    return t_rise_s, speed_limit(t_rise_s, rise_share)


HAND_OVER = 1.2
"""How much longer a rise may take while the channel lets go of it, as a factor [-]."""


@dataclass(frozen=True, slots=True)
class Fet:
    """What a shifting MOSFET's data sheet promises.

    ``vgs_th_max_v`` at ``i_th_a``; ``vf_body_max_v`` of the body diode; ``vds_max_v``; ``r_on_ohm`` at ``r_on_at_v`` of gate drive
    (None where no figure is given at a drive this small).  ``vgs_th_min_v``: where the channel lets go at the latest.
    """

    vgs_th_max_v: float
    i_th_a: float
    vf_body_max_v: float
    vds_max_v: float
    r_on_ohm: float | None = None
    r_on_at_v: float | None = None
    vgs_th_min_v: float | None = None


@dataclass(frozen=True, slots=True)
class Shifted:
    """Whether a shifter works; ``faults`` name every condition that fails and by how much, ``cautions`` what is not promised."""

    works: bool
    faults: tuple[str, ...]
    cautions: tuple[str, ...]
    t_rise_low_s: float | None
    t_rise_high_s: float | None
    f_max_hz: float | None

    @property
    def words(self) -> str:
        """One line: works up to so many hertz, or every fault."""
        if self.faults:
            return "does not work: " + "; ".join(self.faults)
        speed = "" if self.f_max_hz is None else f" up to {shown(self.f_max_hz, 'Hz')}"
        return "works" + speed + "".join(f"; {caution}" for caution in self.cautions)


def fet_shifter(
    fet: Fet,
    v_low_v: Value,
    v_high_v: Value,
    *,
    r_low_ohm: float,
    r_high_ohm: float,
    c_low_f: float,
    c_high_f: float,
    vol_low_v: float = 0.4,
    vol_high_v: float = 0.4,
    t_rise_max_s: float | None = None,
) -> Shifted:
    """Whether one N-channel MOSFET shifts an open-drain line between two rails.   [AN97055]

    Pulled low from below, VGS is the lower rail less VOL and must exceed the threshold.  Pulled low from above, the body diode
    first lowers the source to VOL + VF, and what is left of the lower rail must exceed the threshold too.  Released, VGS is 0.

    Parameters
    ----------
    fet : data sheet values [-]
    v_low_v : lower rail, gate too [V]
    v_high_v : upper rail [V]
    r_low_ohm : all pull-ups of the lower side together [ohm]
    r_high_ohm : all pull-ups of the upper side together [ohm]
    c_low_f : capacitance of the lower side [F]
    c_high_f : capacitance of the upper side [F]
    vol_low_v : highest low of the drivers below [V]
    vol_high_v : highest low of the drivers above [V]
    t_rise_max_s : longest rise from 30 % to 70 % on either side, if the bus sets one [s]

    Returns
    -------
    shifted : verdict with faults and cautions

    Raises
    ------
    OutOfRange : a value is not positive.

    >>> fet = Fet(1.5, 1e-3, 1.4, 50.0, r_on_ohm=6.0, r_on_at_v=4.5)
    >>> fet_shifter(fet, 1.8, 3.3, r_low_ohm=10e3, r_high_ohm=10e3, c_low_f=50e-12, c_high_f=50e-12).faults[0]
    'driven from below, VGS is 1.4 V, 100 mV under the 1.5 V threshold'
    """
    low = v_low_v if isinstance(v_low_v, Range) else Range(v_low_v, v_low_v)
    high = v_high_v if isinstance(v_high_v, Range) else Range(v_high_v, v_high_v)
    positive(v_low_v=low.low, v_high_v=high.low, r_low_ohm=r_low_ohm, r_high_ohm=r_high_ohm, vgs_th_max_v=fet.vgs_th_max_v)
    # The channel joins both sides until its gate drive is gone: neither is then faster than both together, and the
    # hand-over costs up to a fifth more (bound found with a circuit simulator, tests/spice/test_shifting.py).
    alone = rise_time(r_low_ohm, c_low_f), rise_time(r_high_ohm, c_high_f)
    joined = rise_time(r_low_ohm * r_high_ohm / (r_low_ohm + r_high_ohm), c_low_f + c_high_f)
    if fet.vgs_th_min_v is not None and low.high - fet.vgs_th_min_v <= 0.3 * low.low:
        t_low, t_high = alone
    else:
        t_low, t_high = (HAND_OVER * max(*alone, joined),) * 2
    faults, cautions = [], []
    drives = {
        "driven from below": low.low - vol_low_v,
        "driven from above": low.low - vol_high_v - fet.vf_body_max_v,
    }
    for side, vgs_v in drives.items():
        if vgs_v < fet.vgs_th_max_v:
            short = fet.vgs_th_max_v - vgs_v
            faults.append(f"{side}, VGS is {vgs_v:.3g} V, {shown(short, 'V')} under the {fet.vgs_th_max_v:.3g} V threshold")
    if high.low < low.high:
        faults.append(f"the upper rail {high.low:.3g} V lies below the lower rail {low.high:.3g} V: the body diode joins them")
    if high.high > fet.vds_max_v:
        faults.append(f"the upper rail {high.high:.3g} V exceeds VDS {fet.vds_max_v:.3g} V")
    if t_rise_max_s is not None:
        for side, t_s in (("lower", t_low), ("upper", t_high)):
            if t_s > t_rise_max_s:
                faults.append(f"the {side} side rises in {shown(t_s, 's')}, {t_s / t_rise_max_s:.2g} times the {shown(t_rise_max_s, 's')}")
    i_pull_a = high.high / r_high_ohm + low.high / r_low_ohm
    if i_pull_a > fet.i_th_a and (fet.r_on_at_v is None or fet.r_on_at_v > drives["driven from below"]):
        cautions.append(
            f"both pull-ups ask {shown(i_pull_a, 'A')}, the threshold is given at {shown(fet.i_th_a, 'A')}, "
            f"and no on-resistance is specified at a drive of {drives['driven from below']:.3g} V"
        )
    elif fet.r_on_ohm is not None:
        rises = shown(fet.r_on_ohm * i_pull_a, "V")
        cautions.append(f"a low gets up to {rises} higher on its way through")
    return Shifted(not faults, tuple(faults), tuple(cautions), t_low, t_high, speed_limit(max(t_low, t_high)))


@dataclass(frozen=True, slots=True)
class Shifter:
    """What a dedicated shifter promises: rails of both sides, input thresholds, direction, kind of line, highest clock.

    ``direction`` is ``a to b``, ``b to a``, ``switched`` (a pin turns it round) or ``automatic``; ``open_drain`` whether it suits
    lines with pull-ups; ``r_pull_min_ohm`` the strongest pull its outputs overpower (None where any is fine).
    """

    v_a: Range
    v_b: Range
    vih_a: Band
    vil_a: Band
    direction: str
    open_drain: bool
    f_max_hz: float
    r_pull_min_ohm: float | None = None
    needs_a_below_b: bool = False


def dedicated_shifter(
    shifter: Shifter,
    v_a_v: Value,
    v_b_v: Value,
    *,
    voh_v: float,
    vol_v: float,
    f_hz: float,
    both_ways: bool = False,
    open_drain: bool = False,
    r_pull_ohm: float | None = None,
) -> Shifted:
    """Whether a dedicated shifter suits a line, driven on its side a.   [conditions as data sheets of such parts set them]

    Parameters
    ----------
    shifter : what it promises [-]
    v_a_v : rail of the side that drives [V]
    v_b_v : rail of the other side [V]
    voh_v : lowest high of the driver [V]
    vol_v : highest low of the driver [V]
    f_hz : highest clock or half the bit rate of the line [Hz]
    both_ways : the line is driven from both sides [-]
    open_drain : the line is open-drain with pull-ups [-]
    r_pull_ohm : pull resistor on the line, if any [ohm]

    Returns
    -------
    shifted : verdict with every fault

    Raises
    ------
    OutOfRange : the shifter's direction is unknown, or a value is not positive.

    >>> buffer = Shifter(Range(4.5, 5.5), Range(4.5, 5.5), Band(0, 2.0), Band(0, 0.8), "a to b", False, 50e6)
    >>> dedicated_shifter(buffer, 5.0, 5.0, voh_v=2.64, vol_v=0.33, f_hz=8e5).works
    True
    """
    if shifter.direction not in ("a to b", "b to a", "switched", "automatic"):
        raise OutOfRange(f"A shifter's direction is a to b, b to a, switched or automatic, not {shifter.direction!r}.")
    a = v_a_v if isinstance(v_a_v, Range) else Range(v_a_v, v_a_v)
    b = v_b_v if isinstance(v_b_v, Range) else Range(v_b_v, v_b_v)
    positive(v_a_v=a.low, v_b_v=b.low, f_hz=f_hz)
    faults = []
    for name, rail, allowed in (("a", a, shifter.v_a), ("b", b, shifter.v_b)):
        if rail.low < allowed.low or rail.high > allowed.high:
            faults.append(f"rail {name} of {rail.low:.3g} V to {rail.high:.3g} V lies outside {allowed.low:.3g} V to {allowed.high:.3g} V")
    if shifter.needs_a_below_b and a.high > b.low:
        faults.append(f"rail a must not lie above rail b: {a.high:.3g} V against {b.low:.3g} V")
    vih, vil = shifter.vih_a.at(a).high, shifter.vil_a.at(a).low
    if voh_v < vih - 1e-9:
        faults.append(f"the high of {voh_v:.3g} V is {shown(vih - voh_v, 'V')} below VIH {vih:.3g} V")
    if vol_v > vil + 1e-9:
        faults.append(f"the low of {vol_v:.3g} V is {shown(vol_v - vil, 'V')} above VIL {vil:.3g} V")
    if both_ways and shifter.direction != "automatic":
        faults.append(f"the line is driven from both sides, the shifter is {shifter.direction}")
    elif not both_ways and shifter.direction == "b to a":
        faults.append("the line is driven on side a, the shifter goes b to a")
    if open_drain and not shifter.open_drain:
        faults.append("the line is open-drain, the shifter drives both levels or mistakes slow edges")
    if f_hz > shifter.f_max_hz:
        faults.append(f"{shown(f_hz, 'Hz')} is above its {shown(shifter.f_max_hz, 'Hz')}")
    if r_pull_ohm is not None and shifter.r_pull_min_ohm is not None and r_pull_ohm < shifter.r_pull_min_ohm:
        faults.append(f"a pull of {shown(r_pull_ohm)} overpowers it; it wants {shown(shifter.r_pull_min_ohm)} or weaker")
    return Shifted(not faults, tuple(faults), (), None, None, shifter.f_max_hz)
