"""The solver of small networks: closed forms, properties, floating nodes, words.  Against ngspice: test_nodal_spice.py."""

from __future__ import annotations

import itertools
import math
import subprocess
import sys
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.circuits.dividers import divider_out
from pinwright.circuits.ranges import Range, over
from pinwright.errors import OutOfRange
from pinwright.powerup.elements import (
    GROUND,
    V_THERMAL_V,
    Diode,
    Leak,
    Network,
    Resistor,
    Supply,
    Switch,
    clamp_diodes,
    diode_between,
    diode_through,
)
from pinwright.powerup.nodal import CORNERS_MAX, divider_bounds, settle, solve

OHM = st.floats(10.0, 1e6)
VOLT = st.floats(-5.0, 15.0)
NODES = ("a", "b", "c")


def widened(value: float, share: float) -> Range:
    return Range(*sorted((value * (1 - share), value * (1 + share))))


@st.composite
def networks(draw: st.DrawFn, exact: bool = False) -> Network:
    """Two rails and three nodes in a chain, with cross links: always held, never a tree."""
    tolerance = 0.0 if exact else draw(st.floats(0.0, 0.3))
    elements: list[Supply | Resistor | Leak] = [Supply("v1", widened(draw(VOLT), tolerance / 3)), Supply("v2", draw(VOLT))]
    for a, b in (("v1", "a"), ("a", "b"), ("b", "c"), ("c", GROUND), ("b", "v2"), ("a", "c")):
        elements.append(Resistor(a, b, widened(draw(OHM), tolerance)))
    elements.append(Leak("b", Range(-1e-6, draw(st.floats(-1e-6, 1e-5)))))
    return Network(tuple(elements))


def inside(network: Network, draw: np.random.Generator) -> Network:
    """The same network at a random point of its ranges."""
    fixed = []
    for element in network.elements:
        low, *rest = element.choices(True)
        value = draw.uniform(low, rest[-1] if rest else low)
        if isinstance(element, Supply):
            fixed.append(Supply(element.node, value))
        elif isinstance(element, Leak):
            fixed.append(Leak(element.node, value))
        else:
            assert isinstance(element, Resistor)
            fixed.append(Resistor(element.a, element.b, value))
    return Network(tuple(fixed))


# ------------------------------------------------------------------------------ closed forms


def test_divider_with_leakage_is_the_textbooks() -> None:
    # oracle: circuits.dividers, itself held against ngspice
    v, top, bottom, leak = Range(3.1, 3.5), Range.around(47e3, 0.05), Range.around(100e3, 0.05), Range(-1e-6, 1e-6)
    found = solve(Network((Supply("3V3", v), Resistor("3V3", "pad", top), Resistor("pad", GROUND, bottom), Leak("pad", leak)))).v("pad")
    claimed = over(divider_out, v_in_v=v, top_ohm=top, bottom_ohm=bottom, i_leak_a=leak)
    assert found is not None
    assert (found.low, found.high) == pytest.approx((claimed.low, claimed.high))


def test_bridge_of_textbooks() -> None:
    # worked by hand: 10 V, arms 1k/2k and 2k/1k, bridge 1k.  By symmetry v_a = 10 - v_b, and
    # (10 - v_a)/1k = v_a/2k + (v_a - v_b)/1k gives v_a = 40/7 V
    arms = (("in", "a", 1e3), ("a", GROUND, 2e3), ("in", "b", 2e3), ("b", GROUND, 1e3))
    elements = [Supply("in", 10.0, "in"), *(Resistor(a, b, ohm) for a, b, ohm in arms), Resistor("a", "b", 1e3, "bridge")]
    found = solve(Network(tuple(elements)))
    assert found.v_node[0, found.nodes.index("a")] == pytest.approx(40 / 7)
    assert found.i("bridge").low == pytest.approx(10e-3 / 7)
    assert found.i("in").low == pytest.approx((10 - 40 / 7) / 1e3 + (10 - 30 / 7) / 2e3)


