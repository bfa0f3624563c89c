"""What already sits on the pin: LED, button, resistors, divider, USB bridge, upload circuit."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.facts.model import Onboard
from pinwright.fitting.lines import Asks
from pinwright.quantities import show_quantity
from pinwright.review.common import PRACTICE, found, has, pins
from pinwright.review.model import Finding, Rule, Severity, Wire, Wiring
from pinwright.review.network import board_pulls, internal_pull, part_pulls, reads_as, worst_v

__all__ = ["RULES"]


def _onboard(wiring: Wiring) -> Iterator[Finding]:
    for wire in _one_a_net(wiring):
        for item in wire.place.onboard:
            if item.what == "led":
                yield from _led(wiring, wire, item)
            elif item.what == "rgb-led" and wire.line.asks.drives:
                yield _say(
                    wiring,
                    wire,
                    item,
                    "note",
                    "carries the data line of the colour LED on the board",
                    "it may light up in any colour as the line moves",
                    "Nothing to do if stray light does no harm.",
                )
            elif item.what == "button":
                yield from _button(wiring, wire, item)
            elif item.what == "divider" and wire.line.asks.direction != "analog-in":
                yield _say(
                    wiring,
                    wire,
                    item,
                    "refuse",
                    "sits behind a voltage divider on the board",
                    "a digital line cannot pass it",
                    "Move the line to another pin.",
                )
            elif item.what == "usb-bridge" and item.drives:
                yield from _driven(wiring, wire, item, "the USB bridge")
            elif item.what in ("sensor", "other") and item.drives:
                yield from _driven(wiring, wire, item, "a part")
            elif item.what == "auto-program":
                yield from _upload(wiring, wire, item)


def _one_a_net(wiring: Wiring) -> Iterator[Wire]:
    """Every wire, but only the first of those that share a pin in the same role: what sits there is said once."""
    seen: set[tuple[str, str, str]] = set()
    for wire in wiring.wires:
        key = (wire.place.pad.name, wire.line.asks.signal, wire.line.asks.role or wire.line.id)
        if key not in seen:
            seen.add(key)
            yield wire


def _say(
    wiring: Wiring, wire: Wire, item: Onboard, severity: Severity, fact: str, effect: str, fix: str, numbers: dict[str, str] | None = None
) -> Finding:
    return found(f"board-{item.what}", severity, wire, [f"{wire.place.name} {fact}", effect], fix, numbers, [wiring.view.board_cite(item)])


def _led(wiring: Wiring, wire: Wire, item: Onboard) -> Iterator[Finding]:
    asks = wire.line.asks
    loads = bool(item.ohm or item.series_ohm or item.to)
    follows = "carries an LED on the board"
    if asks.direction == "analog-in" and loads:
        yield _say(
            wiring, wire, item, "refuse", follows, "the reading would be that of the LED", "Move the line to an analog pin without an LED."
        )
    elif asks.direction in ("open-drain", "bidir") and loads:
        to_ground = item.active == "high"
        effect = "it pulls the wire down against its pull-up" if to_ground else "it loads the wire a little, and flickers with the traffic"
        yield _say(wiring, wire, item, "refuse" if to_ground else "caution", follows, effect, "Move the line to a pin without an LED.")
    elif asks.direction == "in" and loads and _rests_on_pull(asks, "up" if item.active == "high" else "down"):
        level = "high" if item.active == "high" else "low"
        yield _say(
            wiring,
            wire,
            item,
            "refuse",
            follows,
            f"it draws against the pull resistor, so the line never reads surely {level}",
            "Move the line to a pin without an LED.",
        )
    elif asks.drives:
        yield _say(
            wiring,
            wire,
            item,
            "note",
            f"{follows} that follows the line",
            "it takes a few milliamperes and lights with the part",
            "Nothing to do if the light does no harm.",
        )


def _rests_on_pull(asks: Asks, direction: str) -> bool:
    """Whether nothing but a pull in this direction makes one of the line's levels."""
    return asks.voh is None and asks.needs.pull == direction and not asks.pull_fitted


def _button(wiring: Wiring, wire: Wire, item: Onboard) -> Iterator[Finding]:
    asks = wire.line.asks
    if asks.direction == "out":
        if asks.quiet == "must" and asks.safe_level == "high":
            yield _say(
                wiring,
                wire,
                item,
                "refuse",
                "carries a button on the board",
                f"pressing it pulls {wire.line.id} low and switches the part on",
                "Move the line to another pin.",
            )
            return
        saved = f"through {show_quantity(item.series_ohm, 'Ω')}" if item.series_ohm else "straight to ground, which can harm the pin"
        yield _say(
            wiring,
            wire,
            item,
            "caution",
            "carries a button on the board",
            f"pressing it shorts the output {saved}",
            "Do not press it while the device runs, or move the line.",
        )
    else:
        yield _say(
            wiring,
            wire,
            item,
            "caution",
            "carries a button on the board",
            f"pressing it moves {wire.line.id} too",
            "Tell whoever uses the device, or move the line.",
        )


