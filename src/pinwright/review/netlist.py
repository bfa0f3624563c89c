"""Everything that hangs at one pin while no firmware runs, as a network to solve: resistors, lamps, junctions, leakages.

Nodes: ``pad`` (the chip), ``pin`` (the header, where a resistor on the board stands between), one for each part behind a
resistor of its circuit, the rails by their names.  Spreads: resistors of a circuit 5 %, those others fitted 20 %, a pull whose
limits nobody gives half to 1.6 times its value (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from pinwright.circuits.ranges import Range
from pinwright.review.common import has
from pinwright.review.network import LEAST_LOAD_A, USUAL_PULL_OHM
from pinwright.review.volts import leads_to_v, pulled_to_v

if TYPE_CHECKING:
    from pinwright.facts.model import Onboard
    from pinwright.fitting.interface import Element as Component
    from pinwright.fitting.places import BoardView, Place
    from pinwright.powerup.elements import Diode, Element, Leak, Resistor, Supply
    from pinwright.review.model import Wire
    from pinwright.review.moments import Does

__all__ = ["Standing", "at_pin", "base_of", "internal_pull_ohm", "rail_of", "solved", "span"]

RESISTOR_SPREAD, FITTED_SPREAD = 0.05, 0.2
PULL_SPREAD = (0.5, 1.6)
RAIL_SPREAD, FIVE_VOLT_SPREAD = 0.03, 0.05
"""Spread of a logic supply whose regulator is not known (common practice, no source), and of 5 V  [USB 2.0, 7.2.2]."""
LEAK_A = 1e-6
"""Leakage of a pad nobody gives a figure for [A] (common practice, no source)."""
JUNCTION_V, JUNCTION_A = Range(0.6, 0.7), 1e-3
"""Base and emitter of a small silicon transistor [V, A] (common practice, no source)."""
LAMP_V, LAMP_A, LAMP_N = Range(1.6, 3.2), 1e-3, 2.0
"""Lamp of a board, of any colour [V, A] (common practice, no source)."""
LAMP_OHM = Range(330.0, 5.1e3)
"""Resistor of such a lamp where nobody gives it: what boards with a known one carry."""

UNKNOWN_A = Range(0.0, 1.0)
"""Current of a load in a network of more corners than are solved one by one: taken for anything [A]."""

Netlist = tuple["Element", ...]


@dataclass(frozen=True, slots=True)
class Standing:
    """A solved network: bounds of nodes [V] (``None``: something leaves it floating) and of the load's current [A], if it has one."""

    v: dict[str, Range | None]
    i_load: Range | None

    def at(self, node: str) -> Range | None:
        """Voltage of a node [V]; ``None`` where it floats or is not there."""
        return self.v.get(node)


@lru_cache(maxsize=8192)
def solved(netlist: Netlist) -> Standing:
    """Bounds over all corners.  The same network is solved once, on whichever board it turns up.   [powerup.nodal]"""
    from pinwright.powerup.elements import Leak, Network, Supply
    from pinwright.powerup.nodal import solve

    if all(isinstance(element, Leak | Supply) for element in netlist):
        return Standing({}, None)  # nothing holds anything
    network = Network(netlist)
    found = solve(network)
    has_load = any(element.name == "load" for element in netlist)
    i_load = (UNKNOWN_A if found.corners.is_tied else found.i("load")) if has_load else None
    return Standing({node: found.v(node) for node in network.inner}, i_load)


def span(volts: Range) -> str:
    """A voltage over all corners, for people; what leakage alone draws below ground counts as ground."""
    low, high = max(volts.low, 0.0), max(volts.high, 0.0)
    return f"{low:.2f} to {high:.2f} V" if high - low > 0.005 else f"{high:.2f} V"


def at_pin(wires: Iterable[Wire], place: Place, view: BoardView, does: Does, *, exact: bool = False, loading: bool = False) -> Netlist:
    """Elements at a pin in one state of its pad.

    Parameters
    ----------
    wires : what is connected there [-]
    place : the pin [-]
    view : the board [-]
    does : state of the pad; hi-Z or one of its own pulls [-]
    exact : the board's supply at its usual value, for levels that follow it [-]
    loading : count a load without a known circuit as a resistor that may or may not be there [-]
    """
    from pinwright.powerup.elements import GROUND

    logic_v = view.board.logic_v
    rail = rail_of(view)
    rails = {"board": _supply("board", logic_v, logic_v) if exact else _supply("board", rail.low, rail.high)}
    found: list[Element] = []
    if does in ("pull-up", "pull-down"):
        own = internal_pull_ohm(view, does.removeprefix("pull-"))
        found.append(_spread("board" if does == "pull-up" else GROUND, "pad", own.low, own.high))
    leak = view.chip.electrical.i_leak_max_a
    found.append(_leak((leak.value or leak.max or LEAK_A) if leak else LEAK_A))
    found += _on_board(place)
    for number, wire in enumerate(wires):
        for element, rail_v in _of_wire(wire, view, f"part {number}", loading):
            found.append(element)
            if rail_v:
                rails[f"{rail_v:g} V"] = _supply(f"{rail_v:g} V", rail_v * (1 - FIVE_VOLT_SPREAD), rail_v * (1 + FIVE_VOLT_SPREAD))
    return (*rails.values(), *_merged(found))


