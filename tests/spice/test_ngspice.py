"""The way to ngspice itself: it gives what a formula of the textbook gives, and says what went wrong (kind: behaviour)."""

from __future__ import annotations

import math

import pytest
from ngspice import Sheet, SpiceError, run


def test_a_charging_capacitor_passes_its_time_constant() -> None:
    # 1 - 1/e after one time constant; both corners in one run
    sheet = Sheet()
    for name, r_ohm in (("slow", 2e3), ("fast", 1e3)):
        out = sheet.node()
        sheet.resistor(sheet.step(0.0, 1.0), out, r_ohm)
        sheet.capacitor(out, 0, 1e-9)
        sheet.measure(name, f"when v({out})={1 - math.exp(-1):.12g} rise=1")
    found = sheet.over_time(10e-6)
    assert found["slow"] == pytest.approx(2e-6, rel=1e-3)
    assert found["fast"] == pytest.approx(1e-6, rel=1e-3)


def test_a_current_source_takes_out_of_its_first_node() -> None:
    sheet = Sheet()
    out = sheet.node()
    sheet.resistor(sheet.source(5.0), out, 1e3)
    sheet.leak(out, 1e-3)
    sheet.ask("out", f"v({out})")
    assert sheet.at_dc()["out"] == pytest.approx(4.0)


def test_a_level_never_reached_is_a_failure_with_its_name() -> None:
    sheet = Sheet()
    out = sheet.node()
    sheet.resistor(sheet.step(0.0, 1.0), out, 1e3)
    sheet.capacitor(out, 0, 1e-9)
    sheet.measure("never", f"when v({out})=2 rise=1")
    with pytest.raises(SpiceError, match="without never"):
        sheet.over_time(10e-6)


def test_a_netlist_nobody_can_read_is_shown() -> None:
    with pytest.raises(SpiceError, match="unknown subckt: x1 a b nothing"):
        run("broken\nx1 a b nothing\n.control\nop\nprint v(a)\nquit\n.endc\n.end\n")


def test_nodes_that_hang_in_the_air_are_no_answer() -> None:
    with pytest.raises(SpiceError, match="singular"):
        run("floating\ni1 0 a dc 1\nc1 a 0 1n\n.control\nop\nprint v(a)\nquit\n.endc\n.end\n", ["a"])
