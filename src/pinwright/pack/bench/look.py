"""Steps before anything is joined: what to look at, what to sort, which way round."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.circuits.ampacity import CAUTION_FIXED_WIRING
from pinwright.circuits.marking import rkm_encode
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange
from pinwright.pack.bench.causes import value_words
from pinwright.pack.bench.mesh import tolerance_of
from pinwright.pack.bench.model import Expect, Step
from pinwright.pack.bench.rig import Rig
from pinwright.pack.build.model import Item, Terminal

__all__ = ["CAUTION_LITHIUM", "CAUTION_MAINS", "inspect_steps"]

CAUTION_MAINS = (
    "Mains kills. Only licensed persons may work on it where the law says so; follow the local code; plan, check and box in that side "
    f"before it is ever plugged in, behind a residual-current device. {CAUTION_FIXED_WIRING}"
)
"""Usual caution wherever a part meets the mains."""
CAUTION_LITHIUM = (
    "A lithium cell gives tens of amperes into a short and can burn: insulate its ends, use a protected cell and a fuse, charge it only "
    "with a charger made for it, and never unattended."
)
"""Usual caution for lithium cells."""


def inspect_steps(rig: Rig) -> Iterator[Step]:
    """What to look at and to sort before anything is joined.

    Parameters
    ----------
    rig : the build [-]
    """
    build, board = rig.build, rig.build.plan.view.board
    yield Step(
        "",
        "inspect",
        "Everything is there",
        "Lay out board, parts and components and tick them off on the parts list.",
        "eye",
        why=("a missing or wrong part found now costs minutes",),
    )
    yield Step(
        "",
        "inspect",
        "It is this board",
        f"Hold the labels of the header against the wiring sheet of the {board.name}.",
        "eye",
        expects=tuple(
            Expect(
                Terminal(build.board.ref, pin.name),
                None,
                "looked at",
                "sight",
                None,
                None,
                None,
                "",
                words="its label as on the wiring sheet",
            )
            for pin in dict.fromkeys(rig.pins.values())
        ),
        why=("boards of one name come with several headers; a shifted label moves every wire",),
        stop=True,
    )
    loads = [item.ref for item in build.items if item.kind == "supply"]
    yield Step(
        "",
        "inspect",
        "No power anywhere",
        f"Unplug the USB cable; take out cells; disconnect {', '.join(loads) or 'every supply'}.",
        "eye",
        cautions=("Capacitors keep their charge for a while.", *_lithium(rig)),
        why=("an ohmmeter reads wrong, or breaks, on a live circuit",),
        stop=True,
    )
    resistors = [item for item in build.items if item.symbol == "resistor" and item.value]
    if resistors:
        yield Step(
            "",
            "inspect",
            "Resistors, before they are fitted",
            "Measure each one out of the circuit and lay it on its name.",
            "ohmmeter",
            expects=tuple(_loose(rig, item) for item in resistors),
            why=("its tolerance, and 0.5 % for the meter (common practice)",),
        )
    for item in build.items:
        words = _orientation(rig, item)
        if words:
            yield Step(
                "",
                "inspect",
                f"{item.ref}: which way round",
                words,
                "eye",
                lines=(item.line,) if item.line else (),
                expects=(Expect(Terminal(item.ref, item.terminals[0]), None, "looked at", "sight", None, None, None, "", words=words),),
                why=(item.why or "turned round it does not work, or gets hot",),
            )
    cautions = _part_cautions(rig)
    if cautions:
        yield Step(
            "",
            "inspect",
            "Cautions of the parts",
            "Read them before you go on.",
            "eye",
            cautions=cautions,
            why=("what the makers of these parts warn of",),
        )


def _loose(rig: Rig, item: Item) -> Expect:
    found = Range.around(item.value or 1.0, min(tolerance_of(rig.build, item) + 0.005, 0.5))
    code = _marking(item)
    return Expect(
        Terminal(item.ref, item.terminals[0]),
        Terminal(item.ref, item.terminals[-1]),
        "not fitted yet",
        "resistance",
        found.low,
        found.high,
        item.value,
        item.unit,
        words=f"{value_words(item)}, marked {code}" if code else "",
        cause_low=("another resistor: read its bands again",),
        cause_high=("another resistor: read its bands again",),
        cause_none=("broken, or the meter's lead is",),
    )


def _marking(item: Item) -> str:
    try:
        return rkm_encode(item.value or 0.0)
    except OutOfRange:
        return ""


def _orientation(rig: Rig, item: Item) -> str:
    if item.symbol == "diode":
        return f"The ring is the cathode (K): {_net_words(rig, item, 'K')}; the other end (A): {_net_words(rig, item, 'A')}."
    if item.symbol in ("npn", "nmos"):
        ends = ", ".join(f"{name} to {_net_words(rig, item, name)}" for name in item.terminals)
        known = rig.build.job.catalogue.parts.get(item.part)
        name = (known.mpn or known.title) if known is not None else "this type"
        return f"{ends}. The order of its leads differs from maker to maker: hold it against the data sheet of {name}."
    if item.symbol in ("shifter", "stage"):
        return "; ".join(f"{name} to {_net_words(rig, item, name)}" for name in item.terminals) + "."
    if item.kind == "part" and any("V+" in name for name in item.terminals):
        return (
            "Supply and ground the right way round: "
            + ", ".join(f"{name} to {_net_words(rig, item, name)}" for name in item.terminals if name.startswith(("V+", "GND")))
            + ("" if not item.note else f". {item.note}.")
        )
    if item.kind == "part" and ("anode" in item.note or "cathode" in item.note):
        return f"{item.note[0].upper()}{item.note[1:]}; the cathode of a lamp is its shorter lead, at the flat of its rim."
    return ""


def _net_words(rig: Rig, item: Item, terminal: str) -> str:
    net = rig.net(Terminal(item.ref, terminal))
    return net.name if net is not None else "nothing"


def _part_cautions(rig: Rig) -> tuple[str, ...]:
    found: dict[str, None] = {}
    for item in rig.build.items:
        known = rig.build.job.catalogue.parts.get(item.part) if item.kind == "part" else None
        for caution in known.caution if known is not None else ():
            found[f"{item.ref}: {caution.text}"] = None
    return tuple(found)


def _lithium(rig: Rig) -> tuple[str, ...]:
    return (CAUTION_LITHIUM,) if rig.build.supply.source.is_lithium else ()
