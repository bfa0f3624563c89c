"""First power: what each rail must show, and what the source may give, before anything that can hurt is plugged in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from pinwright.circuits.window import shown
from pinwright.pack.bench.causes import label, of_current
from pinwright.pack.bench.model import Expect, Step
from pinwright.pack.bench.rig import Rig
from pinwright.pack.build.model import Net, Terminal

if TYPE_CHECKING:
    from pinwright.supply.budget import Consumer, Draw

__all__ = ["first_power_steps", "own_supplies", "rail_expect", "source_terminal", "still_plugged", "unplugged_draw"]

HEAVY_A = 0.1
"""A part that takes more than this at once hides a fault of the board: it is plugged in after the rails are right [A] (our choice)."""
LIMIT_SHARE = 1.3
"""A bench supply is limited to so many times the largest current reckoned with (common practice, no source)."""
LIMIT_LEAST_A = 0.05
"""Least limit that lets capacitors fill [A] (common practice, no source)."""


def own_supplies(rig: Rig) -> tuple[str, ...]:
    """Supplies that feed nothing but loads: they stay off until the very end.

    Parameters
    ----------
    rig : the build [-]
    """
    build, found = rig.build, []
    for item in build.items:
        if item.kind != "supply" or item is rig.source:
            continue
        fed = {t.item for net in build.nets if net.role == "supply" and item.ref in {x.item for x in net.terminals} for t in net.terminals}
        parts = [ref for ref in fed if build.by_ref[ref].kind == "part"]
        if build.board.ref not in fed and set(parts) <= set(rig.load_parts):
            found.append(item.ref)
    return tuple(found)


def rail_expect(rig: Rig, net: Net, when: str) -> Expect:
    """What a meter shows on a rail.

    Parameters
    ----------
    rig : the build [-]
    net : the rail [-]
    when : what is on meanwhile [-]
    """
    volts = rig.supply_v(net)
    feeder = next((t for t in net.terminals if rig.build.by_ref[t.item].kind in ("board", "supply")), net.terminals[0])
    far = next((t for t in reversed(net.terminals) if rig.build.by_ref[t.item].kind == "part"), feeder)
    parts = ", ".join(dict.fromkeys(t.item for t in net.terminals if rig.build.by_ref[t.item].kind == "part")) or "a part"
    return Expect(
        far,
        rig.ground,
        when,
        "voltage",
        volts.low,
        volts.high,
        volts.middle,
        "V",
        words=f"{net.name} at {label(far, rig)}",
        cause_low=(f"something on the rail draws too much: unplug {parts} in turn", "the source sags: thin wire, empty cell, weak adapter"),
        cause_high=("the wrong supply is joined: switch off before it reaches the parts", f"{net.name} touches a higher rail"),
        cause_none=(f"{label(feeder, rig)} is not joined, or its regulator is off", "the black probe is not on ground"),
    )


def first_power_steps(rig: Rig) -> Iterator[Step]:
    """Current first, then every rail the board's own source feeds.

    Parameters
    ----------
    rig : the build [-]
    """
    build, supply = rig.build, rig.build.supply
    off = own_supplies(rig)
    quiet = (f"Leave {', '.join(off)} off. " if off else "") + (f"Unplug {', '.join(rig.load_parts)}. " if rig.load_parts else "")
    later = heavy_parts(rig)
    apart = f"{quiet}Unplug {', '.join(later)} as well: more than {shown(HEAVY_A, 'A')} each. " if later else quiet
    left = still_plugged(rig)
    low, high, none = of_current([c.name for c in sorted(left, key=lambda c: -c.draw.burst)])
    draw = unplugged_draw(rig)
    unknown = ", ".join(c.name for c in left if not c.known)
    rails = [net for net in build.nets if net.role == "supply" and not {t.item for t in net.terminals} & set(off)]
    at = source_terminal(rig)
    plus = at if at in build.net_at else None
    entry = supply.entry.pin or "its supply pin"
    how = (
        "Feed the board over USB through a USB meter"
        if plus is None
        else f"Put the meter (10 A range) into the wire from {label(plus, rig)} to {entry}, or set a bench supply to "
        f"{shown(supply.source.v.middle, 'V')} and limit it to {shown(max(draw.burst * LIMIT_SHARE, LIMIT_LEAST_A), 'A')}"
    )
    yield Step(
        "",
        "first power",
        "Switch on, watch the current",
        f"{apart}{how}. Hand on the switch; watch for smell, smoke and warmth for ten seconds.",
        "ammeter",
        expects=(
            Expect(
                at,
                None,
                "loads unplugged, whatever firmware",
                "current",
                least_current_a(rig),
                draw.burst,
                draw.awake,
                "A",
                words="no more than what is still plugged in takes at once, no less than a chip asleep"
                + (f"; nobody gives the current of {unknown}: unplug it where it has a plug, or add what it takes" if unknown else ""),
                cause_low=low,
                cause_high=high,
                cause_none=none,
            ),
        ),
        why=("sum by state of the consumers still plugged in, through the board's regulators, supply report", supply.source.words),
        cautions=("If the current is higher than this, switch off at once and go back to the short checks.", *_source_cautions(rig)),
        stop=True,
    )
    for net in rails:
        yield Step(
            "",
            "first power",
            f"{net.name}: right voltage",
            f"{apart}Black probe on ground, red probe where the rail ends.",
            "voltmeter",
            nets=(net.id,),
            expects=(rail_expect(rig, net, "loads unplugged"),),
            why=("source, regulator and feed with their tolerances, supply report",),
            stop=True,
        )
    if later:
        again = [net for net in rails if {t.item for t in net.terminals} & set(later)]
        yield Step(
            "",
            "first power",
            f"{', '.join(later)}: the rails hold with them",
            f"Switch off, plug {', '.join(later)} in again, raise the limit of a bench supply to "
            f"{shown(max(unplugged_draw(rig, later).burst * LIMIT_SHARE, LIMIT_LEAST_A), 'A')}, switch on.",
            "voltmeter",
            nets=tuple(net.id for net in again),
            expects=tuple(rail_expect(rig, net, f"with {', '.join(later)}") for net in again),
            why=("what takes much is tried after the board itself has proved sound", "supply report, burst"),
            stop=True,
        )


def heavy_parts(rig: Rig) -> tuple[str, ...]:
    """Parts that are no loads but take much by themselves: they are plugged in after the rails have proved right.

    Parameters
    ----------
    rig : the build [-]
    """
    amps: dict[str, float] = {}
    for consumer in rig.build.supply.fed:
        ref = rig.refs.get(consumer.name, consumer.name)
        item = rig.build.by_ref.get(ref)
        if item is not None and item.kind == "part" and ref not in rig.load_parts:
            amps[ref] = amps.get(ref, 0.0) + consumer.draw.burst
    return tuple(name for name, taken in amps.items() if taken > HEAVY_A)


def still_plugged(rig: Rig, again: tuple[str, ...] = ()) -> tuple[Consumer, ...]:
    """Consumers the source feeds while loads and heavy parts are unplugged and supplies of their own are off.

    Parameters
    ----------
    rig : the build [-]
    again : heavy parts that are plugged in all the same [-]
    """
    off, nets = set(own_supplies(rig)), [net for net in rig.build.nets if net.role == "supply"]
    dark = {t.item for net in nets for t in net.terminals if off & {x.item for x in net.terminals}}
    lit = {t.item for net in nets for t in net.terminals if not off & {x.item for x in net.terminals}}
    gone = set(rig.load_parts) | (dark - lit) | (set(heavy_parts(rig)) - set(again))
    return tuple(consumer for consumer in rig.build.supply.fed if rig.refs.get(consumer.name, consumer.name) not in gone)


def unplugged_draw(rig: Rig, again: tuple[str, ...] = ()) -> Draw:
    """What the source gives to them [A], through the regulators on the way as in the supply report.

    Parameters
    ----------
    rig : the build [-]
    again : heavy parts that are plugged in all the same [-]
    """
    from pinwright.supply.rails import source_draw, stages_of

    supply, board, left = rig.build.supply, rig.build.plan.view.board, list(still_plugged(rig, again))
    hottest_c = rig.build.job.setting.ambient_c[1]
    stages = stages_of(board, supply.entry, supply.source, left, hottest_c, supply.wire_drop_v)
    return source_draw(stages, left, supply.source, board, supply.entry)


def source_terminal(rig: Rig) -> Terminal:
    """Where the current of the source is measured: its plus, or its plug.

    Parameters
    ----------
    rig : the build [-]
    """
    ref = rig.source.ref if rig.source is not None else rig.build.board.ref
    plus = (t for net in rig.build.nets for t in net.terminals if t.item == ref and t.name == "+")
    return next(plus, Terminal(ref, "plug"))


def least_current_a(rig: Rig) -> float:
    """Least the source can give with a chip in it [A]: its deepest sleep, and what always draws on the board."""
    view = rig.build.plan.view
    asleep = min((state.typ_a or state.max_a or 0.0 for state in view.chip.current), default=0.0)
    always = sum(item.i_a or 0.0 for item in view.board.onboard)
    draw = unplugged_draw(rig)
    return min(asleep * 0.5 + always * 0.5, draw.awake, draw.burst)


def _source_cautions(rig: Rig) -> tuple[str, ...]:
    from pinwright.pack.bench.look import CAUTION_LITHIUM

    source = rig.build.supply.source
    fused = rig.build.supply.feed.fused if rig.build.supply.feed is not None else None
    found: tuple[str, ...] = (CAUTION_LITHIUM,) if source.is_lithium else ()
    board = rig.build.plan.view.board
    if rig.build.supply.entry.pin.upper() != "USB" and board.usb != "none":
        entry = rig.build.supply.entry.pin or "another supply"
        found += (f"Do not plug in USB while {entry} is fed, unless the board's maker allows both at once.",)
    return (*found, *((f"A fuse of {fused.fuse_a:g} A belongs close to the plus of the source.",) if fused is not None else ()))
