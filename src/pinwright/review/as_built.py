"""What is really fitted, by the brief: a coil's diode, the rise of a bus, resistors that let too much through or hold too little.

Only lines whose circuit the brief lists are judged here; where it lists nothing the tool chooses values that hold.
"""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.circuits.i2c import MODES, bus_capacitance
from pinwright.circuits.pulls import parallel, rise_time
from pinwright.quantities import show_quantity
from pinwright.review.common import PRACTICE, found, has, joined_names, part_cite, pins
from pinwright.review.model import Finding, Rule, Wire, Wiring
from pinwright.review.network import board_pulls, part_pulls

__all__ = ["RULES"]

_KICKS = {"coil": "coil", "motor": "motor's winding", "buzzer": "buzzer's coil"}
_UM10204 = "UM10204, I2C-bus specification, 7.1"
WEAK_PULL_OHM = 220e3
"""A pull weaker than this is as good as none beside leakage and noise (common practice, no source)."""
LONG_WIRE_PULL_OHM = 22e3
"""The same on a wire longer than half a metre (common practice, no source)."""
_OVER = 1.5
"""An LED stands this many times its usual current for a while (common practice, no source)."""


def _built(wiring: Wiring) -> Iterator[Wire]:
    return (wire for wire in wiring.wires if wire.line.id in wiring.as_built and wire.line.fitted is not None)


# ------------------------------------------------------------------------------ a coil without a diode


def _diodes(wiring: Wiring) -> Iterator[Finding]:
    """A transistor switches a coil and nothing takes up what the coil drives on."""
    for wire in _built(wiring):
        load = wire.line.asks.load
        if load is None or load.kind not in _KICKS or load.stage == "pin" or not has(wire.circuit, "driver") or has(wire.circuit, "diode"):
            continue
        amps, volts = show_quantity(load.inrush_a or load.i_a, "A"), show_quantity(load.v_v, "V")
        yield found(
            "stage-no-diode",
            "refuse" if load.kind != "buzzer" else "caution",
            wire,
            [
                f"a transistor switches the {_KICKS[load.kind]} of {wire.line.part}, {amps} from {volts}",
                "when it switches off, the coil drives its current on and lifts the wire far above the supply",
                "no diode is there to take it: the transistor breaks down, at once or after some hundred times",
            ],
            f"Put a diode across the coil, its cathode (the ring) to {volts}; it must stand {amps} for a moment and {volts} backwards.",
            sources=[part_cite(wiring, wire), PRACTICE],
        )


# ------------------------------------------------------------------------------ pull-ups of a bus


def _rise(wiring: Wiring) -> Iterator[Finding]:
    """t = 0.8473 R C, 30 % to 70 %, against the mode's limit   [UM10204 7.1]"""
    for place, wires in pins(wiring):
        built = [wire for wire in wires if wire.line.id in wiring.as_built]
        if wires[0].line.asks.signal != "i2c" or not built or any(has(wire.circuit, "level shifter") for wire in wires):
            continue
        ups = [p.ohm_max for p in (*part_pulls(wires, wiring.view), *board_pulls(place, wiring.view)) if p.direction == "up"]
        if not ups:
            continue  # told as a missing pull
        ohm, metres = parallel(*ups), sum(wire.line.asks.wire_m for wire in wires)
        farads = bus_capacitance(len(wires) + 1, metres)
        rises = rise_time(ohm, farads)
        if rises > MODES["fast"].t_rise_max_s:
            yield _slow(wiring, built[0], ohm, metres, farads, rises)


