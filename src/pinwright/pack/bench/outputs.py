"""What a line the board drives must show, high, low and with PWM, at its pin and at what takes its command."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.circuits.ranges import Range
from pinwright.fitting.interface.rails import part_rail
from pinwright.fitting.plan import Placed
from pinwright.fitting.setting import Switch
from pinwright.pack.bench.causes import label, of_pin
from pinwright.pack.bench.mesh import tolerance_of
from pinwright.pack.bench.model import Expect, Meter
from pinwright.pack.bench.rig import Rig
from pinwright.pack.bench.startup import control_of
from pinwright.pack.build.model import Item, Terminal

__all__ = ["driven", "on_when", "pin_current", "switch_of", "switched_on"]

V_BE_LOW_V, V_BE_HIGH_V = 0.5, 1.0
"""Base of a silicon transistor that is switched on, hot and cold [V]  [BC547 and 2N2222A data sheets: VBE(sat) 0.6 to 0.9 V; ± 0.1 V]."""
_SHIFTED_LOW_V = 0.4


def pin_current(rig: Rig, placed: Placed, volts: float) -> Range:
    """Current a pin gives while it is high (or takes, where it sinks) [A]: base resistor, pulls against it, lamp, or what the part asks.

    Parameters
    ----------
    rig : the build [-]
    placed : the line [-]
    volts : its level [V]
    """
    asks, low, high = placed.line.asks, 0.0, 0.0
    load = asks.load
    for item in rig.pieces(placed.line.id, "resistor"):
        ohm = item.value or 0.0
        if not ohm:
            continue
        share = tolerance_of(rig.build, item)
        if item.role == "base":
            across = (max(volts - V_BE_HIGH_V, 0.0), max(volts - V_BE_LOW_V, 0.0))
        elif item.role == "pull-down":
            across = (volts, volts)
        elif item.role == "series" and load is not None and load.stage == "pin" and load.vf_min_v and load.vf_max_v:
            across = (max(volts - load.vf_max_v, 0.0), max(volts - load.vf_min_v, 0.0))
        else:
            continue
        low, high = low + across[0] / (ohm * (1 + share)), high + across[1] / (ohm * (1 - share))
    is_bare = placed.circuit.of("driver") is None and (load is None or load.stage != "pin")
    if is_bare and on_when(placed) == "high":  # a part that is on while the pin is low takes its current then
        high += asks.i_in_a
    return Range(low, max(high, low))


def on_when(placed: Placed) -> str:
    """Level of the pin at which what it drives is on.

    Parameters
    ----------
    placed : the line [-]
    """
    asks = placed.line.asks
    if asks.load is not None and asks.load.inverts:
        return "low"
    return "low" if asks.safe_level in ("high", "released") else "high"


def switch_of(rig: Rig, item: Item) -> Switch | None:
    """Data of a transistor of the build.

    Parameters
    ----------
    rig : the build [-]
    item : the transistor [-]
    """
    return next((switch for switch in rig.build.job.setting.bench.switches if switch.part == item.part), None)


def switched_on(rig: Rig, placed: Placed, item: Item) -> Range:
    """Voltage left across a transistor that is on [V]: its saturation voltage, or its current in its on-resistance when hot.

    Parameters
    ----------
    rig : the build [-]
    placed : the line it serves [-]
    item : the transistor [-]
    """
    switch, load = switch_of(rig, item), placed.line.asks.load
    if item.symbol == "npn":
        return Range(0.0, max(switch.vce_sat_v, 0.1) if switch is not None else 0.4)
    amps = load.i_a if load is not None else 0.0
    ohm = max((ohm for volts, ohm in switch.r_on if volts <= rig.rail.high), default=None) if switch is not None and switch.r_on else None
    ohm = ohm if ohm is not None else max((r for _, r in switch.r_on), default=0.1) if switch is not None else 0.1
    return Range(0.0, max(amps * ohm * 2.0, 0.02))  # silicon doubles its resistance from 25 to 150 °C (common practice, no source)


def driven(rig: Rig, placed: Placed, level: str, duty: float | None = None) -> Iterator[Expect]:
    """What pin and control terminal show while firmware drives a level, or a PWM of some duty.

    Parameters
    ----------
    rig : the build [-]
    placed : the line [-]
    level : ``high``, ``low``, or ``pwm`` [-]
    duty : share of the time it is high [-]
    """
    pin = rig.pins.get(placed.line.id)
    high, low = _high(rig, placed), _low(rig, placed)
    volts, meter, when = _mixed(level, duty, low, high)
    few, much, none = of_pin(rig, placed)
    does_on = level == on_when(placed)
    words = "average; the edges need a scope" if level == "pwm" else level
    if level != "pwm" and (placed.line.asks.safe_level != "any" or placed.line.asks.load is not None):
        words = "on" if does_on else "off"
    yield Expect(pin, rig.ground, when, "voltage", volts.low, volts.high, volts.middle, "V", meter, words, few, much, none)
    control = control_of(rig, placed)
    if control is not None and control != pin and rig.net_id(control) != rig.net_id(pin):
        at = _at_control(rig, placed, control, level, duty, low, high)
        if at is not None:
            text = label(control, rig)
            yield Expect(control, rig.ground, when, "voltage", at.low, at.high, at.middle, "V", meter, text, few, much, none)
    end = rig.ends.get(placed.line.id)
    shifted = placed.circuit.of("level shifter") is not None
    if end is not None and end != control and shifted and duty is None:
        rail = part_rail(placed.line.asks, rig.build.plan.view) or rig.rail
        out = Range(rail.low * 0.8, rail.high, rail.middle) if level == "high" else Range(0.0, _SHIFTED_LOW_V, 0.0)
        far = f"behind the shifter, at {label(end, rig)}"
        cause = ("the shifter has no supply on one side", "its sides are swapped")
        yield Expect(end, rig.ground, when, "voltage", out.low, out.high, out.middle, "V", "shows", far, cause, (), cause)


def _high(rig: Rig, placed: Placed) -> Range:
    """Where the pin's level and the current it draws there agree [V]: the current grows with the level, the level falls with it."""
    if placed.line.asks.direction in ("open-drain", "bidir") and placed.net.bus < 0:  # let go, never driven high
        return rig.pin_at_rest(placed) or rig.gives_high(0.0)
    bottom, top = 0.0, rig.rail.high
    for _ in range(40):
        middle = (bottom + top) / 2
        bottom, top = (middle, top) if rig.gives_high(pin_current(rig, placed, middle).high).low > middle else (bottom, middle)
    return rig.gives_high(pin_current(rig, placed, bottom).high)