def test_a_lone_diode_obeys_its_law() -> None:
    # oracle: the current that solves I = I_s (e^((V - I (R + R_s)) / (n V_T)) - 1), by halving
    for r_s_ohm, i_s_a, n, v_v in itertools.product((0.0, 10.0), (1e-15, 1e-9), (1.0, 2.0), (0.3, 3.3, 24.0)):
        network = Network((Supply("in", v_v), Resistor("in", "x", 1e3, "r"), Diode("x", GROUND, i_s_a, n, r_s_ohm, "d")))
        low, high = 0.0, v_v / 1e3
        for _ in range(200):
            i = (low + high) / 2
            v_drop = min(v_v - i * (1e3 + r_s_ohm), 700 * n * V_THERMAL_V)
            low, high = (i, high) if i_s_a * math.expm1(v_drop / (n * V_THERMAL_V)) > i else (low, i)
        found = solve(network)
        assert found.i("d").low == pytest.approx(low, rel=1e-5, abs=1e-11)
        assert found.i("r").low == pytest.approx(found.i("d").low, rel=1e-5, abs=1e-11)  # Kirchhoff


def test_a_fitted_junction_carries_what_it_was_fitted_to() -> None:
    diode = Diode("x", GROUND, diode_through(1.9, 2e-3, 2.0, 20.0), 2.0, 20.0, "led")
    found = solve(Network((Supply("in", 3.9), Resistor("in", "x", 1e3), diode)))
    assert found.i("led").low == pytest.approx(2e-3, rel=1e-6)  # (3.9 V - 1.9 V) / 1 kΩ


def test_a_clamp_lifts_an_unpowered_rail_and_holds_the_pad() -> None:
    # a 5 V line through 1 kΩ into a pad whose 3.3 V rail is off and loaded with 10 kΩ: the rail comes up to about
    # 5 V - drop, shared 1:10; the drop is what the fit says at this current
    clamps = clamp_diodes("pad", "rail", Range(0.6, 0.8), 1e-3)
    found = solve(Network((Supply("5V", 5.0), Resistor("5V", "pad", 1e3), Resistor("rail", GROUND, 10e3, "load"), *clamps)))
    rail, pad = found.v("rail"), found.v("pad")
    assert rail is not None
    assert pad is not None
    for bounds, v_drop in ((rail.high, 0.6), (rail.low, 0.8)):
        i_a = (5 - v_drop) / 11e3
        assert bounds == pytest.approx(10e3 * i_a, abs=0.03)
    assert 0.55 < pad.low - rail.high < pad.high - rail.low + 0.3


# ------------------------------------------------------------------------------ properties


@given(networks(exact=True), st.tuples(VOLT, VOLT))
@settings(max_examples=50, deadline=None)
def test_linear_networks_superpose(network: Network, more: tuple[float, float]) -> None:
    def with_rails(v1: float, v2: float, i_a: float) -> np.ndarray:
        rest = [e for e in network.elements if isinstance(e, Resistor)]
        found = solve(Network((Supply("v1", v1), Supply("v2", v2), *rest, Leak("b", i_a))))
        return np.array([found.v_node[0, found.nodes.index(node)] for node in NODES])

    together = with_rails(more[0], more[1], 1e-5)
    parts = with_rails(more[0], 0.0, 0.0) + with_rails(0.0, more[1], 0.0) + with_rails(0.0, 0.0, 1e-5)
    assert together == pytest.approx(parts, rel=1e-9, abs=1e-9)


@given(networks(), st.integers(0, 2**32 - 1))
@settings(max_examples=100, deadline=None)
def test_bounds_hold_every_point_inside(network: Network, seed: int) -> None:
    bounds = solve(network)
    point = solve(inside(network, np.random.default_rng(seed)))
    for node in NODES:
        around, exact = bounds.v(node), point.v(node)
        assert around is not None
        assert exact is not None
        assert around.low - 1e-9 <= exact.low <= around.high + 1e-9


@given(st.tuples(OHM, OHM, OHM), st.floats(0.0, 0.3), st.floats(0.0, 5.5), st.integers(0, 2**32 - 1))
@settings(max_examples=100, deadline=None)
def test_bounds_hold_every_point_inside_with_junctions(ohms: tuple[float, ...], tolerance: float, v_v: float, seed: int) -> None:
    def network(v: Range, values: list[Range], v_f: Range, leak: Range) -> Network:
        wires = (("in", "pad"), ("pad", GROUND), ("rail", GROUND))
        resistors = [Resistor(a, b, ohm) for (a, b), ohm in zip(wires, values, strict=True)]
        return Network((Supply("in", v), *resistors, *clamp_diodes("pad", "rail", v_f, 1e-3), Leak("pad", leak)))

    ranges = [widened(v_v, tolerance), *(widened(ohm, tolerance) for ohm in ohms), Range(0.6, 0.8), Range(-1e-6, 1e-6)]
    draw = np.random.default_rng(seed)
    points = [Range(x, x) for x in (draw.uniform(r.low, r.high) for r in ranges)]
    bounds, point = (solve(network(r[0], r[1:4], r[4], r[5])) for r in (ranges, points))
    for node in ("pad", "rail"):
        around, exact = bounds.v(node), point.v(node)
        assert around is not None
        assert exact is not None
        assert around.low - 1e-6 <= exact.low <= around.high + 1e-6


