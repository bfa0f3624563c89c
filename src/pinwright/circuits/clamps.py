"""Turning a coil off: what its clamp (a diode, or a diode and Zener or TVS) and the switch see, and how long it holds on.

Sources: TE 13C3311, relay coil suppression with DC relays (read): an unsuppressed 12 V relay may make 1000 to 1500 V,
a plain diode slows the contacts, a Zener in series with it much less.  The decay follows from L di/dt = -R i - Vc.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pinwright.circuits.bounds import not_negative, positive
from pinwright.circuits.plain import plain
from pinwright.circuits.window import shown
from pinwright.errors import OutOfRange

__all__ = ["Clamp", "DiodeNeeds", "clamp", "decay_time", "diode_needs", "stored_energy", "switch_voltage"]


def stored_energy(l_h: float, i_a: float) -> float:
    """Energy in a coil: L · I² / 2; the clamp takes it at every turn-off.   [definition of inductance]

    Parameters
    ----------
    l_h : inductance with the armature closed [H]
    i_a : current [A]

    Returns
    -------
    e_j : energy [J]

    Raises
    ------
    OutOfRange : a value is negative.

    >>> f"{stored_energy(0.1, 0.08) * 1e6:.0f} µJ"
    '320 µJ'
    """
    not_negative(l_h=l_h, i_a=i_a)
    return l_h * i_a**2 / 2


def switch_voltage(v_supply_v: float, v_clamp_v: float) -> float:
    """Voltage the switch sees at turn-off: supply plus what the clamp across the coil drops.   [TE 13C3311]

    Parameters
    ----------
    v_supply_v : highest supply [V]
    v_clamp_v : diode, or Zener and diode together [V]

    Returns
    -------
    v_v : across the switch [V]

    Raises
    ------
    OutOfRange : a value is negative.

    >>> switch_voltage(12.0, 0.7)
    12.7
    """
    not_negative(v_supply_v=v_supply_v, v_clamp_v=v_clamp_v)
    return v_supply_v + v_clamp_v


def decay_time(l_h: float, r_ohm: float, i_start_a: float, i_end_a: float, v_clamp_v: float) -> float:
    """Time the current of a clamped coil takes to fall.

    t = L / R · ln((I0 + Vc / R) / (I1 + Vc / R))   [L di/dt = -R i - Vc]

    Parameters
    ----------
    l_h : inductance [H]
    r_ohm : winding [ohm]
    i_start_a : current at turn-off [A]
    i_end_a : current at which the armature lets go [A]
    v_clamp_v : across the clamp: 0.7 V for a diode, more for a Zener in series [V]

    Returns
    -------
    t_s : time; the moving armature is not counted [s]

    Raises
    ------
    OutOfRange : a value is not positive, or the current would have to rise.

    >>> f"{decay_time(0.1, 63.0, 0.08, 0.01, 0.7) * 1e3:.1f} ms, {decay_time(0.1, 63.0, 0.08, 0.01, 15.7) * 1e3:.2f} ms"
    '2.3 ms, 0.38 ms'
    """
    positive(l_h=l_h, r_ohm=r_ohm, i_start_a=i_start_a)
    not_negative(i_end_a=i_end_a, v_clamp_v=v_clamp_v)
    if not np.all(np.less_equal(i_end_a, i_start_a)):
        raise OutOfRange("A clamped coil's current falls; it cannot end above where it starts.")
    if not np.all(np.add(i_end_a, v_clamp_v) > 0):
        raise OutOfRange("Without a clamp voltage the current never reaches zero.")
    rest = v_clamp_v / np.asarray(r_ohm, dtype=float)
    t_s: float = plain(l_h / r_ohm * np.log((i_start_a + rest) / (i_end_a + rest)))
    return t_s


@dataclass(frozen=True, slots=True)
class Clamp:
    """What a coil's turn-off does: voltage at the switch, current and energy in the clamp, mean power, time to let go, faults."""

    v_switch_v: float
    i_peak_a: float
    e_j: float | None
    p_w: float | None
    t_release_s: float | None
    faults: tuple[str, ...]


