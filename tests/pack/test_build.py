"""The build holds what the plan says: every line reaches its pin through its circuit, every rail is fed, no terminal hangs twice."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.errors import OutOfRange, UnknownName
from pinwright.pack.build import Build, Terminal
from pinwright.pack.build.joiner import Joiner, rail_node
from pinwright.pack.build.make import build_of
from pinwright.pack.build.pins import pin_terminals
from pinwright.pack.build.wires import COLOURS
from pinwright.planning import PlanResult, open_job, plan_job

EXAMPLES = sorted(path for path in Path("examples").glob("*.toml") if path.stem not in ("copied-wiring", "tasting-bench"))
STAGES = """
title = "One of each stage"
[[part]]
name = "lock"
kind = "solenoid-12v"
[[part]]
name = "echo"
kind = "ultrasonic-hc-sr04"
[[part]]
name = "pixels"
kind = "led-ws2812b"
[[part]]
name = "signal"
kind = "led-red"
[[part]]
name = "probe"
kind = "ntc-10k-b3950"
[[part]]
name = "dusk"
kind = "ldr-gl5528"
[[part]]
name = "sender"
kind = "ir-led-sender"
[[part]]
name = "key"
kind = "push-button-momentary"
[[part]]
name = "fan"
kind = "fan-4wire-pwm"
"""
_BOARD = '\n[board]\nonly = ["raspberry-pi-pico"]\n'


def _plan(tmp_path: Path, text: str) -> PlanResult:
    path = tmp_path / "brief.toml"
    path.write_text(text, encoding="utf-8")
    return plan_job(open_job(path))


@pytest.fixture(scope="module")
def stages(tmp_path_factory: pytest.TempPathFactory) -> Build:
    return build_of(_plan(tmp_path_factory.mktemp("stages"), STAGES + _BOARD))


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_every_plan_is_joined_completely(example: Path):
    result = plan_job(open_job(example))
    for plan in result.usable:
        build = build_of(result, plan.view.board.id)
        ends = Counter(terminal for net in build.nets for terminal in net.terminals)
        assert set(ends.values()) == {1}, "a terminal hangs on two nets"
        names = pin_terminals(plan.view.board)
        for placed in plan.placed:
            board = Terminal("board", names[placed.place.row, placed.place.order])
            assert placed.line.id in build.net_at[board].lines
            assert Terminal(placed.line.part, placed.line.name) in ends
        for item in build.items:
            loose = [t for t in item.terminals if Terminal(item.ref, t) not in ends]
            assert item.kind == "board" or loose in ([], ["plug"]), f"{item.ref}: {loose} hang on nothing"
        for net in build.nets:
            kinds = {build.by_ref[t.item].kind for t in net.terminals}
            assert net.role == "signal" or kinds & {"board", "supply"}, f"{net.id} is fed by nobody"
            assert net.colour in COLOURS
            assert net.role != "ground" or net.colour == "BK"  # black is the minus of d.c. devices (common practice, no source)
            if net.role == "signal" and net.id != "wake":
                assert sum(t.item == "board" for t in net.terminals) <= 1, "two pins are short-circuited"


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_wires_span_every_net_once(example: Path):
    build = build_of(plan_job(open_job(example)))
    assert [wire.number for wire in build.wires] == list(range(1, len(build.wires) + 1))
    for net in build.nets:
        reached = {net.terminals[0]}
        mine = [wire for wire in build.wires if wire.net == net.id]
        for _ in mine:
            reached |= {end for wire in mine for end in (wire.a, wire.b) if {wire.a, wire.b} & reached}
        assert reached == set(net.terminals), f"{net.id} falls apart"
        assert len(mine) == len(net.terminals) - 1, f"{net.id} has a wire too many"


def test_components_are_those_of_the_plan(stages: Build):
    pieces = Counter(
        (piece.what, piece.value)
        for placed in stages.plan.placed
        for element in placed.circuit.elements
        for piece in element.pieces
        if element.kind != "module pull-ups off"
    )
    fitted = Counter((item.title, item.value) for item in stages.items if item.kind == "component" and item.role not in ("fixed", "fuse"))
    shifters = Counter(item.title for item in stages.items if item.symbol == "shifter")
    told = [item.title for item in stages.items if item.symbol == "stage"]  # one no transistor of the catalogue can build
    for title in (*shifters, *told):
        fitted.pop((title, None))
    assert pieces == fitted


def _net(build: Build, item: str, terminal: str) -> str:
    return build.net_at[Terminal(item, terminal)].id


def _of_line(build: Build, line: str, role: str) -> str:
    return next(item.ref for item in build.items if item.line == line and item.role.startswith(role))


def test_low_side_stage_sits_between_load_and_ground(stages: Build):
    switch, diode = _of_line(stages, "lock.GATE", "switch"), _of_line(stages, "lock.GATE", "across")
    names = stages.by_ref[switch].terminals
    assert _net(stages, switch, names[2]) == "GND"
    assert _net(stages, switch, names[1]) == _net(stages, "lock", "GATE") == _net(stages, diode, "A")
    # The free-wheeling diode's cathode lies at the load's plus (common practice, no source).
    assert _net(stages, diode, "K") == _net(stages, "lock", "V+") == "12 V"
    assert stages.by_net["12 V"].v_v == 12.0


def test_divider_stands_before_the_pin(stages: Build):
    upper, lower = _of_line(stages, "echo.ECHO", "upper"), _of_line(stages, "echo.ECHO", "lower")
    pin = next(stage.pin for stage in stages.stages if "echo.ECHO" in stage.lines)
    assert _net(stages, lower, "1") == _net(stages, upper, "2") == stages.net_at[pin].id
    assert _net(stages, lower, "2") == "GND"
    assert _net(stages, upper, "1") == _net(stages, "echo", "ECHO")


def test_bare_sensors_get_their_fixed_resistor_on_the_right_side(stages: Build):
    ntc, ldr = _of_line(stages, "probe.NTC", "fixed"), _of_line(stages, "dusk.LDR", "fixed")
    # The catalogue: the thermistor lies at ground, the light resistor at the supply, 10 kΩ each.
    assert (_net(stages, ntc, "2"), _net(stages, "probe", "GND")) == ("3.3 V", "GND")
    assert (_net(stages, ldr, "2"), _net(stages, "dusk", "V+")) == ("GND", "3.3 V")
    assert stages.by_ref[ntc].value == stages.by_ref[ldr].value == 10e3


def test_part_with_a_control_input_keeps_its_own_supply(stages: Build):
    assert _net(stages, "fan", "V+") == "12 V"
    assert _net(stages, "fan", "GND") == "GND"


def test_contact_and_lamp_close_to_ground(stages: Build):
    assert stages.by_ref["key"].terminals == ("SW", "GND")
    assert stages.by_ref["signal"].terminals == ("LED", "GND")


def test_level_shifter_serves_a_part_with_several_channels(tmp_path: Path):
    text = 'title = "x"\n[[part]]\nname = "text"\nkind = "lcd1602-pcf8574"\n[[part]]\nname = "air"\nkind = "bme280"\n' + _BOARD
    build = build_of(_plan(tmp_path, text))
    shifters = [item for item in build.items if item.symbol == "shifter"]
    assert [item.terminals for item in shifters] == [("A1", "B1", "A2", "B2", "VA", "VB", "GND")]
    ref = shifters[0].ref
    assert (_net(build, ref, "VA"), _net(build, ref, "VB")) == ("3.3 V", "5 V")
    assert {_net(build, "text", "SDA"), _net(build, "text", "SCL")} == {_net(build, ref, "B1"), _net(build, ref, "B2")}


def test_switched_load_gets_a_wire_for_its_current(tmp_path: Path):
    text = 'title = "x"\n[[part]]\nname = "strip"\nkind = "led-strip-12v-dimming"\ncurrent = "5 A"\nwire = "3 m"\n' + _BOARD
    build = build_of(_plan(tmp_path, text))
    wire = next(w for w in build.wires if Terminal("strip", "V+") in (w.a, w.b))
    assert wire.i_a == pytest.approx(5.0)
    assert wire.length_m == pytest.approx(3.0)
    # DIN VDE 0298-4, table 11: 0.5 mm² carries 3 A, 0.75 mm² carries 6 A (flexible cable, 30 °C); the air is hotter here.
    assert wire.area_mm2 >= 0.75


def test_timer_that_wakes_over_reset_gets_its_wire(tmp_path: Path):
    text = 'title = "x"\n[use]\nsleeping = true\n[[part]]\nname = "key"\nkind = "push-button-momentary"\n[board]\nonly = ["esp12f-30pin"]\n'
    build = build_of(_plan(tmp_path, text))
    # ESP8266EX: deep sleep ends by GPIO16 pulling the reset input low; the 30-pin board prints it D0.
    assert {t.name for t in build.by_net["wake"].terminals} == {"D0", "RST"}


def test_own_part_may_be_called_like_a_rail(tmp_path: Path):
    text = (
        'title = "x"\n[[part]]\nname = "GND"\nkind = "push-button-momentary"\n[[part]]\nname = "board"\nkind = "led-red"\n'
        '[[part]]\nname = "R1"\n[[part.line]]\nname = "V+"\ndirection = "in"\nsignal = "digital"\n' + _BOARD
    )
    build = build_of(_plan(tmp_path, text))
    parts = {item.name: item for item in build.items if item.kind == "part"}
    assert parts["GND"].ref == "GND (2)"
    assert parts["board"].ref == "board (2)"
    assert parts["R1"].terminals == ("V+", "V+ (supply)", "GND")
    assert [item.ref for item in build.items if item.symbol == "resistor"] == ["R2"]


def test_board_must_be_one_that_can(stages: Build):
    with pytest.raises(UnknownName):
        build_of(stages.result, "esp01s")


def test_nothing_to_build_is_said(tmp_path: Path):
    text = 'title = "x"\n[[part]]\nname = "key"\nkind = "push-button-momentary"\ncount = 64\n[board]\nonly = ["esp01s"]\n'
    with pytest.raises(OutOfRange, match="nothing to build"):
        build_of(_plan(tmp_path, text))


@given(st.lists(st.tuples(st.sampled_from("abcdef"), st.sampled_from("abcdef")), max_size=12))
@settings(deadline=None)
def test_nodes_that_are_one_hold_all_their_terminals(pairs: list[tuple[str, str]]):
    join = Joiner()
    for name in "abcdef":
        join.join(name, f"item {name}", "1")
    groups = {name: {name} for name in "abcdef"}  # the same by merging sets
    for kept, other in pairs:
        join.same(kept, other)
        merged = groups[kept] | groups[other]
        for name in merged:
            groups[name] = merged
    for name in "abcdef":
        assert {t.item[-1] for t in join.nodes[join.node(name)]} == groups[name]


def test_rails_of_nearly_the_same_voltage_are_one():
    join = Joiner()
    assert join.rail(5.0) == join.rail(5.25) == rail_node(5.0)
    assert join.rail(3.3) != join.rail(5.0)


@pytest.mark.parametrize(
    ("kind", "board", "supplies", "needs"),
    [
        # WS2812B data sheet: high from 0.7 of its 5 V, more than a 3.3 V pin gives: a buffer at 5 V with TTL inputs.
        ("led-ws2812b", "raspberry-pi-pico", {"V+": "5 V"}, "TTL levels"),
        # IRLZ44N data sheet: no on-resistance below a gate voltage of 4 V.
        ("mosfet-irlz44n", "raspberry-pi-pico", {"V+": "5 V"}, "TTL levels"),
        # K30 data sheet: its lines stand 3.3 V although it is fed with 5 V; a 5 V board must not drive them.
        ("co2-k30", "atmega328p-32pin", {"V+": "3.3 V"}, "stand 5 V"),
    ],
)
def test_one_way_shifter_is_fed_at_the_side_it_drives(tmp_path: Path, kind: str, board: str, supplies: dict[str, str], needs: str):
    text = f'title = "x"\n[[part]]\nname = "thing"\nkind = "{kind}"\n[board]\nonly = ["{board}"]\n'
    build = build_of(_plan(tmp_path, text))
    shifter = next(item for item in build.items if item.symbol == "shifter" and item.role == "to the part")
    assert {t: _net(build, shifter.ref, t) for t in shifter.terminals if t[0] == "V"} == supplies
    assert needs in shifter.rating


def test_battery_sense_gets_its_divider_before_the_pin(tmp_path: Path):
    text = (
        'title = "x"\n[supply]\nsource = "lithium cell"\n[[part]]\nname = "cell"\nkind = "battery-voltage-sense"\n'
        '[[part]]\nname = "loop"\nkind = "loop-4-20ma-receiver"\n[board]\nonly = ["raspberry-pi-pico"]\n'
    )
    build = build_of(_plan(tmp_path, text))
    upper, lower = _of_line(build, "cell.VBAT", "upper"), _of_line(build, "cell.VBAT", "lower")
    # The catalogue: 100 kΩ over 220 kΩ, so that 4.2 V of a full cell become 2.89 V.
    assert (build.by_ref[upper].value, build.by_ref[lower].value) == (100e3, 220e3)
    assert _net(build, upper, "1") == _net(build, "cell", "VBAT")
    pin = next(stage.pin for stage in build.stages if "cell.VBAT" in stage.lines)
    assert build.net_at[pin].id == _net(build, upper, "2") == _net(build, lower, "1") != _net(build, "cell", "VBAT")
    burden = _of_line(build, "loop.LOOP", "lower")
    assert build.by_ref[burden].value == 120.0  # 20 mA make 2.4 V
    assert _net(build, burden, "1") == _net(build, "loop", "LOOP")


def test_a_strong_supply_gets_a_fuse_in_its_plus_lead(tmp_path: Path):
    text = 'title = "x"\n[[part]]\nname = "strip"\nkind = "led-strip-12v-dimming"\ncurrent = "3 A"\n' + _BOARD
    build = build_of(_plan(tmp_path, text))
    fuse = next(item for item in build.items if item.symbol == "fuse")
    assert fuse.line == "12 V supply"
    assert fuse.value is not None
    assert fuse.value >= 1.25 * 3.0  # at least 1.25 times the steady current (common practice, no source)
    wire = next(w for w in build.wires if Terminal("12 V supply", "+") in (w.a, w.b))
    assert fuse.ref in wire.note


def test_a_source_no_board_pin_takes_is_not_wired(tmp_path: Path):
    head = 'title = "x"\n[supply]\nsource = "lithium cell"\n'
    text = head + '[[part]]\nname = "key"\nkind = "push-button-momentary"\n[board]\nonly = ["esp32-devkitc-v4"]\n'
    build = build_of(_plan(tmp_path, text))
    assert build.by_ref["supply"].terminals == ()
    assert "NOT WIRED" in build.by_ref["supply"].note
    assert any("not wired" in note for note in build.notes)


def test_the_boards_ground_carries_what_runs_through_the_board_only(tmp_path: Path):
    text = (
        'title = "x"\n[supply]\nsource = "adapter"\nvoltage = "5 V"\ncurrent = "5 A"\n'
        '[[part]]\nname = "flap"\nkind = "servo-hobby"\ncount = 3\n' + _BOARD
    )
    build = build_of(_plan(tmp_path, text))
    own = next(w for w in build.wires if w.net == "GND" and w.a.item == "board")
    all_of_it = next(w for w in build.wires if Terminal("supply", "−") in (w.a, w.b))
    assert own.i_a < 0.3 < 1.0 < all_of_it.i_a


@pytest.mark.parametrize("kind", ["push-button-momentary", "led-ws2812b", "sht31"])
def test_a_part_called_like_a_rail_made_later_stays_a_part(tmp_path: Path, kind: str):
    text = f'title = "x"\n[[part]]\nname = "5 V"\nkind = "{kind}"\n[[part]]\nname = "supply"\nkind = "led-ws2812b"\n' + _BOARD
    build = build_of(_plan(tmp_path, text))
    assert build.by_ref["5 V"].kind == "part"
    assert build.by_ref["supply"].kind == "part"
    rail = next(item for item in build.items if item.kind == "rail" and item.ref.startswith("5 V"))
    assert rail.ref != "5 V"
    assert build.net_at[Terminal(rail.ref, "rail")] is not build.by_net["GND"]
    for wire in build.wires:
        assert build.net_at[wire.a] is build.net_at[wire.b] is build.by_net[wire.net]


def test_two_nets_never_share_a_name(tmp_path: Path):
    text = 'title = "x"\n[[part]]\nname = "3"\n[[part.line]]\nname = "3 V"\ndirection = "in"\nsignal = "digital"\n' + _BOARD
    build = build_of(_plan(tmp_path, text))
    names = [net.name for net in build.nets]
    assert len(set(names)) == len(names)