@given(OHM, OHM, st.floats(0.1, 0.99), VOLT.filter(lambda v: v >= 0), st.booleans())
@settings(max_examples=100, deadline=None)
def test_more_pull_down_never_raises_the_voltage(up: float, down: float, less: float, v_v: float, has_lamp: bool) -> None:
    lamp = (Diode("mid", "pad", 1e-18, 2.0), Resistor("rail", "mid", 1e3)) if has_lamp else ()

    def pad(down_ohm: float) -> float:
        found = solve(Network((Supply("rail", v_v), Resistor("rail", "pad", up), Resistor("pad", GROUND, down_ohm), *lamp))).v("pad")
        assert found is not None
        return found.high

    assert pad(down * less) <= pad(down) + 1e-6


@given(networks(exact=True))
@settings(max_examples=50, deadline=None)
def test_what_flows_into_a_node_flows_out(network: Network) -> None:
    named = [
        Resistor(e.a, e.b, e.ohm, f"r{k}") if isinstance(e, Resistor) else Leak(e.node, e.i_a, "leak") if isinstance(e, Leak) else e
        for k, e in enumerate(network.elements)
    ]
    found = solve(Network((*named, Diode("c", "a", 1e-14, name="d"))))
    i = found.i_element
    assert i["r2"] + i["d"] == pytest.approx(i["r3"] + i["r7"], rel=1e-5, abs=1e-8)  # a
    assert i["r3"] == pytest.approx(i["r4"] + i["r6"] + i["leak"], rel=1e-5, abs=1e-8)  # b


@given(
    st.lists(st.tuples(OHM, st.floats(0.0, 0.5), VOLT, st.floats(0.0, 1.0)), min_size=1, max_size=5),
    st.tuples(st.floats(-1e-4, 1e-4), st.floats(0.0, 1e-4)),
)
@settings(max_examples=200, deadline=None)
def test_the_closed_form_equals_all_corners(pulls: list[tuple[float, ...]], leak: tuple[float, float]) -> None:
    branches = [(ohm * (1 - share), ohm * (1 + share), v, v + more) for ohm, share, v, more in pulls]
    elements: list[Supply | Resistor | Leak] = [Leak("x", Range(leak[0], leak[0] + leak[1]))]
    for number, (ohm_low, ohm_high, v_low, v_high) in enumerate(branches):
        elements += [Supply(f"rail {number}", Range(v_low, v_high)), Resistor(f"rail {number}", "x", Range(ohm_low, ohm_high))]
    full = solve(Network(tuple(elements))).v("x")
    fast = divider_bounds(branches, leak[0], leak[0] + leak[1])
    assert full is not None
    assert fast is not None
    assert fast == pytest.approx((full.low, full.high), rel=1e-9, abs=1e-9)


@given(networks())
@settings(max_examples=25, deadline=None)
def test_taking_rails_and_leakages_together_changes_no_bound(network: Network) -> None:
    # twelve more supplies on resistors of one value: above the limit, so they are tied
    more = [e for k in range(12) for e in (Supply(f"s{k}", Range(0.0, 1.0 + k)), Resistor(f"s{k}", NODES[k % 3], 1e5))]
    tied = solve(Network((*network.elements, *more)))
    assert tied.corners.is_tied
    for end, pick in (("low", min), ("high", max)):
        ends = [Supply(e.node, pick(e.choices(True))) if isinstance(e, Supply) else e for e in more]
        exact = solve(Network((*network.elements, *ends)))
        assert not exact.corners.is_tied
        for node in NODES:
            assert getattr(tied.v(node), end) == pytest.approx(getattr(exact.v(node), end), abs=1e-9)
    with pytest.raises(OutOfRange, match="only voltages have bounds, not the current of x"):
        tied.i("x")


# ------------------------------------------------------------------------------ floating


