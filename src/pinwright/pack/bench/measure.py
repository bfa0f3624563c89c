"""Steps without power: rails against ground, every net end to end, every resistor, every pin against its neighbours, diodes."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.circuits.ranges import Range
from pinwright.circuits.window import shown
from pinwright.circuits.wires import copper_resistance
from pinwright.pack.bench.causes import label, of_resistor, of_short, value_words
from pinwright.pack.bench.mesh import edges_of, resistance
from pinwright.pack.bench.model import Expect, Step
from pinwright.pack.bench.rig import Rig
from pinwright.pack.build.model import Item, Net, Terminal

__all__ = ["continuity_steps"]

LEADS_OHM = 1.0
"""What meter leads and two contacts add at most [ohm] (common practice, no source)."""
SHORT_OHM = 1e3
"""Nets that nothing joins show more than this, even through the protection diodes of chips [ohm] (common practice, no source)."""
MODULE_OHM = 100.0
"""A rail of boards and modules nobody gives an input resistance for shows more than this against ground once their capacitors are full,
with what takes much unplugged [ohm] (common practice, no source)."""
DIODE_V = (0.15, 0.8)
"""What a diode test shows forward: from a Schottky diode to a large silicon one [V] (common practice, no source)."""
KIRCHHOFF = "resistors in series and in parallel [Kirchhoff]; chips and modules can lower a reading, never raise it"


def continuity_steps(rig: Rig) -> Iterator[Step]:
    """Rails against ground, every net end to end, every fitted resistor, every pin against its neighbours, diodes.

    Parameters
    ----------
    rig : the build [-]
    """
    yield from _rails(rig)
    for net in rig.build.nets:
        yield _net(rig, net)
    yield from _fitted(rig)
    for pin in dict.fromkeys(rig.pins.values()):
        yield _pin(rig, pin)
    for item in rig.build.items:
        if item.symbol == "diode" and {"A", "K"} <= set(item.terminals):
            yield _diode(rig, item)


def _rails(rig: Rig) -> Iterator[Step]:
    rails = [net for net in rig.build.nets if net.role == "supply"]
    for number, net in enumerate(rails):
        off = _unplugged(rig, net)
        least, words = _least_ohm(rig, net, off)
        expects = [_apart(rig, net, rig.ground, least, f"{net.name} and ground", words)]
        expects += [
            _apart(rig, net, other.terminals[0], _between_ohm(rig, net, other), f"{net.name} and {other.name}")
            for other in rails[number + 1 :]
        ]
        quiet = f"Unplug {', '.join(off)} for this step: what takes much at little voltage hides a short. " if off else ""
        yield Step(
            "",
            "continuity",
            f"{net.name}: no short",
            f"{quiet}Red probe on the rail, black as given; wait until the reading stands still."
            + (" Then plug them in again: the next steps measure at their ends." if off else ""),
            "ohmmeter",
            nets=(net.id,),
            expects=tuple(expects),
            why=("capacitors fill from the meter: the reading climbs (common practice)", KIRCHHOFF),
            stop=True,
            cautions=("Do not go on while a rail shows a short: the first power would feed it.",),
        )


def _unplugged(rig: Rig, net: Net) -> tuple[str, ...]:
    """What comes off a rail for its short check: supplies, loads, and parts that may be a few ohms by themselves."""
    on_rail = dict.fromkeys(terminal.item for terminal in net.terminals)
    amps = {ref: sum(c.draw.burst for c in rig.build.supply.consumers if rig.refs.get(c.name, c.name) == ref) for ref in on_rail}
    loads = set(rig.load_parts)
    return tuple(
        ref
        for ref in on_rail
        if rig.build.by_ref[ref].kind == "supply"
        or ref in loads
        or (rig.build.by_ref[ref].kind == "part" and amps[ref] * 2 * MODULE_OHM > (net.v_v or 0.0))
    )


def _least_ohm(rig: Rig, net: Net, off: tuple[str, ...]) -> tuple[float, str]:
    """What a rail must show at least with those unplugged, and why: resistors and transistors alone are no module."""
    left = [t.item for t in net.terminals if t.item not in off and rig.build.by_ref[t.item].kind in ("board", "part")]
    if left:
        return MODULE_OHM, "climbs while capacitors charge"
    return SHORT_OHM, ""


def _between_ohm(rig: Rig, net: Net, other: Net) -> float:
    """Least between two rails: the board's own regulator lies between those it is joined to."""
    on_board = all(any(t.item == rig.build.board.ref for t in each.terminals) for each in (net, other))
    return MODULE_OHM if on_board else SHORT_OHM


