"""The self test, line by line: what to press or do, what must happen, and what pin and firmware must show."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from pinwright.circuits.window import shown
from pinwright.fitting.nets import Bus
from pinwright.fitting.plan import Placed
from pinwright.pack.bench.causes import of_pin
from pinwright.pack.bench.inputs import analog, digital, idle_bus
from pinwright.pack.bench.model import Expect, Step
from pinwright.pack.bench.outputs import driven, on_when
from pinwright.pack.bench.rig import Rig
from pinwright.pack.bench.walk import LOAD_SHOWN_S, feed_of, must_stay_off, self_test_duty, walk

__all__ = ["running_steps"]

_PULSED = ("pulse", "i2s")


def running_steps(rig: Rig) -> Iterator[Step]:
    """One step for every line, in the order the self test walks them.

    Parameters
    ----------
    rig : the build [-]
    """
    for line in walk(rig.build):
        placed = rig.placed[line]
        expects, do, stimulus = _line(rig, placed)
        net = rig.net_id(rig.pins.get(line))
        cautions: tuple[str, ...] = ()
        if must_stay_off(placed):
            cautions = (f"{line} must stay {placed.line.asks.safe_level} until you mean it: its load is unplugged in this step.",)
        yield Step(
            "",
            "running",
            f"{line} on pin {rig.pins[line].name}" if line in rig.pins else line,
            do,
            "firmware",
            lines=(line,),
            nets=(net,) if net else (),
            expects=expects,
            why=_why(rig, placed),
            cautions=cautions,
            stimulus=stimulus,
            stop=must_stay_off(placed),
        )


def _line(rig: Rig, placed: Placed) -> tuple[tuple[Expect, ...], str, tuple[tuple[str, float], ...]]:
    asks, line = placed.line.asks, placed.line.id
    if asks.direction == "analog-in":
        pairs = list(analog(rig, placed))
        values = dict.fromkeys(quantity for _, quantity in pairs if quantity is not None)
        found = tuple((f"quantity {number + 1}", quantity) for number, quantity in enumerate(values))
        do = f"Give {placed.line.part} the values below; compare meter and print-out."
        feed = feed_of(placed, rig.placed.values())
        if feed is not None:
            do += (
                f" The firmware switches {feed.line.id} on for the reading only: for the meter, let the step of {feed.line.id} hold it on, "
                "and measure this pin meanwhile."
            )
        return tuple(expect for expect, _ in pairs), do, found
    if asks.direction == "analog-out":
        half = rig.rail.middle / 2
        expect = Expect(
            rig.pins.get(line), rig.ground, "half scale", "voltage", rig.rail.low / 2 * 0.95, rig.rail.high / 2 * 1.05, half, "V"
        )
        return (expect,), "The self test writes half scale.", (("share", 0.5),)
    if asks.signal in ("i2c", "onewire"):
        return (idle_bus(rig, placed), *_found(rig, placed)), "Let the self test scan the bus.", ()
    if asks.direction in ("bidir", "open-drain") and asks.signal == "pulse" and placed.net.bus < 0:
        # Never driven high: either side pulls it low or lets it go.
        do = f"Let the self test ask {placed.line.part} once: an answer or plausible values must be printed."
        return (idle_bus(rig, placed),), do, ()
    if asks.signal == "touch":
        seen = Expect(
            rig.pins.get(line), None, "a finger on it and off", "sight", None, None, None, "", words="the printed count changes clearly"
        )
        return (seen,), f"Touch {placed.line.part} and let go.", ()
    if asks.direction in ("in",):
        return tuple(digital(rig, placed)), f"Make {placed.line.part} give both levels; the self test prints each.", ()
    duty = self_test_duty(placed)
    if duty is not None:
        expects = (*driven(rig, placed, "pwm", duty), *driven(rig, placed, "low"))
        do = f"The self test drives it with a duty of {duty * 100:.3g} % and {_held(placed)}, then low; {_happens(rig, placed)}."
        return expects, do, (("duty", duty),)
    levels = ("high", "low") if on_when(placed) == "high" else ("low", "high")
    expects = tuple(expect for level in levels for expect in driven(rig, placed, level))
    steps = tuple(("level", 1.0 if level == "high" else 0.0) for level in levels)
    if asks.signal in _PULSED or asks.needs.exact_pulses:
        words = "pulses between the two levels below; a meter shows some average"
        few, much, none = of_pin(rig, placed)
        at = rig.pins.get(line)
        train = Expect(
            at, rig.ground, "the self test sends pulses", "voltage", 0.0, rig.rail.high, None, "V", "scope only", words, few, much, none
        )
        expects = (train, *expects)
    if placed.net.bus >= 0 or asks.role == "CS":
        expects = tuple(replace(expect, meter="scope only", when=expect.when.replace("drives it", "talks:")) for expect in expects)
        return expects, f"The self test talks over the bus: the line moves between the two levels below; {_happens(rig, placed)}.", ()
    does = {"high": "lets it go" if asks.direction in ("open-drain", "bidir") else "drives it high", "low": "drives it low"}
    if asks.signal in _PULSED or asks.needs.exact_pulses:
        return expects, f"The self test sends pulses, then stops; {_happens(rig, placed)}.", steps
    return expects, f"The self test {does[levels[0]]} and {_held(placed)}, then {does[levels[1]]}; {_happens(rig, placed)}.", steps


def _held(placed: Placed) -> str:
    """How long a state lasts, the same in both languages."""
    if must_stay_off(placed):
        return f"holds it for {LOAD_SHOWN_S:g} s at most, for it must stay off (repeat the step for each measurement)"
    return "holds it until you press Enter"


def _happens(rig: Rig, placed: Placed) -> str:
    """What must happen where people can see it."""
    asks = placed.line.asks
    load = asks.load
    if asks.signal in ("spi", "uart", "i2s"):
        return f"then it talks to {placed.line.part} and prints the answer"
    if must_stay_off(placed):
        return "with its load unplugged nothing moves, only the voltage changes"
    if load is None or load.kind == "input":
        return f"watch {placed.line.part} answer, where it can be seen or heard"
    words = {"led": "lights", "lamp": "lights", "buzzer": "sounds", "motor": "turns", "coil": "pulls", "heater": "gets warm"}
    return f"{placed.line.part} {words.get(load.kind, 'works')} while the pin is {on_when(placed)} (with its supply on, at the end)"


def _found(rig: Rig, placed: Placed) -> Iterator[Expect]:
    """What a scan of the bus must find."""
    at, net = rig.pins.get(placed.line.id), placed.net
    if placed.line.asks.signal == "onewire":
        count = float(len(net.lines))
        few = ("a part is joined wrong or without supply", "pull-up missing or too weak for the wire")
        yield Expect(at, None, "the self test searches the wire", "count", count, count, count, "1", words="parts that answer",
                     cause_low=few, cause_high=("a part of another job is on the wire",), cause_none=few)  # fmt: skip
        return
    bus = _bus(rig, placed)
    address = bus.addresses.get(placed.line.part) if bus is not None else None
    if address is None:
        return
    lost = (f"{placed.line.part} without supply", "SDA and SCL swapped", f"its address jumper is set to another value than 0x{address:02X}",
            "a pull-up is missing", "another part holds the bus low: unplug them in turn")  # fmt: skip
    yield Expect(at, None, "the self test scans all addresses", "address", float(address), float(address), float(address), "1",
                 words=f"0x{address:02X} answers", cause_low=lost, cause_high=lost, cause_none=lost)  # fmt: skip


def _bus(rig: Rig, placed: Placed) -> Bus | None:
    buses = rig.build.job.nets.buses
    return buses[placed.net.bus] if 0 <= placed.net.bus < len(buses) else None


def _why(rig: Rig, placed: Placed) -> tuple[str, ...]:
    view, asks = rig.build.plan.view, placed.line.asks
    electrical = view.chip.electrical
    found = []
    if asks.drives and asks.direction != "analog-out":
        at = f" at {shown(electrical.voh_i_a.value, 'A')}" if electrical.voh_i_a is not None and electrical.voh_i_a.value else ""
        found.append(f"VOH and VOL of the chip{at} [{view.chip_cite(electrical.voh_min)}]")
    if asks.reads:
        found.append(f"VIH and VIL of the chip [{view.chip_cite(electrical.vih_min)}]")
    if asks.curve is not None:
        found.append(
            f"the sensor's law ({asks.curve.kind}) over its tolerances, and the converter's errors: circuits.curves, circuits.chain"
        )
    found += [f"{check.what}: {check.words} [{check.formula}]" for check in placed.circuit.checks[:3]]
    return tuple(found)