def test_a_node_without_a_way_to_a_rail_floats() -> None:
    found = solve(Network((Supply("3V3", 3.3), Resistor("3V3", "a", 1e4), Resistor("b", "c", 1e3), Leak("b", Range(-1e-6, 1e-6)))))
    assert found.v("b") is None
    assert found.node["c"].v_held is None
    assert found.v("a") == Range(3.3, 3.3)
    assert np.isfinite(found.v_node).all()
    assert not found.is_held[:, found.nodes.index("b")].any()


def test_an_open_button_lets_its_line_float_and_says_so() -> None:
    found = solve(Network((Switch("key", GROUND, 100.0, name="button"), Leak("key", 1e-6)))).node["key"]
    assert found.v is None
    assert found.floats_when == "button open"
    assert found.v_held is not None
    assert found.v_held.low == pytest.approx(-1e-4)


def test_clamps_alone_do_not_hold_a_pad() -> None:
    found = solve(Network((Supply("3V3", 3.3), *clamp_diodes("pad", "3V3", 0.7, 1e-3), Leak("pad", Range(-1e-6, 1e-6)))))
    assert found.v("pad") is None
    assert np.isfinite(found.v_node).all()


def test_a_pad_behind_a_lamp_only_floats() -> None:
    lamp = diode_between("mid", "pad", 2.0, 10e-3, 2.0)
    network = (Supply("3V3", 3.3), Resistor("3V3", "mid", 330.0), lamp, Leak("pad", Range(-1e-6, 1e-6)))
    assert solve(Network(network)).v("pad") is None
    held = solve(Network((*network, Resistor("pad", GROUND, 10e3)))).v("pad")
    assert held is not None
    assert held.low > 1.0  # the lamp pulls it up against 10 kΩ


def test_the_middle_of_two_conducting_junctions_is_held() -> None:
    lamps = (Diode("a", "b", 1e-12), Diode("b", GROUND, 1e-12))
    found = solve(Network((Supply("in", 5.0), Resistor("in", "a", 1e3), *lamps)))
    a, b = found.v("a"), found.v("b")
    assert a is not None
    assert b is not None
    assert a.low == pytest.approx(2 * b.low, rel=1e-6)  # by symmetry


def test_a_network_of_rails_only_has_nothing_to_solve() -> None:
    found = solve(Network((Supply("3V3", 3.3, "3V3"), Resistor("3V3", GROUND, 330.0, "load"))))
    assert found.v("3V3") == Range(3.3, 3.3)
    assert found.i("3V3").low == found.i("load").low == pytest.approx(10e-3)


def test_widely_different_resistances_are_not_singular() -> None:
    found = solve(Network((Supply("in", 3.3), Resistor("in", "a", 1e-3), Resistor("a", "b", 1e-3), Resistor("b", GROUND, 1e9))))
    assert found.v("b") is not None
    assert found.v("b").high == pytest.approx(3.3)  # type: ignore[union-attr]


# ------------------------------------------------------------------------------ capacitor


def test_a_supervisors_textbook_delay() -> None:
    # R C ln(V / (V - V_th)), worked by hand: 10 kΩ, 1 µF, 0.75 V of 1 V: 10 ms · ln 4
    rc = Network((Supply("v", 1.0), Resistor("v", "en", 10e3)))
    found = settle(rc, "en", 1e-6, 0.0, 0.75)
    assert found.t_s is not None
    assert found.t_s.high == pytest.approx(10e-3 * math.log(4))
    assert settle(rc, "en", 1e-6, 0.75, 0.75).t_s == Range(0.0, 0.0)


def test_ranges_of_start_threshold_and_capacitor_count() -> None:
    rc = Network((Supply("v", Range(3.0, 3.6)), Resistor("v", "en", Range(9e3, 11e3)), Resistor("en", GROUND, 100e3)))
    found = settle(rc, "en", Range(0.8e-6, 1.2e-6), Range(0.0, 0.3), Range(0.8, 2.0))
    assert found.t_s is not None
    fast = settle(rc, "en", 0.8e-6, 0.3, 0.8).t_s
    slow = settle(rc, "en", 1.2e-6, 0.0, 2.0).t_s
    assert fast is not None
    assert slow is not None
    assert (found.t_s.low, found.t_s.high) == (fast.low, slow.high)
    assert found.slow_when == "v 3 V, v to en 11 kΩ"


def test_falling_is_the_mirror_of_rising() -> None:
    rise = settle(Network((Supply("v", 3.3), Resistor("v", "x", 1e4))), "x", 1e-7, 0.0, 2.0).t_s
    fall = settle(Network((Resistor("x", GROUND, 1e4),)), "x", 1e-7, 3.3, 1.3).t_s
    assert rise is not None
    assert fall is not None
    assert rise.low == pytest.approx(fall.low)