def _slow(wiring: Wiring, wire: Wire, ohm: float, metres: float, farads: float, rises: float) -> Finding:
    standard, fast = MODES["standard"], MODES["fast"]
    limit = standard if rises > standard.t_rise_max_s else fast
    wire_words = f"{metres:g} m of wire and the parts" if metres else "the parts"
    together, takes = show_quantity(ohm, "Ω"), show_quantity(rises, "s")
    clock, allowed = show_quantity(limit.f_max_hz, "Hz"), show_quantity(limit.t_rise_max_s, "s")
    facts = [
        f"pull-ups of {together} together against about {show_quantity(farads, 'F')} of {wire_words}",
        f"the wire takes {takes} to rise; at {clock} the rise time must be {allowed} at most",
    ]
    numbers = {"rise time": f"{takes} against {allowed}"}
    sources = [f"{_UM10204} (tables recalled)", part_cite(wiring, wire)]
    if limit is fast:
        slower = show_quantity(standard.f_max_hz, "Hz")
        return found("bus-slow-rise", "note", wire, facts, f"Keep the bus at {slower}, or fit stronger pull-ups.", numbers, sources)
    strongest = (wiring.view.board.logic_v - _LOW_V) / standard.i_sink_a
    enough = standard.t_rise_max_s / rises * ohm
    way = f"Fit a pull-up so that all together make {show_quantity(enough, 'Ω')} or less (not below {show_quantity(strongest, 'Ω')})"
    if enough <= strongest:
        way = "No pull-up is strong enough that the parts can still pull low: shorten the wire, or put a bus extender between"
    effect = "bits are read before the wire is high: parts vanish from the bus, or answer wrongly"
    fix = f"{way}; a clock far below {clock} may carry it over, on your own measurement."
    return found("bus-slow-rise", "refuse", wire, [*facts, effect], fix, numbers, sources)


_LOW_V = 0.4
"""Level every part on the bus pulls to at its rated current [V].   [UM10204 table 9]"""


# ------------------------------------------------------------------------------ resistors on single lines


def _weak(wiring: Wiring) -> Iterator[Finding]:
    """A pull so weak that leakage and noise decide."""
    for wire in _built(wiring):
        asks = wire.line.asks
        most = LONG_WIRE_PULL_OHM if asks.long_wire else WEAK_PULL_OHM
        for element in wire.circuit.elements:
            if element.kind in ("pull-up", "pull-down") and asks.signal != "i2c" and (element.ohm or 0.0) > most * 1.001:
                where = f"on {asks.wire_m:g} m of wire" if asks.long_wire else "beside the leakage of pin and part"
                yield found(
                    "pull-weak",
                    "caution",
                    wire,
                    [
                        f"{wire.line.id} is held by a {element.kind} of {show_quantity(element.ohm or 0.0, 'Ω')}",
                        f"{where} {show_quantity(most, 'Ω')} is about the weakest that holds a level",
                    ],
                    "Take 4.7 kΩ to 10 kΩ.",
                    sources=[PRACTICE],
                )


def _lamps(wiring: Wiring) -> Iterator[Finding]:
    """An LED on the pin itself: I = (V - VF) / R with the lowest forward voltage   (Ohm)."""
    for wire in _built(wiring):
        load, series = wire.line.asks.load, wire.circuit.of("series resistor")
        if load is not None and load.kind == "led" and load.vf_min_v is not None and series is None and has(wire.circuit, "driver"):
            yield _unlimited(wiring, wire)
        if load is None or load.stage != "pin" or load.vf_min_v is None or series is None or not series.ohm:
            continue
        amps = max(wiring.view.board.logic_v - load.vf_min_v, 0.0) / series.ohm
        electrical = wiring.view.chip.electrical
        sinks = wire.line.asks.safe_level in ("high", "released")
        fact = (
            (wire.place.pad.sink_max_a or electrical.i_pin_sink_max_a)
            if sinks
            else (wire.place.pad.source_max_a or electrical.i_pin_source_max_a)
        )
        pin_a = fact.value or fact.min or 0.0
        most = min(pin_a, _OVER * load.i_a)
        if amps <= most * 1.05:
            continue
        who = "the pin may carry" if pin_a <= _OVER * load.i_a else "the LED is made for about"
        yield found(
            "series-small",
            "refuse" if amps > pin_a * 1.05 else "caution",
            wire,
            [
                f"{show_quantity(series.ohm, 'Ω')} in series let up to {show_quantity(amps, 'A')} through {wire.line.id}",
                f"{who} {show_quantity(pin_a if pin_a <= _OVER * load.i_a else load.i_a, 'A')}",
            ],
            f"Take at least {show_quantity((wiring.view.board.logic_v - load.vf_min_v) / min(most, load.i_a), 'Ω')}.",
            {"current": f"{show_quantity(amps, 'A')} against {show_quantity(most, 'A')}"},
            [wiring.view.chip_cite(fact), part_cite(wiring, wire)],
        )


