"""What the tests of the review share: boards, circuit elements, and what a review says."""

from __future__ import annotations

from collections.abc import Callable

from pinwright.fitting.interface import Element
from pinwright.review.model import Wiring
from pinwright.review.registry import review

Build = Callable[..., Wiring]

UNO, MINI_3V3, ESP32, C3 = "atmega328p-32pin", "atmega328p-3v3-8mhz-narrow", "esp32-devkitc-v4", "esp32-c3-devkitm-1"
ESP8266, PICO, ESP32_30 = "esp12f-30pin", "raspberry-pi-pico", "esp32-wroom32-30pin"


def said(wiring: Wiring, rule: str = "") -> set[tuple[str, str]]:
    """Severity and line of every finding of one rule."""
    return {(finding.severity, finding.line) for finding in review(wiring).findings if finding.rule == rule}


def text(wiring: Wiring, rule: str) -> str:
    """Everything the findings of one rule say."""
    return "\n".join("; ".join((*f.because, *f.numbers.values(), f.fix, *f.sources)) for f in review(wiring).findings if f.rule == rule)


def up(ohm: float = 4700.0) -> Element:
    """A pull-up to the board's own voltage."""
    return Element("pull-up", "4.7 kΩ to 3.3 V", 1, "", ohm)


def down(ohm: float = 10e3) -> Element:
    """A pull-down."""
    return Element("pull-down", "10 kΩ to ground", 1, "", ohm)


def inside(direction: str = "up") -> Element:
    """The chip's own pull."""
    return Element("internal pull", f"internal pull-{direction}", 0, "")


def divider(top: float, words: str) -> Element:
    """A divider; ``words`` name both resistors."""
    return Element("divider", words, 2, "", top)


SHIFTER = Element("level shifter", "two-way level shifter", 1, "")
STAGE = Element("driver", "transistor stage", 3, "")
SERIES = Element("series resistor", "330 Ω in series", 1, "", 330.0)
