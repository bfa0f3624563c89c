"""Networks of a wire at power-up against ngspice, corner by corner (kind: oracle).

Voltages within 0.5 % of the highest rail, currents within 0.5 % (or 10 nA), times within 2 %.  Values are what boards of this
kind carry: pulls inside chips 30 to 80 kΩ, resistors of 5 %, clamps 0.6 to 0.8 V at 1 mA (common practice, no source).
"""

from __future__ import annotations

import itertools

import pytest
from ngspice import Sheet

from pinwright.circuits.ranges import Range
from pinwright.powerup.elements import (
    GROUND,
    Diode,
    Leak,
    Network,
    Resistor,
    Supply,
    Switch,
    clamp_diodes,
    diode_between,
    nodes_of,
)
from pinwright.powerup.nodal import Solution, settle, solve

pytestmark = pytest.mark.usefixtures("needs_ngspice")

SHARE = 0.005
TIMES = 0.02
OPEN_OHM = 1e12
"""An open switch for the simulator, which must not lose its node."""

V33, V5 = Range(3.1, 3.5), Range(4.75, 5.25)
INTERNAL = Range(30e3, 80e3)
LEAK = Range(-1e-6, 1e-6)
CLAMP = Range(0.6, 0.8)


def five(ohm: float) -> Range:
    return Range.around(ohm, 0.05)


TOPOLOGIES = {
    "divider": (Supply("5V", V5), Resistor("5V", "pad", five(10e3), "top"), Resistor("pad", GROUND, five(20e3)), Leak("pad", LEAK)),
    "three pulls": (
        Supply("3V3", V33),
        Supply("5V", V5),
        Resistor("3V3", "pad", INTERNAL, "internal"),
        Resistor("5V", "pad", five(10e3)),
        Resistor("pad", GROUND, five(4700.0), "down"),
        Leak("pad", LEAK),
    ),
    "line into an unpowered board": (
        Supply("5V", V5),
        Resistor("5V", "line", five(10e3)),
        Resistor("line", "pad", five(1e3), "series"),
        Resistor("rail", GROUND, Range(500.0, 20e3), "load"),
        Resistor("pad", GROUND, five(100e3)),
        *clamp_diodes("pad", "rail", CLAMP, 1e-3),
        Leak("pad", LEAK),
    ),
    "clamp to a rail that is held at nothing": (
        Supply("5V", V5),
        Supply("rail", 0.0, "rail"),
        Resistor("5V", "pad", five(1e3), "series"),
        *clamp_diodes("pad", "rail", CLAMP, 1e-3),
    ),
    "lamp and resistor on a pulled pad": (
        Supply("3V3", V33),
        Resistor("3V3", "mid", five(330.0)),
        diode_between("mid", "pad", Range(1.8, 2.2), 10e-3, 2.0, 10.0, "lamp"),
        Resistor("pad", GROUND, INTERNAL, "internal"),
        Leak("pad", LEAK),
    ),
    "lamp to ground on a pad pulled up": (
        Supply("3V3", V33),
        Resistor("3V3", "pad", INTERNAL, "internal"),
        Resistor("pad", "mid", five(1e3)),
        diode_between("mid", GROUND, Range(1.8, 2.2), 10e-3, 2.0, name="lamp"),
        Leak("pad", LEAK),
    ),
    "base behind 1 kΩ with a pull-down, against an internal pull-up": (
        Supply("3V3", V33),
        Resistor("3V3", "pad", INTERNAL, "internal"),
        Resistor("pad", "base", five(1e3)),
        Resistor("base", GROUND, five(10e3)),
        diode_between("base", GROUND, Range(0.6, 0.8), 1e-3, name="base current"),
        Leak("pad", LEAK),
    ),
    "optocoupler from 5 V against a 3.3 V pad": (
        Supply("5V", V5),
        Supply("3V3", V33, "3V3"),
        Resistor("5V", "anode", five(1e3)),
        diode_between("anode", "pad", Range(1.0, 1.4), 10e-3, 1.6, name="opto"),
        Resistor("pad", GROUND, five(10e3), "down"),
        *clamp_diodes("pad", "3V3", CLAMP, 1e-3),
        Leak("pad", LEAK),
    ),
    "button, pressed or not": (
        Supply("3V3", V33),
        Resistor("3V3", "pad", INTERNAL),
        Resistor("pad", "key", five(1e3), "series"),
        Switch("key", GROUND, Range(0.05, 200.0), name="button"),
        Resistor("key", GROUND, five(1e6)),
        Leak("pad", LEAK),
    ),
    "strap between two buttons": (
        Supply("3V3", V33),
        Resistor("3V3", "strap", five(10e3)),
        Switch("strap", GROUND, 100.0, name="boot"),
        Resistor("strap", "b", five(470.0), "link"),
        Switch("3V3", "b", 100.0, name="other"),
        Leak("strap", LEAK),
    ),
}