def _unlimited(wiring: Wiring, wire: Wire) -> Finding:
    """A transistor switches an LED, and nothing limits the current."""
    return found(
        "series-small",
        "refuse",
        wire,
        [
            f"a transistor switches the LED {wire.line.part}",
            "no resistor is fitted, so nothing limits its current: LED or transistor fails",
        ],
        "Put a resistor in series with the LED, as large as supply less forward voltage over its current.",
        sources=[part_cite(wiring, wire), PRACTICE],
    )


# ------------------------------------------------------------------------------ parts without supply in sleep


def _backfed(wiring: Wiring) -> Iterator[Finding]:
    """A part whose supply is off in sleep while pull-ups on the permanent rail hold its lines: they feed it through its clamps."""
    if not wiring.setting.sleeping:
        return
    switched = {device.name for device in wiring.devices if device.switched}
    for name in sorted(switched):
        fed = [(wire, ohms) for wire, ohms in _held_up(wiring, name) if ohms]
        if fed:
            yield _feeds(wiring, name, fed)
        driven = [w for w in wiring.wires if w.line.part == name and w.line.asks.direction == "out" and not has(w.circuit, "driver")]
        if driven:
            names = joined_names(wire.line.id for wire in driven)
            because = [f"the supply of {name} is off in sleep", f"a high on {names} would feed it through its inputs"]
            fix = f"Let the firmware set {names} low, or to inputs without pulls, before it switches the supply off."
            yield found("sleep-backfed", "note", driven[0], because, fix, sources=[PRACTICE])


def _held_up(wiring: Wiring, name: str) -> Iterator[tuple[Wire, list[float]]]:
    """Lines of a part with the pull-ups that stay on: of the board, of the circuit, of parts that are not switched with it [ohm]."""
    switched = {device.name for device in wiring.devices if device.switched}
    for place, wires in pins(wiring):
        mine = next((wire for wire in wires if wire.line.part == name), None)
        if mine is None or has(mine.circuit, "level shifter"):
            continue
        ohms = [pull.ohm_min for pull in board_pulls(place, wiring.view) if pull.direction == "up"]
        for wire in wires:
            ohms += [element.ohm or 10e3 for element in wire.circuit.elements if element.kind == "pull-up"]
            ohms += [10e3] * has(wire.circuit, "level shifter")  # such shifters bring their own, on both sides
            own = wire.line.asks.pull_fitted
            if own is not None and own.direction == "up" and wire.line.part not in switched:
                ohms.append(own.ohm or 10e3)
        yield mine, ohms


def _feeds(wiring: Wiring, name: str, fed: list[tuple[Wire, list[float]]]) -> Finding:
    logic_v = wiring.view.board.logic_v
    most = sum(logic_v / parallel(*ohms) for _, ohms in fed)
    lines = joined_names(wire.line.id for wire, _ in fed)
    return found(
        "sleep-backfed",
        "caution",
        fed[0][0],
        [
            f"the supply of {name} is off in sleep, the pull-up resistors of {lines} stay on {show_quantity(logic_v, 'V')}",
            f"they feed it through its protection diodes, up to {show_quantity(most, 'A')} all the time",
            "it half runs, hangs when it gets its supply back, and may hold the bus low for everybody",
        ],
        f"Take the pull-ups to the switched supply of {name}, or let the part sleep by command and leave its supply on.",
        {"current": f"up to {show_quantity(most, 'A')} (V / R, diode drops left out)"},
        [PRACTICE],
    )


RULES: tuple[Rule, ...] = (
    Rule(
        "stage-no-diode",
        "a transistor that switches a coil or motor with no diode across it",
        "the transistor breaks down",
        PRACTICE,
        _diodes,
    ),
    Rule(
        "bus-slow-rise",
        "the rise of an I2C wire with the pull-ups that are fitted and its length",
        "bits are read before the wire is high",
        _UM10204,
        _rise,
    ),
    Rule("pull-weak", "a fitted pull too weak to hold its line", "leakage and noise decide the level", PRACTICE, _weak),
    Rule(
        "series-small",
        "a fitted series resistor that lets too much through an LED",
        "the pin or the LED fails",
        "Ohm; chip and part data",
        _lamps,
    ),
    Rule(
        "sleep-backfed",
        "a part switched off in sleep that its lines go on feeding",
        "the battery drains, the part hangs",
        PRACTICE,
        _backfed,
    ),
)