def clamp(
    v_supply_v: float,
    i_coil_a: float,
    v_clamp_v: float,
    *,
    l_h: float | None = None,
    r_ohm: float | None = None,
    i_release_a: float | None = None,
    f_switch_hz: float = 0.0,
    v_switch_max_v: float | None = None,
    t_release_max_s: float | None = None,
) -> Clamp:
    """A diode, or a diode and Zener (or TVS), across a coil.   [TE 13C3311; L di/dt = -R i - Vc]

    Parameters
    ----------
    v_supply_v : highest supply [V]
    i_coil_a : highest coil current [A]
    v_clamp_v : drop of the clamp: a diode 0.7 to 1 V, a Zener adds its voltage [V]
    l_h : inductance, if known [H]
    r_ohm : winding [ohm]
    i_release_a : current at which it surely lets go [A]
    f_switch_hz : how often it is switched [Hz]
    v_switch_max_v : what the switch stands [V]
    t_release_max_s : longest time allowed to let go [s]

    Returns
    -------
    clamp : figures; None where inductance or winding are not known

    Raises
    ------
    OutOfRange : a value is negative.

    >>> clamp(24.0, 0.1, 36.7, v_switch_max_v=50.0).faults
    ('the switch sees 60.7 V, 10.7 V more than it stands',)
    """
    not_negative(i_coil_a=i_coil_a, f_switch_hz=f_switch_hz)
    v_switch_v = switch_voltage(v_supply_v, v_clamp_v)
    energy = stored_energy(l_h, i_coil_a) if l_h is not None else None
    release = None
    if l_h is not None and r_ohm is not None and i_release_a is not None:
        release = decay_time(l_h, r_ohm, i_coil_a, i_release_a, v_clamp_v)
    faults = []
    if v_switch_max_v is not None and v_switch_v > v_switch_max_v:
        faults.append(f"the switch sees {v_switch_v:.3g} V, {shown(v_switch_v - v_switch_max_v, 'V')} more than it stands")
    if t_release_max_s is not None and release is not None and release > t_release_max_s:
        faults.append(
            f"the current takes {shown(release, 's')} to fall, {release / t_release_max_s:.2g} times what is allowed: raise the clamp"
        )
    return Clamp(v_switch_v, i_coil_a, energy, energy * f_switch_hz if energy is not None else None, release, tuple(faults))


@dataclass(frozen=True, slots=True)
class DiodeNeeds:
    """What a flyback diode must be rated for, and what a plain diode costs."""

    v_reverse_min_v: float
    i_forward_min_a: float
    words: str


def diode_needs(v_supply_v: float, i_coil_a: float, derating: float = 2.0) -> DiodeNeeds:
    """Ratings of the diode across a coil: reverse voltage and peak current.   [TE 13C3311; twice the supply is common practice]

    Parameters
    ----------
    v_supply_v : highest supply [V]
    i_coil_a : highest coil current, which it carries at once [A]
    derating : reverse rating over the supply [-]

    Returns
    -------
    needs : ratings and words

    Raises
    ------
    OutOfRange : a value is not positive, or the derating below 1.

    >>> diode_needs(24.0, 0.2).v_reverse_min_v
    48.0
    """
    positive(v_supply_v=v_supply_v, i_coil_a=i_coil_a, derating=derating)
    if derating < 1:
        raise OutOfRange("A diode must stand at least the supply.")
    words = (
        f"at least {v_supply_v * derating:.3g} V reverse and {shown(i_coil_a, 'A')} forward; a plain diode lets the current die slowly, "
        "which wears contacts that switch much: add a Zener or TVS in series where the switch stands its voltage"
    )
    return DiodeNeeds(v_supply_v * derating, i_coil_a, words)