def _driven(wiring: Wiring, wire: Wire, item: Onboard, who: str) -> Iterator[Finding]:
    """Two outputs on one wire, unless a resistor between them gives way."""
    fact = f"is driven by {who} on the board"
    if item.series_ohm and wire.line.asks.direction != "analog-in":
        yield _say(
            wiring,
            wire,
            item,
            "caution",
            f"{fact} through {show_quantity(item.series_ohm, 'Ω')}",
            f"{wire.line.id} must win against that resistor",
            "Unplug USB while the device runs, or move the line.",
            {"series": show_quantity(item.series_ohm, "Ω")},
        )
    else:
        yield _say(wiring, wire, item, "refuse", fact, f"{wire.line.id} cannot win against it", "Move the line to another pin.")


def _upload(wiring: Wiring, wire: Wire, item: Onboard) -> Iterator[Finding]:
    asks = wire.line.asks
    fact = "is pulled low by the upload circuit on the board"
    if asks.direction == "out" and asks.quiet == "must" and asks.safe_level == "high":
        yield _say(
            wiring,
            wire,
            item,
            "refuse",
            fact,
            f"every upload, and opening a serial window, switches {wire.line.id} on",
            "Move the line to another pin.",
        )
    elif asks.direction == "analog-in":
        yield _say(
            wiring, wire, item, "refuse", fact, "its transistor and capacitor load the reading", "Move the line to another analog pin."
        )
    else:
        yield _say(
            wiring,
            wire,
            item,
            "caution",
            fact,
            f"{wire.line.id} is pulled low at every upload, and a part that drives the line can stop uploads",
            "Unplug the part while you upload, or move the line.",
        )


# ------------------------------------------------------------------------------ resistors on the board


def _pulls(wiring: Wiring) -> Iterator[Finding]:
    for place, wires in pins(wiring):
        items = [item for item in place.onboard if item.what in ("pull-up", "pull-down")]
        for item in items:
            wire, direction = wires[0], item.what.removeprefix("pull-")
            asks = wire.line.asks
            if asks.direction == "analog-in" or asks.signal == "touch":
                ohm = item.ohm or 10e3
                effect = "it shifts the reading" if asks.direction == "analog-in" else "it drowns the touch"
                yield _say(
                    wiring,
                    wire,
                    item,
                    "refuse",
                    f"carries a {item.what} of {show_quantity(ohm, 'Ω')} on the board",
                    effect,
                    "Move the line to a pin without one.",
                )
            elif _needs_pull(asks) not in ("", direction):
                yield from _fights(wiring, wire, item, wires, _needs_pull(asks))


def _needs_pull(asks: Asks) -> str:
    """Direction of the pull that makes one of the line's levels, or empty."""
    if asks.direction == "open-drain":
        return "up"
    return asks.needs.pull if asks.direction == "in" and asks.voh is None and asks.needs.pull != "none" else ""


def _fights(wiring: Wiring, wire: Wire, item: Onboard, wires: list[Wire], wanted: str) -> Iterator[Finding]:
    view, level = wiring.view, "high" if wanted == "up" else "low"
    pulls = [*board_pulls(wire.place, view), *part_pulls(wires, view)]
    if any(has(one.circuit, "internal pull") for one in wires):
        pulls.append(internal_pull(view, wanted))
    volts = worst_v(level, pulls, view.board.logic_v)
    if volts is None or reads_as(view, volts) == level:
        return
    limit = view.chip.electrical.vih_min if level == "high" else view.chip.electrical.vil_max
    numbers = {"level": f"{volts:.2f} V against {limit.at(view.board.logic_v):.2f} V"}
    yield _say(
        wiring,
        wire,
        item,
        "refuse",
        f"carries a {item.what} on the board",
        f"it fights the pull-{wanted} the line rests on: {numbers['level']}, no sure {level}",
        "Move the line to a pin without that resistor.",
        numbers,
    )


RULES: tuple[Rule, ...] = (
    Rule(
        "board-led",
        "lines on pins that carry an LED, a button, a divider, a driver or the upload circuit",
        "what sits there loads, moves or is moved by the line",
        "board data, named in the finding; effects are " + PRACTICE,
        _onboard,
    ),
    Rule(
        "board-pull",
        "pull resistors on the board that spoil a reading or fight the line's own",
        "the line reads wrong",
        "board data, named in the finding; Kirchhoff",
        _pulls,
    ),
)
