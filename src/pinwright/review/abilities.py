"""What a pin must be able to do for its line: drive, read, let go, measure, interrupt, wake."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.facts.model import AdcUnit
from pinwright.fitting.places import BoardView, Place
from pinwright.quantities import show_quantity
from pinwright.review.common import found, joined_names
from pinwright.review.model import Finding, Rule, Wire, Wiring

__all__ = ["RULES"]

_RADIOS = {"wifi": "Wi-Fi", "ble": "Bluetooth LE", "bluetooth-classic": "Bluetooth", "802.15.4": "the 802.15.4 radio"}
_CHIP_DATA = "pad table of the chip, named in the finding"


def _direction(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        asks, pad = wire.line.asks, wire.place.pad
        if asks.signal in ("analog", "touch"):
            continue
        if pad.analog_only:
            fact, effect = "is an analog input and nothing else", "it has no digital level"
        elif asks.drives and not pad.output:
            fact, effect = "is an input only", f"the board must drive {wire.line.id}"
        elif asks.reads and not pad.input:
            fact, effect = "cannot be read", f"the board must read {wire.line.id}"
        else:
            continue
        cite = wiring.view.column_cite("abilities", pad)
        yield found(
            "pin-direction", "refuse", wire, [f"{wire.place.name} {fact}", effect], "Move the line to an ordinary pin.", sources=[cite]
        )


def _open_drain(wiring: Wiring) -> Iterator[Finding]:
    chip = wiring.view.chip
    if not any(pad.open_drain for pad in chip.pad):
        return  # then all pads let go by becoming inputs, which every driver for this chip does
    for wire in wiring.wires:
        pad = wire.place.pad
        if wire.line.asks.direction in ("open-drain", "bidir") and pad.output and not pad.open_drain:
            yield found(
                "pin-open-drain",
                "refuse",
                wire,
                [f"{wire.place.name} has no open-drain output, other pins of {chip.part} do", "the wire is shared and must be let go"],
                "Move the line to a pin with an open-drain output.",
                sources=[wiring.view.column_cite("abilities", pad)],
            )


def _slow(wiring: Wiring) -> Iterator[Finding]:
    """A pad whose maker allows only slow signals, and what runs over it."""
    for wire in wiring.wires:
        pad = wire.place.pad
        if pad.max_hz is None:
            continue
        hz = _fastest_hz(wiring, wire)
        if hz is None or hz > pad.max_hz:
            runs = f"{wire.line.id} runs at {show_quantity(hz, 'Hz')}" if hz else f"{wire.line.id} carries pulses of microseconds"
            for_radio = pad.slow_for_radio
            yield found(
                "pin-slow",
                ("caution" if wiring.setting.radio else "note") if for_radio else "refuse",
                wire,
                [f"{wire.place.name} may carry nothing faster than {show_quantity(pad.max_hz, 'Hz')}", runs],
                "Move the line to an ordinary pin" + (", or expect less range of the radio." if for_radio else "."),
                sources=[wiring.view.column_cite("abilities", pad)],
            )


def _fastest_hz(wiring: Wiring, wire: Wire) -> float | None:
    """Fastest signal of a line [Hz]: what is decided, or the least it needs; ``None`` for exact pulses."""
    asks = wire.line.asks
    if asks.needs.exact_pulses:
        return None
    if asks.signal == "pwm":
        return float(wire.mode.split()[0]) if wire.mode else asks.needs.pwm_min_hz or 0.0
    device = next((device for device in wiring.devices if device.name == wire.line.part), None)
    needs = device.bus.get(asks.signal) if device else None
    return needs.max_hz if needs else 0.0


def _setup(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        if wire.place.pad.needs_setup:
            yield found(
                "pin-setup",
                "caution",
                wire,
                [f"{wire.place.name} is no ordinary pin at power-up", wire.place.pad.needs_setup],
                "Do that first in the set-up code, or take another pin.",
                sources=[wiring.view.column_cite("abilities", wire.place.pad)],
            )


# ------------------------------------------------------------------------------ analog


def _unit(view: BoardView, place: Place) -> AdcUnit | None:
    adc = place.pad.adc
    return next((unit for unit in view.chip.adc if adc and unit.unit == adc.unit), None)


def _analog_in(wiring: Wiring) -> Iterator[Finding]:
    view = wiring.view
    for wire in wiring.wires:
        if wire.line.asks.direction != "analog-in":
            continue
        unit = _unit(view, wire.place)
        if unit is None:
            yield found(
                "pin-no-adc",
                "refuse",
                wire,
                [f"{wire.place.name} cannot measure a voltage", f"{wire.line.id} is one"],
                "Move the line to a pin with an analog-to-digital converter.",
                sources=[view.column_cite("adc", wire.place.pad)],
            )
            continue
        yield from _blocked(wire, unit, wiring)
        wanted = wire.line.asks.needs.adc_bits
        if wanted and unit.bits < wanted:
            yield found(
                "pin-adc-bits",
                "refuse",
                wire,
                [f"{wire.place.name} measures with {unit.bits} bits", f"{wire.line.id} needs {wanted}"],
                "Take a converter with more bits on the bus, or ask for less.",
                {"bits": f"{unit.bits} against {wanted}"},
                [view.chip_cite(unit)],
            )


def _blocked(wire: Wire, unit: AdcUnit, wiring: Wiring) -> Iterator[Finding]:
    blocking = [_RADIOS.get(radio, radio) for radio in wiring.setting.radio if radio in unit.blocked_by]
    if not blocking:
        return
    free = [unit.unit for unit in wiring.view.chip.adc if not set(unit.blocked_by) & set(wiring.setting.radio)]
    fix = f"Move the line to a pin of converter {free[0]}." if free else "Measure with a converter on the bus."
    yield found(
        "pin-adc-blocked",
        "refuse",
        wire,
        [
            f"{wire.place.name} measures with converter {unit.unit}",
            f"{joined_names(blocking)} takes that converter away while it is on",
            "readings fail or hang as soon as the radio starts",
        ],
        fix,
        sources=[wiring.view.column_cite("adc", wire.place.pad), wiring.view.chip_cite(unit)],
    )


def _analog_out(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        if wire.line.asks.direction == "analog-out" and not wire.place.pad.dac:
            yield found(
                "pin-no-dac",
                "refuse",
                wire,
                [f"{wire.place.name} has no real analog output"],
                "Use a pin with a digital-to-analog converter, or PWM with a filter.",
                sources=[wiring.view.column_cite("dac", wire.place.pad)],
            )


def _touch(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        if wire.line.asks.signal == "touch" and not wire.place.pad.touch:
            yield found(
                "pin-no-touch",
                "refuse",
                wire,
                [f"{wire.place.name} cannot sense touch"],
                "Use a touch pin, or a touch sensor chip.",
                sources=[wiring.view.column_cite("touch", wire.place.pad)],
            )


# ------------------------------------------------------------------------------ interrupts and waking


def _interrupt(wiring: Wiring) -> Iterator[Finding]:
    view = wiring.view
    counters = any("count" in engine.gives and engine.kind == "hardware" for engine in view.chip.engine)
    for wire in wiring.wires:
        asks, pad = wire.line.asks, wire.place.pad
        if pad.interrupt or not asks.reads:
            continue
        cite = view.column_cite("interrupt", pad)
        if asks.needs.interrupt == "yes":
            because = [f"{wire.place.name} cannot raise an interrupt", f"{wire.line.id} needs one: events are missed otherwise"]
        elif asks.needs.count_pulses and not counters:
            because = [
                f"{wire.place.name} cannot raise an interrupt",
                f"{wire.line.id} brings pulses to count, and {view.chip.part} has no pulse counter",
            ]
        else:
            continue
        yield found("pin-no-interrupt", "refuse", wire, because, "Move the line to a pin with an interrupt.", sources=[cite])


def _interrupt_lines(wiring: Wiring) -> Iterator[Finding]:
    taken: dict[str, Wire] = {}
    for wire in wiring.wires:
        asks, line = wire.line.asks, wire.place.pad.interrupt_line
        if not line or not (asks.needs.interrupt == "yes" or (asks.needs.count_pulses and asks.reads)):
            continue
        first = taken.setdefault(line, wire)
        if first.place.pad.name != wire.place.pad.name:
            yield found(
                "pin-interrupt-line",
                "refuse",
                wire,
                [
                    f"{first.place.name} and {wire.place.name} share interrupt line {line}",
                    f"{first.line.id} and {wire.line.id} both need it",
                ],
                "Move one of the two to a pin of another interrupt line.",
                sources=[wiring.view.column_cite("interrupt", wire.place.pad)],
            )


def _wake(wiring: Wiring) -> Iterator[Finding]:
    if not wiring.setting.sleeping:
        return
    for wire in wiring.wires:
        if not wire.line.asks.needs.wake or any(
            word.startswith(("deep-sleep", "power-down")) and "output" not in word for word in wire.place.pad.wake
        ):
            continue
        yield found(
            "pin-no-wake",
            "refuse",
            wire,
            [f"{wire.place.name} cannot wake the board from deep sleep", f"{wire.line.id} must, and the device sleeps"],
            "Move the line to a pin that wakes, or let the device sleep less deeply.",
            sources=[wiring.view.column_cite("wake", wire.place.pad)],
        )


RULES: tuple[Rule, ...] = (
    Rule("pin-direction", "a line driven or read where the pad cannot", "the line never works", _CHIP_DATA, _direction),
    Rule(
        "pin-open-drain",
        "a shared wire on a pad without open drain where the chip has it",
        "the pad pushes against the bus",
        _CHIP_DATA,
        _open_drain,
    ),
    Rule(
        "pin-no-adc",
        "analog lines: a converter, free of the radio, with enough bits (also pin-adc-blocked, pin-adc-bits)",
        "readings fail",
        _CHIP_DATA,
        _analog_in,
    ),
    Rule("pin-no-dac", "an analog output on a pad without one", "PWM is not a voltage", _CHIP_DATA, _analog_out),
    Rule("pin-slow", "a line faster than the pad's maker allows", "it disturbs the radio beside the pad or fails", _CHIP_DATA, _slow),
    Rule("pin-setup", "a pad that is no ordinary one until something is changed", "it does not react before that", _CHIP_DATA, _setup),
    Rule("pin-no-touch", "a touch line on a pad that cannot sense touch", "nothing is sensed", _CHIP_DATA, _touch),
    Rule("pin-no-interrupt", "a line that needs an interrupt on a pad without one", "events or pulses are missed", _CHIP_DATA, _interrupt),
    Rule(
        "pin-interrupt-line",
        "two lines that need one and the same interrupt line",
        "only one of them is heard",
        _CHIP_DATA,
        _interrupt_lines,
    ),
    Rule("pin-no-wake", "a line that must wake a sleeping board on a pad that cannot", "the device never wakes", _CHIP_DATA, _wake),
)