def _merged(found: list[Element]) -> Iterator[Element]:
    """The same with resistors side by side made one: a bus may carry a pull-up for each of its parts, and corners double with each."""
    from pinwright.powerup.elements import Resistor

    if sum(isinstance(element, Resistor) for element in found) < 2:
        yield from found
        return
    beside: dict[frozenset[str], list[Resistor]] = {}
    for element in found:
        if isinstance(element, Resistor):
            beside.setdefault(frozenset((element.a, element.b)), []).append(element)
        else:
            yield element
    for each in beside.values():
        ends = [resistor.choices(True) for resistor in each]
        if len(each) == 1:
            yield each[0]
        else:
            low, high = (1 / sum(1 / ohm for ohm in ohms) for ohms in ([end[0] for end in ends], [end[-1] for end in ends]))
            yield Resistor(each[0].a, each[0].b, Range(low, high))


def rail_of(view: BoardView) -> Range:
    """The board's logic supply over the tolerance of what makes it [V]."""
    if view.rail is not None:
        return view.rail
    logic_v = view.board.logic_v
    known = [each.tolerance for each in view.board.regulator if abs(each.v_out_v - logic_v) < 0.05]
    return _around(logic_v, FIVE_VOLT_SPREAD if logic_v >= 4.5 else max(known, default=RAIL_SPREAD))


@lru_cache(maxsize=256)
def _around(value: float, spread: float) -> Range:
    return Range.around(value, spread)


def internal_pull_ohm(view: BoardView, direction: str) -> Range:
    """The chip's own pull over its spread [ohm]; that of the other direction where this one is not given."""
    electrical = view.chip.electrical
    facts = [electrical.pull_up_ohm, electrical.pull_down_ohm]
    fact = next((each for each in (facts if direction == "up" else facts[::-1]) if each is not None), None)
    if fact is None:
        return Range(20e3, 100e3)
    middle = fact.value or fact.typ or fact.min or fact.max or 45e3
    return Range(
        fact.min if fact.min is not None else middle * PULL_SPREAD[0],
        fact.max if fact.max is not None else middle * PULL_SPREAD[1],
    )


# The same few elements turn up on every board: each is made and checked once.


def _resistor(a: str, b: str, ohm: float, spread: float) -> Resistor:
    return _spread(a, b, ohm * (1 - spread), ohm * (1 + spread))


@lru_cache(maxsize=4096)
def _spread(a: str, b: str, low_ohm: float, high_ohm: float) -> Resistor:
    from pinwright.powerup.elements import Resistor

    return Resistor(a, b, Range(low_ohm, high_ohm))


@lru_cache(maxsize=256)
def _supply(node: str, low_v: float, high_v: float) -> Supply:
    from pinwright.powerup.elements import Supply

    return Supply(node, low_v if low_v == high_v else Range(low_v, high_v))


@lru_cache(maxsize=256)
def _leak(amps: float) -> Leak:
    from pinwright.powerup.elements import Leak

    return Leak("pad", Range(-amps, amps))


@lru_cache(maxsize=1024)
def _junction(anode: str, cathode: str, v_f: Range, i_f_a: float, n: float = 1.0, name: str = "") -> Diode:
    from pinwright.powerup.elements import diode_between

    return diode_between(anode, cathode, v_f, i_f_a, n, name=name)


# ------------------------------------------------------------------------------ on the board


def _on_board(place: Place) -> Iterator[Element]:
    from pinwright.powerup.elements import GROUND

    for item in place.onboard:
        if item.what in ("pull-up", "pull-down"):
            rail = "board" if item.what == "pull-up" else GROUND
            yield _resistor(rail, "pad", item.ohm or USUAL_PULL_OHM, FITTED_SPREAD)
        elif item.what in ("led", "rgb-led"):
            yield from _lamp(item)
        elif item.what == "divider" and item.r_top_ohm and item.r_bottom_ohm:
            yield _resistor("pad", GROUND, item.r_top_ohm + item.r_bottom_ohm, FITTED_SPREAD)


