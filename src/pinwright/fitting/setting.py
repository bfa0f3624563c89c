"""What the brief says about the whole device, and what lies on the maker's bench."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Bench", "Setting", "Switch"]


@dataclass(frozen=True, slots=True)
class Switch:
    """A transistor a stage can be built with; figures as in its data sheet.

    ``kind``: ``npn`` with ``hfe_min``, ``vbe_v``, ``vce_sat_v``; or ``mosfet`` with on-resistances [ohm] by the gate voltage
    [V] they are stated at.  ``v_max_v``, ``i_max_a``: what it stands; ``p_max_w`` in free air.
    """

    part: str
    title: str
    kind: str
    v_max_v: float
    i_max_a: float
    vgs_max_v: float = 0.0
    vgs_th_max_v: float = 0.0
    vgs_th_min_v: float = 0.0
    r_on: tuple[tuple[float, float], ...] = ()
    gate_charge_c: float = 0.0
    hfe_min: float = 0.0
    vbe_v: float = 0.0
    vce_sat_v: float = 0.0
    p_max_w: float = 0.0
    in_stock: bool = False


@dataclass(frozen=True, slots=True)
class Bench:
    """Components to choose from: resistors at hand [ohm], the series to buy from, its tolerance as a share, transistors.

    ``ambient_high_c``: hottest surroundings they must work in [°C].
    """

    resistors: tuple[float, ...] = ()
    series: int = 24
    tolerance: float = 0.05
    switches: tuple[Switch, ...] = ()
    ambient_high_c: float = 40.0


@dataclass(frozen=True, slots=True)
class Setting:
    """What the brief says about the whole device.

    ``ambient_c``: lowest and highest temperature around it [°C].  ``usb_device``: it is a USB device through the board's own socket.
    """

    radio: tuple[str, ...] = ()
    sleeping: bool = False
    keep_console: bool = True
    keep_usb: bool = True
    language: str = ""
    bench: Bench = Bench()
    ambient_c: tuple[float, float] = (0.0, 40.0)
    usb_device: bool = False