def test_a_level_out_of_reach_is_said() -> None:
    pulls = Network((Supply("v", 3.3), Resistor("v", "x", Range(10e3, 50e3)), Resistor("x", GROUND, 10e3)))
    found = settle(pulls, "x", 1e-9, 0.0, 1.2)
    assert found.t_s is None
    assert found.never_when == "v to x 50 kΩ"
    floating = settle(Network((Switch("x", GROUND, 1.0, name="key"),)), "x", 1e-9, 3.0, 1.0)
    assert (floating.t_s, floating.v_end, floating.never_when) == (None, None, "key open")


# ------------------------------------------------------------------------------ words and refusals


def test_the_extreme_corner_in_words() -> None:
    network = Network(
        (
            Supply("3V3", Range(3.1, 3.5)),
            Resistor("3V3", "pad", Range(30e3, 80e3), "internal pull-up"),
            Resistor("pad", GROUND, 10e3),
            Switch("pad", GROUND, 50.0, name="button"),
            Leak("pad", Range(-1e-6, 1e-6), "pad's leakage"),
        )
    )
    pad = solve(network).node["pad"]
    assert pad.high_when == "3V3 3.5 V, internal pull-up 30 kΩ, button open, pad's leakage 1 µA into pad"
    assert pad.low_when == "3V3 3.1 V, internal pull-up 80 kΩ, button closed (50 Ω), pad's leakage 1 µA out of pad"
    usual = solve(network, corners=False)
    assert usual.corners.count == 2
    assert usual.node["pad"].high_when == "button open"


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Resistor("a", "b", 0.0), "ohm must be above 0 Ω, not 0"),
        (lambda: Resistor("a", "a", 1.0), "Both ends of an element lie on a"),
        (lambda: Switch("a", "b", 1.0, ()), "A switch is open, closed or either"),
        (lambda: Leak("a", math.nan), "i must be a finite number"),
        (lambda: Supply(GROUND, 1.0), "needs no supply"),
        (lambda: Diode("a", "b", -1e-12), "i s must be above 0 A"),
        (lambda: Network((Supply("a", 1.0), Supply("a", 2.0))), "a has two supplies"),
        (lambda: Network((Resistor("a", "b", 1.0, "r"), Leak("b", 0.0, "r"))), "Two elements are called 'r'"),
        (lambda: diode_through(0.2, 10e-3, r_s_ohm=50.0), "50 Ω alone drops 500 mV of the 200 mV"),
        (lambda: diode_through(24.0, 10e-3), "no single junction with n = 1"),
        (lambda: divider_bounds([(0.0, 1.0, 0.0, 0.0)]), "above 0 Ω, not 0 to 1 Ω"),
        (lambda: divider_bounds([], 1.0, 0.0), "not from 1 to 0 A"),
        (lambda: solve(Network(tuple(Resistor("a", GROUND, Range(1.0, 2.0)) for _ in range(13)))), f"13 .* make 16384 .* {CORNERS_MAX}"),
        (lambda: settle(Network((Resistor("x", GROUND, 1.0),)), "y", 1e-9, 0.0, 1.0), "y is no node"),
        (lambda: settle(Network((Diode("x", GROUND, 1e-12),)), "x", 1e-9, 0.0, 1.0), "no single time constant"),
        (lambda: settle(Network((Resistor("x", GROUND, 1.0),)), "x", 1e-9, Range(0.0, 2.0), 1.0), "on one side of the start"),
        (lambda: settle(Network((Resistor("x", GROUND, 1.0),)), "x", 0.0, 0.0, 1.0), "c must be above 0 F"),
    ],
)
def test_nonsense_is_refused_in_words(call: Callable[[], object], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        call()


def test_an_operating_point_that_is_not_found_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pinwright.powerup.matrices._STEPS_MAX", 2)
    network = Network((Supply("in", 3.3), Resistor("in", "x", Range(1e3, 2e3)), Diode("x", GROUND, 1e-14)))
    with pytest.raises(OutOfRange, match="No operating point found in 2 steps, for one with in to x 1 kΩ"):
        solve(network)


def test_no_branch_leaves_the_node_floating() -> None:
    assert divider_bounds([]) is None


def test_the_closed_form_needs_no_numpy() -> None:
    code = "import pinwright.powerup.one_node, sys; print('numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