def _lamp(item: Onboard) -> Iterator[Element]:
    """A lamp that hangs on the pad itself; one without any resistor and rail is driven by an amplifier and takes nothing."""
    from pinwright.powerup.elements import GROUND, Resistor

    if (item.what == "led" and not (item.series_ohm or item.ohm or item.to)) or (item.what == "rgb-led" and not item.series_ohm):
        return
    series = item.series_ohm or item.ohm
    ohm = Range.around(series, FITTED_SPREAD) if series else LAMP_OHM
    if item.active == "high":
        yield Resistor("pad", "lamp", ohm)
        yield _junction("lamp", GROUND, LAMP_V, LAMP_A, LAMP_N)
    elif item.active == "low":
        yield Resistor("pad", "lamp", ohm)
        yield _junction("board", "lamp", LAMP_V, LAMP_A, LAMP_N)


# ------------------------------------------------------------------------------ circuit and part


def base_of(wire: Wire) -> float | None:
    """Base resistor of the circuit's transistor [ohm], ``None`` where it has none."""
    driver = wire.circuit.of("driver")
    return next((piece.value for piece in driver.pieces if piece.role == "base"), None) if driver else None


def _of_wire(wire: Wire, view: BoardView, node: str, loading: bool) -> Iterator[tuple[Element, float | None]]:
    """Elements of one wire, each with the voltage of its rail where that is not the board's [V]."""
    from pinwright.powerup.elements import GROUND

    asks, behind = wire.line.asks, "pad"
    for element in wire.circuit.elements:
        if element.kind in ("pull-up", "pull-down"):
            yield _pull(element, wire, view)
        elif element.kind == "series resistor" and element.ohm:
            behind = node
            yield _resistor("pad", node, element.ohm, RESISTOR_SPREAD), None
        elif element.kind == "divider" and element.ohm:
            behind = node
            yield _resistor("pad", node, element.ohm, RESISTOR_SPREAD), None
            lower_ohm = next((piece.value for piece in element.pieces if piece.role == "lower"), None)
            if lower_ohm:
                yield _resistor("pad", GROUND, lower_ohm, RESISTOR_SPREAD), None
    if has(wire.circuit, "level shifter"):
        return  # what is behind it does not reach the pin
    if asks.pull_fitted is not None:
        volts = pulled_to_v(asks, view)
        rail, away = ("board", None) if abs(volts - view.board.logic_v) < 0.05 else (f"{volts:g} V", volts)
        up = asks.pull_fitted.direction == "up"
        yield _resistor(rail if up else GROUND, behind, asks.pull_fitted.ohm or USUAL_PULL_OHM, FITTED_SPREAD), (away if up else None)
    base_ohm = base_of(wire)
    if base_ohm is not None:
        yield _resistor("pad", f"base {node}", base_ohm, RESISTOR_SPREAD), None
        yield _junction(f"base {node}", GROUND, JUNCTION_V, JUNCTION_A), None
    elif asks.load is not None and asks.load.stage == "pin" and asks.load.vf_min_v and asks.load.vf_max_v:
        ends = ("board", behind) if asks.safe_level in ("high", "released") else (behind, GROUND)
        name = "load" if node == "part 0" else ""
        yield _junction(*ends, Range(asks.load.vf_min_v, asks.load.vf_max_v), asks.load.i_a, LAMP_N, name=name), None
    elif loading:
        yield from _unknown_load(wire, view, behind)


def _pull(element: Component, wire: Wire, view: BoardView) -> tuple[Element, float | None]:
    from pinwright.powerup.elements import GROUND

    ohm = element.ohm or USUAL_PULL_OHM
    if element.kind == "pull-down":
        return _resistor(GROUND, "pad", ohm, RESISTOR_SPREAD), None
    volts = leads_to_v(element, wire.line.asks, view)
    away = abs(volts - view.board.logic_v) >= 0.05
    return _resistor(f"{volts:g} V" if away else "board", "pad", ohm, RESISTOR_SPREAD), (volts if away else None)


def _unknown_load(wire: Wire, view: BoardView, behind: str) -> Iterator[tuple[Element, float | None]]:
    """A load that takes current towards its safe level: it may spoil a level, but is not trusted to make one."""
    from pinwright.powerup.elements import GROUND, Switch

    asks = wire.line.asks
    if asks.direction != "out" or asks.i_in_a < LEAST_LOAD_A or asks.safe_level not in ("high", "low") or has(wire.circuit, "driver"):
        return
    yield Switch("board" if asks.safe_level == "high" else GROUND, behind, view.board.logic_v / asks.i_in_a), None
