"""A device that is a USB device itself: is the chip at the socket, and does the board announce it as the host expects?

A full-speed device pulls D+ up with 1.5 kΩ to 3.0 to 3.6 V; the host sees it by that   [USB 2.0, 7.1.5, from memory].
"""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.quantities import show_quantity
from pinwright.review.common import board_finding
from pinwright.review.model import Finding, Rule, Wiring

__all__ = ["RULES"]

PULL_OHM, PULL_TOLERANCE = 1500.0, 0.05
"""Pull-up of D+ [ohm] and its tolerance.   [USB 2.0, 7.1.5, from memory]"""
PULL_MAX_V = 3.6
_USB2 = "USB 2.0 specification, 7.1.5 (recalled)"


def _usb(wiring: Wiring) -> Iterator[Finding]:
    view = wiring.view
    if not wiring.setting.usb_device:
        return
    leads_to = "a bridge to a serial port" if view.board.usb == "bridge" else "nothing that can"
    if view.board.usb != "native" or view.chip.usb not in ("device", "host-device"):
        yield board_finding(
            "usb-device",
            "refuse",
            [
                "the device must be a USB device through the board's own socket",
                f"on the {view.board.name} that socket leads to {leads_to}",
            ],
            "Take a board whose chip is itself at the socket.",
        )
        return
    yield from _pulls(wiring)


def _pulls(wiring: Wiring) -> Iterator[Finding]:
    """A resistor on the board at a data pad of the socket that is not what a host expects."""
    view = wiring.view
    data = {item.pad for item in view.board.onboard if item.what == "usb-port" and item.pad}
    for item in view.board.onboard:
        if item.what != "pull-up" or item.pad not in data or item.ohm is None:
            continue
        wrong_rail = item.to.replace(" ", "").upper() in ("5V", "VBUS", "VIN")
        if abs(item.ohm - PULL_OHM) <= PULL_TOLERANCE * PULL_OHM and not wrong_rail:
            continue
        ohm, to = show_quantity(item.ohm, "Ω"), f" to {item.to}" if item.to else ""
        more = (
            f"it leads to {item.to}, where the data line may see {PULL_MAX_V:g} V"
            if wrong_rail
            else "the host sees a level it may not trust"
        )
        yield board_finding(
            "board-usb-pull",
            "caution",
            [
                f"the board pulls the USB data pad {item.pad} up with {ohm}{to}",
                "a host expects 1.5 kΩ to 3.3 V and knows the device by it",
                f"{more}: some computers and hubs do not find the device",
            ],
            f"Measure what your copy carries; put a resistor beside it, or in its place, that makes 1.5 kΩ from {item.pad} to 3.3 V.",
            numbers={"pull-up": f"{ohm} against 1.5 kΩ"},
            sources=[view.board_cite(item), _USB2],
        )


RULES: tuple[Rule, ...] = (
    Rule(
        "usb-device",
        "a USB device on a board whose chip is not at the socket, or whose data pull-up is not what a host expects (also board-usb-pull)",
        "the computer does not find it",
        _USB2,
        _usb,
    ),
)
