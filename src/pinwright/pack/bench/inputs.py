"""What a line the board reads must show, both ways, at the pin and in the firmware."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.circuits.ranges import Range
from pinwright.fitting.plan import Placed
from pinwright.pack.bench.analog import reading_at, stimuli, volts_at, volts_over
from pinwright.pack.bench.causes import of_pin
from pinwright.pack.bench.levels import does_contact, is_contact, part_gives
from pinwright.pack.bench.model import Expect, Meter
from pinwright.pack.bench.rig import Rig

__all__ = ["analog", "digital", "idle_bus"]


def digital(rig: Rig, placed: Placed) -> Iterator[Expect]:
    """Both levels of a digital input: voltage at the pin, and what the firmware must print.

    Parameters
    ----------
    rig : the build [-]
    placed : the line [-]
    """
    asks = placed.line.asks
    fast = asks.signal in ("pulse", "uart", "spi", "i2s") or asks.rest == "pulses"
    for level in ("high", "low"):
        part = part_gives(rig, placed, "high" if level == "high" else "low")
        pull = _own_pull(placed)
        volts = rig.pin_at_rest(placed, pull, part)
        words = _act(placed, level)
        low, high, none = of_pin(rig, placed, part)
        if volts is not None and volts.high < rig.threshold("vil") and level == "high":
            low = ("a divider or pull that cannot make this high: check its values", *low)
        idle = asks.rest == level or (is_contact(placed) and level != does_contact(placed))
        meter: Meter = "not held" if volts is None else "shows" if idle or not fast else "scope only"
        bounds = (None, None, None) if volts is None else (volts.low, volts.high, volts.typ)
        limit = f"read as high from {rig.threshold('vih'):.3g} V" if level == "high" else f"read as low up to {rig.threshold('vil'):.3g} V"
        at = rig.pins.get(placed.line.id)
        yield Expect(at, rig.ground, words, "voltage", bounds[0], bounds[1], bounds[2], "V", meter, limit, low, high, none)
        end = rig.ends.get(placed.line.id)
        if part is not None and rig.net_id(end) != rig.net_id(at) and placed.circuit.of("level shifter") is None:
            far = "before the divider or resistor, on the part's side"
            yield Expect(end, rig.ground, words, "voltage", part.low, part.high, part.middle, "V", meter, far, low, high, none)
        one = 1.0 if level == "high" else 0.0
        if not (fast and asks.signal != "pulse"):
            yield Expect(at, None, words, "reading", one, one, one, "1", words=f"the self test prints {level}",
                         cause_low=low, cause_high=high, cause_none=none)  # fmt: skip


def _own_pull(placed: Placed) -> str:
    internal = placed.circuit.of("internal pull")
    if internal is None or "on the board" in internal.words:
        return ""
    return "down" if "pull-down" in internal.words else "up"


def _act(placed: Placed, level: str) -> str:
    """What somebody does for a level."""
    part, asks = placed.line.part, placed.line.asks
    if is_contact(placed):
        closes = level == does_contact(placed)
        if asks.vol is not None:  # an open collector
            return f"{part} {'pulls the line low' if closes else 'lets the line go'}"
        return f"{part} {'closed (press it, bring its magnet, trip it)' if closes else 'open (let go)'}"
    if asks.signal == "uart":
        return f"{part} silent" if level == "high" else f"{part} sends"
    if asks.rest == level:
        return f"{part} left alone"
    return f"{part} made to give {level}: give it what it senses, or what makes it answer"


def analog(rig: Rig, placed: Placed) -> Iterator[tuple[Expect, float | None]]:
    """Stimuli of an analog input with the voltage at the pin and the reading; the second of each pair is the stimulus.

    Parameters
    ----------
    rig : the build [-]
    placed : the line [-]
    """
    curve = placed.line.asks.curve
    at = rig.pins.get(placed.line.id)
    low, high, none = of_pin(rig, placed)
    if curve is None or volts_over(rig, placed) is None:
        top = rig.rail.high
        yield Expect(at, rig.ground, f"{placed.line.part} at work", "voltage", 0.0, top, None, "V", "shows",
                     "its law is not known: note what it gives at a state you know", low, high, none), None  # fmt: skip
        return
    for quantity, words in stimuli(curve):
        volts = volts_at(rig, placed, quantity)
        if volts is None:
            continue
        when = f"{placed.line.part} {words}"
        yield (
            Expect(at, rig.ground, when, "voltage", volts.low, volts.high, volts.middle, "V", "shows", curve.quantity, low, high, none),
            quantity,
        )
        found = reading_at(rig, placed, quantity)
        unit = "°C" if curve.unit == "degC" else curve.unit
        bounds = (found.low, found.high) if found is not None else (None, None)
        text = curve.quantity if found is not None else "beyond what the converter reads: the reading stands at its end, or has no value"
        printed = Expect(at, None, when, "reading", bounds[0], bounds[1], quantity, unit, words=text, cause_low=low, cause_high=high,
                         cause_none=(*none, "the firmware reads another channel"))  # fmt: skip
        yield printed, quantity


def idle_bus(rig: Rig, placed: Placed) -> Expect:
    """Level of a shared open-drain wire while nobody talks: its pull-ups hold it.

    Parameters
    ----------
    rig : the build [-]
    placed : the line [-]
    """
    volts = rig.pin_at_rest(placed, _own_pull(placed))
    low, high, none = of_pin(rig, placed)
    found = volts if volts is not None else Range(0.0, rig.rail.high)
    meter: Meter = "shows" if volts is not None else "not held"
    words = f"rests high; read as high from {rig.threshold('vih'):.3g} V"
    few = ("a pull-up is missing or hangs on a part without supply", *low)
    at = rig.pins.get(placed.line.id)
    return Expect(at, rig.ground, "nobody talks", "voltage", found.low, found.high, found.middle, "V", meter, words, few, high, none)
