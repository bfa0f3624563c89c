"""Last of all: loads with their own supply, one at a time, off first, then on."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.circuits.ranges import Range
from pinwright.circuits.window import shown
from pinwright.fitting.plan import Placed
from pinwright.pack.bench.causes import label
from pinwright.pack.bench.look import CAUTION_LITHIUM, CAUTION_MAINS
from pinwright.pack.bench.model import Expect, Step
from pinwright.pack.bench.outputs import on_when, switched_on
from pinwright.pack.bench.power import own_supplies, rail_expect
from pinwright.pack.bench.rig import Rig
from pinwright.pack.bench.walk import must_stay_off, self_test_duty, walk
from pinwright.pack.build.model import Item, Net, Terminal

__all__ = ["cautions_of", "loads_steps"]

_HOT = "It gets hot by nature: clear its surroundings, never leave it alone on the bench, and let a thermal fuse guard what may burn."
_MOVES = "It moves without warning: hold it down, keep fingers, hair and cables away, and a hand on the switch."
_KICKS = "Its coil kicks back when it is switched off: never without its diode."
_WORDS = {"heater": _HOT, "lamp": _HOT, "motor": f"{_MOVES} {_KICKS}", "coil": _KICKS}
_SHOWN = ("mains", "fire", "heat", "battery", "fuse")
LOAD_SPREAD = (0.5, 1.2)
"""Current of a load against its nominal one: many take less, few more (common practice, no source)."""


def cautions_of(rig: Rig, placed: Placed) -> tuple[str, ...]:
    """The usual cautions for what a line switches, and those of its part.

    Parameters
    ----------
    rig : the build [-]
    placed : the line [-]
    """
    load, device = placed.line.asks.load, next((d for d in rig.build.job.nets.devices if d.name == placed.line.part), None)
    part = rig.build.job.catalogue.parts.get(device.kind) if device is not None else None
    found = [_WORDS[load.kind]] if load is not None and load.kind in _WORDS else []
    tags = {caution.tag for caution in part.caution} if part is not None else set()
    if "mains" in tags:
        found.insert(0, CAUTION_MAINS)
    if "heat" in tags and _HOT not in found:
        found.append(_HOT)
    found += [
        caution.text
        for caution in (part.caution if part is not None else ())
        if caution.tag in ("mains", "fire", "heat", "battery", "fuse")
    ]
    return tuple(dict.fromkeys(found))


def loads_steps(rig: Rig) -> Iterator[Step]:
    """Supplies of their own, then every line that switches something, in the order of the self test.

    Parameters
    ----------
    rig : the build [-]
    """
    off = own_supplies(rig)
    for ref in off:
        for net in rig.build.nets:
            if net.role == "supply" and ref in {t.item for t in net.terminals}:
                yield _supply(rig, ref, net)
    for line in walk(rig.build):
        placed = rig.placed[line]
        if _switches(placed):
            yield _load(rig, placed)
    yield Step(
        "",
        "loads",
        "All of it together",
        "Plug everything in. By itself the firmware leaves every load off: switch the loads on by your own rules, or where the firmware "
        "prints a menu by its numbers, again whenever one goes off. Stay with it for an hour; feel for warmth, measure the rails again.",
        "voltmeter",
        nets=tuple(net.id for net in rig.build.nets if net.role == "supply"),
        expects=tuple(rail_expect(rig, net, "everything at work") for net in rig.build.nets if net.role == "supply"),
        why=("supply report, burst",),
        cautions=(CAUTION_LITHIUM,) if rig.build.supply.source.is_lithium else (),
    )


def _switches(placed: Placed) -> bool:
    asks = placed.line.asks
    by_pin = asks.load is not None and asks.load.stage == "pin"
    return asks.drives and (must_stay_off(placed) or (not by_pin and (asks.load is not None or asks.needs.driver_components > 0)))


def _supply(rig: Rig, ref: str, net: Net) -> Step:
    item = rig.build.by_ref[ref]
    return Step(
        "",
        "loads",
        f"{ref}: on by itself first",
        "Loads still unplugged: switch it on and measure, then off again before you plug one in.",
        "voltmeter",
        nets=(net.id,),
        expects=(rail_expect(rig, net, f"{ref} on, loads unplugged"),),
        why=(item.note or item.title,),
        stop=True,
        cautions=("Its minus joins the board's ground at one point; its fuse sits close to its plus.",),
    )


def _load(rig: Rig, placed: Placed) -> Step:
    line, load = placed.line.id, placed.line.asks.load
    on = on_when(placed)
    transistor = next(iter(rig.pieces(line, "npn", "nmos")), None)
    expects: list[Expect] = []
    if transistor is not None:
        expects += _across(rig, placed, transistor)
    if load is not None and load.stage != "pin" and load.i_a > 0:
        end = rig.ends.get(line)
        low, high = load.i_a * LOAD_SPREAD[0], max(load.i_a * LOAD_SPREAD[1], load.inrush_a or 0.0)
        expects.append(
            Expect(
                end,
                None,
                f"pin {'high' if transistor is not None else on}",
                "current",
                low,
                high,
                load.i_a,
                "A",
                words="in the wire of the load, meter in its 10 A range",
                cause_low=("load not joined, or its supply sags",),
                cause_high=("another load than planned, or it is blocked: switch off",),
                cause_none=("transistor turned round or broken", "the load's other end is not on its supply"),
            )
        )
    off = "low" if on == "high" else "high"
    seen = f"pin {off}: nothing moves, lights or warms; pin {on}: it works"
    expects.append(
        Expect(
            rig.ends.get(line),
            None,
            f"pin {off}, then {on}",
            "sight",
            None,
            None,
            None,
            "",
            words=seen,
            cause_high=(f"on while the pin is {off}: NO and NC swapped, a part that works the other way, or a transistor broken through",),
            cause_none=("its own supply is off", "control and load side of the module are swapped"),
        )
    )
    duty = self_test_duty(placed)
    return Step(
        "",
        "loads",
        f"{line}: its load, off first",
        f"Off first: self test at {line}, pin {off}; plug the load in, its supply on. Then {on}"
        + (f" (or a duty of {duty * 100:.3g} %)" if duty is not None else "")
        + ".",
        "firmware",
        lines=(line,),
        nets=tuple(filter(None, (rig.net_id(rig.ends.get(line)),))),
        expects=tuple(expects),
        why=tuple(f"{check.what}: {check.words} [{check.formula}]" for check in placed.circuit.checks) or ("the part's data",),
        cautions=cautions_of(rig, placed),
        stop=must_stay_off(placed),
        stimulus=(("level", 1.0 if on == "high" else 0.0),),
    )


def _across(rig: Rig, placed: Placed, item: Item) -> list[Expect]:
    """Collector or drain against ground: what is left of it when on, the load's supply when off."""
    top = Terminal(item.ref, "C" if item.symbol == "npn" else "D")
    left, load = switched_on(rig, placed, item), placed.line.asks.load
    volts = Range.around(load.v_v, 0.05) if load is not None and load.v_v > 0 else rig.rail
    on, off = "high", "low"  # the transistor conducts while its pin is high, whatever its load makes of that
    source = Terminal(item.ref, "E" if item.symbol == "npn" else "S")
    weak = (
        f"too little drive: measure {label(Terminal(item.ref, item.terminals[0]), rig)} again",
        "another type of transistor, or turned round",
    )
    amps = load.i_a if load is not None else 0.0
    return [
        Expect(
            top,
            source,
            f"pin {off}, load joined",
            "voltage",
            volts.low * 0.9,
            volts.high,
            volts.middle,
            "V",
            words="off: the load draws it up to its supply",
            cause_low=("the transistor leaks or is on: pull-down missing",),
            cause_none=("load not joined, or its supply off",),
        ),
        Expect(
            top, source, f"pin {on}, load joined", "voltage", 0.0, left.high, None, "V", words=f"on, at {shown(amps, 'A')}", cause_high=weak
        ),
    ]
