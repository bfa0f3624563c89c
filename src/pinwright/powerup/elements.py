"""The network of one wire at power-up: nodes by name, and what joins them.

Every element has one value that may be a range (``ohm``, ``v``, ``i_a``, ``i_s_a``); a switch adds its states.
Nodes exist by being named; ``GROUND`` is always there, at 0 V.

A diode follows I = I_s (e^(V / (n V_T)) - 1) with a resistance in series   [W. Shockley, Bell Syst. Tech. J. 28 (1949) 435].
V_T is taken at 27 °C: a cold junction drops more, about 2 mV a kelvin (common practice, no source), which belongs
into the range of its saturation current.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from typing import Literal

from pinwright.circuits.bounds import finite, not_negative, positive
from pinwright.circuits.ranges import Range, Value
from pinwright.circuits.window import shown
from pinwright.errors import OutOfRange

__all__ = [
    "GROUND",
    "V_THERMAL_V",
    "Diode",
    "Element",
    "Leak",
    "Network",
    "Resistor",
    "Supply",
    "Switch",
    "clamp_diodes",
    "diode_between",
    "diode_through",
]

GROUND = "gnd"
"""Name of the node that is 0 V."""

V_THERMAL_V = 1.380649e-23 * 300.15 / 1.602176634e-19
"""k T / q at 27 °C [V]   [constants exact since the SI of 2019]."""


@dataclass(frozen=True, slots=True)
class Resistor:
    """A resistor, or anything that is one: a pull inside a chip, a load.  ``ohm`` above zero; current counts from a to b."""

    a: str
    b: str
    ohm: Value
    name: str = ""

    def __post_init__(self) -> None:
        _apart(self.a, self.b)
        positive(ohm=_ends(self.ohm))

    def choices(self, corners: bool) -> tuple[float, ...]:
        """Values to try [ohm]."""
        return _ends(self.ohm) if corners else (_middle(self.ohm),)

    def words(self, value: float) -> str:
        """A value, for people."""
        return f"{self.name or f'{self.a} to {self.b}'} {shown(value, 'Ω')}"


@dataclass(frozen=True, slots=True)
class Switch:
    """A button, a jack, a jumper: open, or ``r_on_ohm`` when closed.  ``states``: those it may be in.  Current from a to b."""

    a: str
    b: str
    r_on_ohm: Value
    states: tuple[Literal["open", "closed"], ...] = ("open", "closed")
    name: str = ""

    def __post_init__(self) -> None:
        _apart(self.a, self.b)
        positive(r_on_ohm=_ends(self.r_on_ohm))
        if not self.states or not set(self.states) <= {"open", "closed"}:
            raise OutOfRange(f"A switch is open, closed or either, not {self.states!r}.")

    def choices(self, corners: bool) -> tuple[float, ...]:
        """Values to try [ohm]; infinite where open."""
        closed = _ends(self.r_on_ohm) if corners else (_middle(self.r_on_ohm),)
        return ((math.inf,) if "open" in self.states else ()) + (closed if "closed" in self.states else ())

    def words(self, value: float) -> str:
        """A state, for people."""
        name = self.name or f"switch {self.a} to {self.b}"
        return f"{name} open" if math.isinf(value) else f"{name} closed ({shown(value, 'Ω')})"


@dataclass(frozen=True, slots=True)
class Leak:
    """A leakage that flows out of a node to ground (negative: into the node); a range from minus to plus is either way [A]."""

    node: str
    i_a: Value
    name: str = ""

    def __post_init__(self) -> None:
        finite(i_a=_ends(self.i_a))

    def choices(self, corners: bool) -> tuple[float, ...]:
        """Values to try [A]."""
        return _ends(self.i_a) if corners else (_middle(self.i_a),)

    def words(self, value: float) -> str:
        """A value, for people."""
        direction = "into" if value < 0 else "out of"
        return f"{self.name or 'leakage'} {shown(abs(value), 'A')} {direction} {self.node}"


@dataclass(frozen=True, slots=True)
class Supply:
    """A rail: a node held at a voltage [V].  Its current is what it gives to the network."""

    node: str
    v: Value
    name: str = ""

    def __post_init__(self) -> None:
        finite(v=_ends(self.v))
        if self.node == GROUND:
            raise OutOfRange(f"{GROUND} is 0 V and needs no supply.")

    def choices(self, corners: bool) -> tuple[float, ...]:
        """Values to try [V]."""
        return _ends(self.v) if corners else (_middle(self.v),)

    def words(self, value: float) -> str:
        """A value, for people."""
        return f"{self.name or self.node} {shown(value, 'V')}"


@dataclass(frozen=True, slots=True)
class Diode:
    """A junction: diode, LED, clamp of a pad, base and emitter.  Current from anode to cathode.

    ``i_s_a`` saturation current [A], ``n`` emission coefficient [-], ``r_s_ohm`` in series (0: none) [ohm];
    ``diode_through`` finds them from a forward voltage.
    """

    anode: str
    cathode: str
    i_s_a: Value
    n: float = 1.0
    r_s_ohm: float = 0.0
    name: str = ""

    def __post_init__(self) -> None:
        _apart(self.anode, self.cathode)
        positive(i_s_a=_ends(self.i_s_a), n=self.n)
        not_negative(r_s_ohm=self.r_s_ohm)

    def choices(self, corners: bool) -> tuple[float, ...]:
        """Values to try [A]; between two ends the usual one is their geometric mean, the middle of the forward voltages."""
        if not corners and isinstance(self.i_s_a, Range) and self.i_s_a.typ is None:
            return (math.sqrt(self.i_s_a.low) * math.sqrt(self.i_s_a.high),)
        return _ends(self.i_s_a) if corners else (_middle(self.i_s_a),)

    def words(self, value: float) -> str:
        """A value, for people: the forward voltage at 1 mA, without the series resistance."""
        v_v = self.n * V_THERMAL_V * math.log1p(1e-3 / value)
        return f"{self.name or f'diode {self.anode} to {self.cathode}'} {v_v:.3g} V at 1 mA"


Element = Resistor | Switch | Leak | Supply | Diode


def diode_through(v_f_v: float, i_f_a: float, n: float = 1.0, r_s_ohm: float = 0.0) -> float:
    """Saturation current of the junction that carries a current at a forward voltage.

    I_s = I_F / (e^((V_F - I_F R_s) / (n V_T)) - 1)   [Shockley]

    Parameters
    ----------
    v_f_v : forward voltage, series resistance included [V]
    i_f_a : forward current at it [A]
    n : emission coefficient: 1 to 2 for silicon, about 2 and more for LEDs [-]
    r_s_ohm : resistance in series [ohm]

    Returns
    -------
    i_s_a : saturation current [A]

    Raises
    ------
    OutOfRange : a value is not positive, the series resistance takes all the voltage, or the current is too small to compute with.

    >>> f"{diode_through(0.65, 1e-3):.2e}"
    '1.22e-14'
    """
    positive(v_f_v=v_f_v, i_f_a=i_f_a, n=n)
    not_negative(r_s_ohm=r_s_ohm)
    rest_v = v_f_v - i_f_a * r_s_ohm
    if rest_v <= 0:
        raise OutOfRange(f"{shown(r_s_ohm, 'Ω')} alone drops {shown(i_f_a * r_s_ohm, 'V')} of the {shown(v_f_v, 'V')}.")
    if rest_v > 300 * n * V_THERMAL_V:
        raise OutOfRange(f"{shown(v_f_v, 'V')} is no single junction with n = {n:g}: raise n, or put junctions in series.")
    return i_f_a / math.expm1(rest_v / (n * V_THERMAL_V))


def diode_between(anode: str, cathode: str, v_f: Value, i_f_a: float, n: float = 1.0, r_s_ohm: float = 0.0, name: str = "") -> Diode:
    """A diode known by its forward voltage, or the range of it, at one current.   [diode_through]

    Parameters
    ----------
    anode, cathode : nodes [-]
    v_f : forward voltage [V]
    i_f_a : current at it [A]
    n : emission coefficient [-]
    r_s_ohm : resistance in series [ohm]
    name : for currents and words [-]

    Returns
    -------
    diode : its saturation current is a range where the voltage is one

    Raises
    ------
    OutOfRange : see diode_through.

    >>> diode_between("pad", "3V3", Range(0.6, 0.8), 1e-3).choices(False)[0] == diode_through(0.7, 1e-3)
    True
    """
    if not isinstance(v_f, Range):
        return Diode(anode, cathode, diode_through(v_f, i_f_a, n, r_s_ohm), n, r_s_ohm, name)
    low, usual, high = (diode_through(v_v, i_f_a, n, r_s_ohm) for v_v in (v_f.high, v_f.middle, v_f.low))
    return Diode(anode, cathode, Range(low, high, usual), n, r_s_ohm, name)


def clamp_diodes(pad: str, rail: str, v_f: Value, i_f_a: float, ground: str = GROUND, n: float = 1.0) -> tuple[Diode, Diode]:
    """The two diodes of a pad, to its rail and from its ground: powered or not, they conduct.   [diode_between]"""
    return (
        diode_between(pad, rail, v_f, i_f_a, n, name=f"clamp {pad} to {rail}"),
        diode_between(ground, pad, v_f, i_f_a, n, name=f"clamp {ground} to {pad}"),
    )


@dataclass(frozen=True, slots=True)
class Network:
    """Elements, and the nodes they name.

    Raises OutOfRange in words for two supplies on one node or two elements of one name.
    """

    elements: tuple[Element, ...]

    def __post_init__(self) -> None:
        twice = [node for node, count in Counter(e.node for e in self.elements if isinstance(e, Supply)).items() if count > 1]
        if twice:
            raise OutOfRange(f"{twice[0]} has two supplies; join them by a resistor, or give one range.")
        named = [name for name, count in Counter(e.name for e in self.elements if e.name).items() if count > 1]
        if named:
            raise OutOfRange(f"Two elements are called {named[0]!r}; their currents could not be told apart.")

    @property
    def rails(self) -> tuple[str, ...]:
        """Nodes of known voltage, ground first."""
        return (GROUND, *(e.node for e in self.elements if isinstance(e, Supply)))

    @property
    def inner(self) -> tuple[str, ...]:
        """Nodes to solve for, in the order they are named."""
        seen = dict.fromkeys(node for element in self.elements for node in nodes_of(element))
        return tuple(node for node in seen if node not in self.rails)


def nodes_of(element: Element) -> tuple[str, ...]:
    """Nodes an element touches."""
    if isinstance(element, Resistor | Switch):
        return (element.a, element.b)
    return (element.anode, element.cathode) if isinstance(element, Diode) else (element.node,)


def _apart(a: str, b: str) -> None:
    if a == b:
        raise OutOfRange(f"Both ends of an element lie on {a}; it does nothing.")


def _ends(value: Value) -> tuple[float, ...]:
    if not isinstance(value, Range):
        return (float(value),)
    return (value.low,) if value.low == value.high else (value.low, value.high)


def _middle(value: Value) -> float:
    return value.middle if isinstance(value, Range) else float(value)