def _apart(rig: Rig, net: Net, other: Terminal, least: float, words: str, more: str = "") -> Expect:
    at = next((t for t in net.terminals if t.item == rig.build.board.ref), net.terminals[0])
    found = resistance(rig.edges, net.id, rig.net_id(other))
    return _kept_apart(
        at, other, found, least, f"{words}: {_between_words(found)}" + (f"; {more}" if more else ""), of_short(words.split(" and "))
    )


def _between_words(found: Range | None) -> str:
    return "nothing joins them" if found is None else f"about {shown(found.middle)} of resistors"


def _kept_apart(at: Terminal, other: Terminal, found: Range | None, least: float, words: str, cause_low: tuple[str, ...]) -> Expect:
    """Two ends that no wire joins: at least so many ohms, or half of what resistors between them make; no more than those allow."""
    low = least if found is None else min(least, 0.5 * found.low)
    high = None if found is None else found.high * 1.02 + LEADS_OHM
    usual = found.middle if found is not None else None
    return Expect(at, other, "no power", "resistance", low, high, usual, "Ω", words=words, cause_low=cause_low)


def _net(rig: Rig, net: Net) -> Step:
    order = sorted(net.terminals, key=lambda t: t.item != rig.build.board.ref)
    hub = order[0]
    metres = sum(wire.length_m for wire in rig.build.wires if wire.net == net.id)
    thin = min((wire.area_mm2 for wire in rig.build.wires if wire.net == net.id), default=0.14)
    limit = LEADS_OHM + copper_resistance(max(thin, 0.01) * 1e-6) * metres * 1.2
    expects = tuple(
        Expect(
            hub,
            other,
            "no power",
            "resistance",
            0.0,
            round(limit, 2),
            0.2,
            "Ω",
            words="joined",
            cause_high=("a cold joint or a corroded contact",),
            cause_none=(f"the wire between {label(hub, rig)} and {label(other, rig)} is broken, missing or elsewhere",),
        )
        for other in order[1:]
    )
    title = {"ground": "Ground", "supply": f"Rail {net.name}"}.get(net.role, f"Net {net.name}")
    return Step(
        "",
        "continuity",
        f"{title}: joined end to end",
        f"Black probe on {label(hub, rig)}, red probe on each of the others in turn.",
        "ohmmeter",
        lines=net.lines,
        nets=(net.id,),
        expects=expects,
        why=(f"R = ρ l / A of {metres:.3g} m of wire, and {LEADS_OHM:g} Ω for leads and contacts (common practice)",),
    )


def _fitted(rig: Rig) -> Iterator[Step]:
    """Every resistor in place: what stands in parallel to it in the build is reckoned with."""
    for edge in edges_of(rig.build):
        item = rig.build.by_ref[edge.ref]
        found = resistance(rig.edges, edge.a, edge.b)
        assert found is not None
        low, high, none = of_resistor(rig, edge)
        ends = [Terminal(item.ref, name) for name in item.terminals]
        beside = f"; with what lies beside it {shown(found.middle)}" if found.middle < edge.ohm.middle * 0.97 else ""
        yield Step(
            "",
            "continuity",
            f"{value_words(item)} in place",
            "A probe on each end; unplug the parts on its nets if the reading is low.",
            "ohmmeter",
            lines=(item.line,) if item.line else (),
            nets=(edge.a, edge.b),
            expects=(
                Expect(
                    ends[0],
                    ends[-1],
                    "no power",
                    "resistance",
                    found.low * 0.995,
                    found.high * 1.005 + LEADS_OHM,
                    found.middle,
                    "Ω",
                    words=f"{shown(edge.ohm.middle)} ± {_share(edge.ohm):.2g} %{beside}",
                    cause_low=low,
                    cause_high=high,
                    cause_none=none,
                ),
                *_through(rig, item),
            ),
            why=(KIRCHHOFF, item.why or item.origin),
        )