def simulate(network: Network, found: Solution, currents: list[str]) -> tuple[list[dict[str, float]], list[dict[str, float]]]:
    """Every corner in ngspice, side by side: voltages and currents as asked."""
    sheet = Sheet()
    for corner in range(found.corners.count):
        at = {GROUND: "0"} | {node: sheet.node() for node in found.nodes if node != GROUND}
        for column, element in enumerate(network.elements):
            value = float(found.corners.value[corner, column])
            first, *rest = nodes_of(element)
            start = at[first]
            if element.name in currents and not isinstance(element, Supply):
                start = sheet.node()
                sheet.ask(f"i{corner}_{currents.index(element.name)}", f"i({sheet.meter(at[first], start)})")
            if isinstance(element, Resistor | Switch):
                sheet.resistor(start, at[rest[0]], min(value, OPEN_OHM))
            elif isinstance(element, Leak):
                sheet.leak(start, value)
            elif isinstance(element, Diode):
                model = f"m{corner}_{column}"
                sheet.model(f"{model} d(is={value:.12g} n={element.n:.12g} rs={element.r_s_ohm:.12g})")
                sheet.add("D", start, at[rest[0]], model)
            else:
                source = sheet.add("V", start, "0", f"dc {value:.12g}")
                if element.name in currents:
                    sheet.ask(f"i{corner}_{currents.index(element.name)}", f"-i({source})")
        for number, node in enumerate(found.nodes):
            if node != GROUND:
                sheet.ask(f"v{corner}_{number}", f"v({at[node]})")
    said = sheet.at_dc()
    count = range(found.corners.count)
    volts = [{node: said[f"v{corner}_{k}"] for k, node in enumerate(found.nodes) if node != GROUND} for corner in count]
    return volts, [{name: said[f"i{corner}_{k}"] for k, name in enumerate(currents)} for corner in count]


@pytest.mark.parametrize("name", TOPOLOGIES)
def test_every_corner_agrees(name: str) -> None:
    network = Network(TOPOLOGIES[name])
    found = solve(network)
    currents = list(found.i_element)
    volts, amperes = simulate(network, found, currents)
    highest = max(abs(float(e.choices(True)[-1])) for e in network.elements if isinstance(e, Supply))
    checked = 0
    for corner, (v_said, i_said) in enumerate(zip(volts, amperes, strict=True)):
        for at, node in enumerate(found.nodes):
            if node != GROUND and found.is_held[corner, at]:
                assert found.v_node[corner, at] == pytest.approx(v_said[node], abs=SHARE * highest), found.corners.words(corner)
                checked += 1
        for label in currents:
            assert found.i_element[label][corner] == pytest.approx(i_said[label], rel=SHARE, abs=10e-9), found.corners.words(corner)
    assert checked >= found.corners.count * (len(found.nodes) - 2)  # one node may float where a switch is open


@pytest.mark.parametrize("name", TOPOLOGIES)
def test_the_bounds_are_the_corners_of_ngspice(name: str) -> None:
    network = Network(TOPOLOGIES[name])
    found = solve(network)
    volts, _ = simulate(network, found, [])
    for node in found.nodes:
        bounds = found.v(node)
        if node != GROUND and bounds is not None:
            assert bounds.low == pytest.approx(min(v[node] for v in volts), rel=SHARE, abs=1e-3)
            assert bounds.high == pytest.approx(max(v[node] for v in volts), rel=SHARE, abs=1e-3)


CHARGING = {
    "reset with its capacitor": ((Supply("3V3", V33), Resistor("3V3", "en", five(10e3))), 0.0, 2.0),
    "divider": ((Supply("5V", V5), Resistor("5V", "en", five(10e3)), Resistor("en", GROUND, five(20e3))), 0.0, 2.5),
    "two pulls through a resistor": (
        (Supply("3V3", V33), Resistor("3V3", "mid", INTERNAL), Resistor("mid", GROUND, five(100e3)), Resistor("mid", "en", five(1e3))),
        0.0,
        1.2,
    ),
    "falling": ((Supply("3V3", Range(0.0, 0.2)), Resistor("3V3", "en", five(10e3)), Leak("en", LEAK)), 3.3, 0.8),
}


@pytest.mark.parametrize("name", CHARGING)
def test_times_agree(name: str) -> None:
    elements, start_v, level_v = CHARGING[name]
    network, c = Network(elements), Range(80e-9, 120e-9)
    claim = settle(network, "en", c, start_v, level_v).t_s
    assert claim is not None
    corners = solve(network).corners
    sheet = Sheet()
    for number, (corner, c_f) in enumerate(itertools.product(range(corners.count), (c.low, c.high))):
        at = {GROUND: "0"} | {node: sheet.node() for node in (*network.rails[1:], *network.inner)}
        for element, value in zip(network.elements, corners.value[corner], strict=True):
            nodes = [at[node] for node in nodes_of(element)]
            if isinstance(element, Supply):
                sheet.add("V", nodes[0], "0", f"dc {value:.12g}")
            elif isinstance(element, Leak):
                sheet.leak(nodes[0], float(value))
            else:
                sheet.resistor(*nodes, float(value))
        sheet.capacitor(at["en"], 0, c_f, start_v)
        edge = "rise" if level_v > start_v else "fall"
        sheet.measure(f"t{number}", f"when v({at['en']})={level_v:.12g} {edge}=1")
    times = sheet.over_time(1.5 * claim.high, from_states=True).values()
    assert claim.low == pytest.approx(min(times), rel=TIMES)
    assert claim.high == pytest.approx(max(times), rel=TIMES)
