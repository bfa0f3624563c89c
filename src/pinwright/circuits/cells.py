"""How far the voltage of a cell sags under load, and at which voltage a circuit stops.

R = ΔV / ΔI between two loads   [Energizer: Technical Bulletin, Battery Internal Resistance, version 1.1.0 (2005), figure 1]
The rest is Ohm's law with the cell as a source behind its internal resistance   [Ohm's law].  That resistance rises as the
cell empties, ages and cools, and with the length of the burst: take the value near the end of its life.  About 10 to 40 Ω
for a coin cell of 20 mm, 0.1 to 0.3 Ω for a fresh alkaline AA, 0.05 to 0.1 Ω for a lithium-ion cell with its protection
circuit   [common practice, no source].
"""

from __future__ import annotations

import numpy as np

from pinwright.circuits.bounds import finite, not_negative, positive
from pinwright.errors import OutOfRange

__all__ = ["burst_current_max", "cutoff_voltage", "internal_resistance", "loaded_voltage"]


def internal_resistance(v_light_v: float, v_heavy_v: float, i_light_a: float, i_heavy_a: float) -> float:
    """Internal resistance of a cell from its voltage under two loads: ΔV / ΔI.   [Energizer]

    Parameters
    ----------
    v_light_v : voltage under the light load [V]
    v_heavy_v : voltage under the heavy load, after as long as the bursts will last [V]
    i_light_a : light load [A]
    i_heavy_a : heavy load [A]

    Returns
    -------
    r_internal_ohm : effective resistance [ohm]

    Raises
    ------
    OutOfRange : the heavy load is not the heavier one, or the voltage rises under it.

    >>> f"{internal_resistance(1.485, 1.378, 0.005, 0.505):.3f} Ω"
    '0.214 Ω'
    """
    not_negative(i_light_a=i_light_a, v_heavy_v=v_heavy_v)
    finite(v_light_v=v_light_v, i_heavy_a=i_heavy_a)
    if np.any(np.asarray(i_heavy_a) <= np.asarray(i_light_a)) or np.any(np.asarray(v_heavy_v) > np.asarray(v_light_v)):
        raise OutOfRange("The heavy load must draw more current and leave less voltage than the light one.")
    return (v_light_v - v_heavy_v) / (i_heavy_a - i_light_a)


def loaded_voltage(v_open_v: float, i_a: float, r_internal_ohm: float) -> float:
    """Voltage of a cell or pack under load: V - I R.   [Ohm's law]

    Parameters
    ----------
    v_open_v : voltage without load [V]
    i_a : current, in a burst its peak [A]
    r_internal_ohm : internal resistance of all cells in series, wires and holder included [ohm]

    Returns
    -------
    v_v : voltage under load [V]

    Raises
    ------
    OutOfRange : a value is negative, or the cell cannot give that current at all.

    >>> f"{loaded_voltage(3.0, 15e-3, 20):.2f} V"
    '2.70 V'
    """
    positive(v_open_v=v_open_v)
    not_negative(i_a=i_a, r_internal_ohm=r_internal_ohm)
    v_v = v_open_v - i_a * r_internal_ohm
    if np.any(np.asarray(v_v) < 0):
        raise OutOfRange(f"The cell cannot give {np.max(i_a):g} A: its internal resistance alone would take the whole voltage.")
    return v_v


def burst_current_max(v_open_v: float, v_min_v: float, r_internal_ohm: float) -> float:
    """Highest burst a cell gives without falling below a voltage: (V - V_min) / R.   [Ohm's law]

    Parameters
    ----------
    v_open_v : voltage without load, near the end of its life [V]
    v_min_v : lowest voltage the circuit works with [V]
    r_internal_ohm : internal resistance near the end of its life, cold [ohm]

    Returns
    -------
    i_a : upper limit [A]

    Raises
    ------
    OutOfRange : a value is not positive, or the cell already lies below that voltage.

    >>> f"{burst_current_max(3.0, 1.8, 20) * 1e3:.0f} mA"
    '60 mA'
    """
    positive(v_open_v=v_open_v, v_min_v=v_min_v, r_internal_ohm=r_internal_ohm)
    if np.any(np.asarray(v_open_v) < np.asarray(v_min_v)):
        raise OutOfRange(f"Even without load {np.min(v_open_v):g} V lie below the {np.max(v_min_v):g} V needed.")
    return (v_open_v - v_min_v) / r_internal_ohm


def cutoff_voltage(
    v_load_min_v: float, dropout_v: float = 0.0, i_burst_a: float = 0.0, r_internal_ohm: float = 0.0, cells: int = 1
) -> float:
    """Open voltage of each cell at which the circuit stops: (V_min + V_dropout + I R) / cells.   [Ohm's law]

    With a regulator the voltage needed is its output and its dropout; without one the brown-out level of the controller.

    Parameters
    ----------
    v_load_min_v : lowest voltage the load works with, or brown-out level [V]
    dropout_v : dropout of a regulator in between [V]
    i_burst_a : highest burst [A]
    r_internal_ohm : internal resistance of all cells together [ohm]
    cells : cells in series [-]

    Returns
    -------
    v_cell_v : voltage of each cell without load [V]

    Raises
    ------
    OutOfRange : a value is negative, or there is no cell.

    >>> f"{cutoff_voltage(3.3, dropout_v=0.25, i_burst_a=0.35, r_internal_ohm=0.1):.3f} V"
    '3.585 V'
    """
    positive(v_load_min_v=v_load_min_v)
    not_negative(dropout_v=dropout_v, i_burst_a=i_burst_a, r_internal_ohm=r_internal_ohm)
    if np.any(np.asarray(cells) < 1):
        raise OutOfRange("There must be at least one cell.")
    return (v_load_min_v + dropout_v + i_burst_a * r_internal_ohm) / cells