def _share(ohm: Range) -> float:
    return (ohm.high - ohm.low) / 2 / ohm.middle * 100


def _through(rig: Rig, item: Item) -> Iterator[Expect]:
    """From the pin to the part through the resistors between them: it catches two of them swapped."""
    pin, end = rig.pins.get(item.line), rig.ends.get(item.line)
    if pin is None or end is None or item.role not in ("series", "upper", ""):
        return
    found = resistance(rig.edges, rig.net_id(pin), rig.net_id(end))
    if found is None or found.middle <= 0:
        return
    yield Expect(
        pin,
        end,
        "no power",
        "resistance",
        found.low * 0.995,
        found.high * 1.005 + LEADS_OHM,
        found.middle,
        "Ω",
        words=f"from {label(pin, rig)} through to {label(end, rig)}",
        cause_low=("bypassed: a wire leads past the resistor",),
        cause_high=("its ends sit in other rows, or another resistor is there",),
        cause_none=(f"{item.ref} or a wire beside it is not joined",),
    )


def _pin(rig: Rig, pin: Terminal) -> Step:
    own = rig.net_id(pin)
    expects = []
    for other in (*rig.neighbours(pin), rig.ground, *_rail_ends(rig)):
        there = rig.net_through_board(other)
        if other == pin or (own and there == own):
            if other in rig.neighbours(pin) and other != pin:
                expects.append(Expect(pin, other, "no power", "resistance", 0.0, LEADS_OHM * 2, 0.2, "Ω", words="joined on purpose"))
            continue
        found = resistance(rig.edges, own, there) if own and there else None
        expects.append(_kept_apart(pin, other, found, SHORT_OHM, _between_words(found), of_short((label(pin, rig), label(other, rig)))))
    lines = tuple(line for line, terminal in rig.pins.items() if terminal == pin)
    beside = ", ".join(t.name for t in rig.neighbours(pin))
    return Step(
        "",
        "continuity",
        f"Pin {pin.name}: no short" + (f" to its neighbours {beside}" if beside else ""),
        "Red probe on the pin, black probe on each in turn; swap the probes once, a protection diode conducts one way only.",
        "ohmmeter",
        lines=lines,
        nets=(own,) if own else (),
        expects=tuple(expects),
        why=(KIRCHHOFF,),
        stop=True,
    )


def _rail_ends(rig: Rig) -> list[Terminal]:
    rails = [net for net in rig.build.nets if net.role == "supply"]
    return [next((t for t in net.terminals if t.item == rig.build.board.ref), net.terminals[0]) for net in rails]


def _diode(rig: Rig, item: Item) -> Step:
    anode, cathode = Terminal(item.ref, "A"), Terminal(item.ref, "K")
    return Step(
        "",
        "continuity",
        f"{item.ref}: the diode the right way round",
        "Meter on diode test; unplug the load first, its winding shorts the diode.",
        "diode test",
        lines=(item.line,) if item.line else (),
        nets=tuple(filter(None, (rig.net_id(anode), rig.net_id(cathode)))),
        expects=(
            Expect(
                anode,
                cathode,
                "forward",
                "voltage",
                *DIODE_V,
                0.6,
                "V",
                words="red on A, black on K: it conducts",
                cause_low=("shorted, or the load is still plugged in",),
                cause_high=("an LED or another part sits there",),
                cause_none=("turned round, or broken",),
            ),
            Expect(
                cathode,
                anode,
                "backward",
                "voltage",
                None,
                None,
                None,
                "V",
                meter="shows",
                words="red on K, black on A: over range, it blocks",
                cause_low=("turned round: with power it would short the supply", "the load is still plugged in"),
            ),
        ),
        why=(item.why or "a coil kicks back when it is switched off; the diode catches it",),
        stop=True,
    )