def _low(rig: Rig, placed: Placed) -> Range:
    asks, load = placed.line.asks, placed.line.asks.load
    sinks = on_when(placed) == "low"
    amps = max(asks.i_in_a, load.i_a if load is not None and load.stage == "pin" else 0.0) if sinks else 0.0
    # Whoever pulls the wire up has to be sunk as well.
    pulled = sum(volts / ohm for ohm, _, _, volts in rig.hidden_pulls(placed) if volts)
    for edge in rig.edges:
        pin = rig.net_id(rig.pins.get(placed.line.id))
        other = edge.b if edge.a == pin else edge.a if edge.b == pin else ""
        pulled += rig.known[other].high / edge.ohm.low if other in rig.known else 0.0
    return rig.gives_low(amps + pulled)


def _mixed(level: str, duty: float | None, low: Range, high: Range) -> tuple[Range, Meter, str]:
    if level != "pwm" or duty is None:
        return (high if level == "high" else low), "shows", f"the self test drives it {level}"
    ends = [duty * top + (1 - duty) * bottom for top, bottom in ((high.low, low.low), (high.high, low.high), (high.middle, low.middle))]
    return Range(ends[0] * 0.98, ends[1] * 1.02, min(max(ends[2], ends[0]), ends[1])), "average", f"PWM with a duty of {duty * 100:.3g} %"


def _at_control(rig: Rig, placed: Placed, control: Terminal, level: str, duty: float | None, low: Range, high: Range) -> Range | None:
    """Voltage behind the resistor that leads to what takes the command [V]."""
    item = rig.build.by_ref.get(control.item)
    asks, load = placed.line.asks, placed.line.asks.load
    if item is not None and item.symbol == "npn":
        on = Range(V_BE_LOW_V, V_BE_HIGH_V, 0.7)
    elif load is not None and load.stage == "pin" and load.vf_min_v and load.vf_max_v:
        if on_when(placed) == "low":  # its anode on the supply: what is left below it
            on, low = high, Range(max(rig.rail.low - load.vf_max_v, 0.0), max(rig.rail.high - load.vf_min_v, 0.0))
        else:
            on, low = Range(load.vf_min_v * 0.9, load.vf_max_v * 1.05), Range(0.0, load.vf_min_v, 0.0)
        on = on if on_when(placed) == "high" else Range(max(rig.rail.low - load.vf_max_v, 0.0), rig.rail.high)
    else:
        series = next((i for i in rig.pieces(placed.line.id, "resistor") if i.role == "series"), None)
        lost = asks.i_in_a * (series.value or 0.0) * 1.1 if series is not None else 0.0
        on = Range(max(high.low - lost, 0.0), high.high, max(high.middle - lost / 2, max(high.low - lost, 0.0)))
    return None if item is not None and item.symbol == "npn" and duty is not None else _mixed(level, duty, low, on)[0]
