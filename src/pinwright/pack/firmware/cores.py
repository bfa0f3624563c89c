"""The cores that run C++ with pinMode and digitalWrite: what differs between them, read from ``cores.toml``, where the sources stand."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from pinwright.pack.firmware.model import Pin, Program

__all__ = ["Core", "all_cores", "core_of"]

_FILE = Path(__file__).with_name("cores.toml")


@dataclass(frozen=True, slots=True, kw_only=True)
class Core:
    """One core.

    ``packages``, ``chips``, ``boards``: what it belongs to.  ``guard``: macro that tells it is compiled for.
    ``pins``: a pin is called by its ``number``, by the ``label`` printed on the board (``labels``: the odd ones; ``names``: labels that
    are names in the core), by its ``pad`` or by the pad's number (``pad-number``).  ``console``: object to talk over (empty: none).
    ``drive``: C++ of ``drive_first(pin, level)`` where a level written before ``pinMode`` is not kept.
    ``isr``: word before an interrupt handler; ``interrupt_pads``: by chip, pads with an interrupt of their own (empty: all);
    ``change_vectors``: number of the interrupt a port shares, by chip and port.
    ``select_pads``: pad a bus makes an output when it begins.
    ``analog``: ``code`` or ``millivolts``; ``references``: the core's word for an input range; ``analog_full``: ``logic`` where the
    converter's range is always the supply.  ``pwm``: ``timers``: registers; ``shared``: ``pwm_code`` holds ``pwm_write``;
    ``plain``: the core's own call.  ``pwm_fixed_hz`` [Hz]: the one frequency the core's call makes.
    ``newest_only``: chips that older versions of the core do not know.
    ``wire_timeout``: C++ that lets a bus that hangs go on, where the core waits for ever otherwise.
    ``wire``, ``spi``, ``uart``: how pins are chosen; ``bus_pins``: by board, the labels a core's fixed buses sit on.
    ``sleep``: whether waking is a ``reset`` or it ``stays`` where it was (empty: no call for it, ``sleep_note`` says so); the other
    ``sleep_...`` are its C++: the whole (``sleep_code``), a wake pin, the timer, a level or pull to keep.
    ``wake``: by chip, what wakes it; ``wake_code``: C++ of that.
    """

    id: str
    words: str
    guard: str
    pins: Literal["number", "label", "pad", "pad-number"]
    packages: tuple[str, ...] = ()
    chips: tuple[str, ...] = ()
    boards: tuple[str, ...] = ()
    labels: dict[str, str] = field(default_factory=dict)
    names: tuple[str, ...] = ()
    pin_names: dict[str, str] = field(default_factory=dict)
    pin_type: str = "uint8_t"
    console: str = "Serial"
    includes: tuple[str, ...] = ()
    drive: str = ""
    isr: str = ""
    interrupt_pads: dict[str, tuple[str, ...]] = field(default_factory=dict)
    change_vectors: dict[str, dict[str, int]] = field(default_factory=dict)
    select_pads: dict[str, str] = field(default_factory=dict)
    pull_down: str = ""
    analog: Literal["code", "millivolts"] = "code"
    analog_resolution: bool = True
    analog_full: Literal["range", "logic"] = "range"
    references: dict[str, str] = field(default_factory=dict)
    chip_references: dict[str, dict[str, str]] = field(default_factory=dict)
    dac: str = ""
    dac_bits: int = 8
    touch: str = ""
    pwm: Literal["timers", "shared", "plain"] = "shared"
    pwm_code: str = ""
    pwm_field: str = ""
    pwm_bits_max: int = 8
    pwm_fixed_hz: float | None = None
    pwm_note: str = ""
    bus_pins: dict[str, dict[str, str]] = field(default_factory=dict)
    wire: str = "fixed"
    wire_more: str = ""
    wire_timeout: str = ""
    spi: str = "fixed"
    spi_more: str = ""
    spi_by_number: bool = False
    uart: str = "number"
    soft_serial: str = ""
    sleep: str = ""
    sleep_note: str = ""
    sleep_includes: tuple[str, ...] = ()
    sleep_code: str = ""
    sleep_pin: str = ""
    sleep_pulls: dict[str, str] = field(default_factory=dict)
    sleep_timer: str = ""
    sleep_forever: str = ""
    sleep_hold: str = ""
    watchdog: str = "WDTCSR"
    sleep_hold_all: str = ""
    sleep_hold_all_not: tuple[str, ...] = ()
    sleep_let_go: str = ""
    sleep_pull: str = ""
    sleep_pull_not: tuple[str, ...] = ()
    wake: dict[str, str] = field(default_factory=dict)
    wake_code: dict[str, str] = field(default_factory=dict)
    note: str = ""
    newest_only: tuple[str, ...] = ()
    newest_note: str = ""
    src: str = ""

    def pin(self, pin: Pin) -> str:
        """How the core calls a pin."""
        if pin.pad in self.pin_names:
            return self.pin_names[pin.pad]
        if self.pins == "number":
            return str(pin.gpio)
        if self.pins == "pad":
            return pin.pad
        if self.pins == "pad-number":
            return re.sub(r"\D", "", pin.pad)
        if pin.label in self.labels:
            return self.labels[pin.label]
        number = re.match(r"D?(\d+)", pin.label)
        if number:
            return number.group(1)
        return pin.label

    def reference(self, chip: str, range_name: str) -> str:
        """The core's word for an input range; empty where it has none."""
        return self.chip_references.get(chip, {}).get(range_name) or self.references.get(range_name, "")

    def has_own_interrupt(self, chip: str, pin: Pin) -> bool:
        """Whether ``attachInterrupt`` serves the pin."""
        pads = self.interrupt_pads.get(chip)
        return pin.can_interrupt if pads is None else pin.pad in pads

    def change_vector(self, chip: str, pin: Pin) -> int | None:
        """Number of the interrupt that tells a change of the pin's port, ``None`` where there is none."""
        return self.change_vectors.get(chip, {}).get(pin.pad[:2])


@cache
def all_cores() -> tuple[Core, ...]:
    """Every core of the data file."""
    with _FILE.open("rb") as file:
        found = tomllib.load(file)["core"]
    return tuple(Core(**{key: _tuples(value) for key, value in entry.items()}) for entry in found)


def _tuples(value: Any) -> Any:
    if isinstance(value, list):
        return tuple(value)
    if isinstance(value, dict):
        return {key: _tuples(item) for key, item in value.items()}
    return value


def core_of(program: Program) -> Core | None:
    """The core for a programme's board, ``None`` where none is known."""
    packages = {package for language, package in program.packages if language == "cpp"}
    if not any(language == "cpp" for language in program.languages):
        return None
    for fits in (
        lambda core: program.board_id in core.boards,
        lambda core: program.chip in core.chips,
        lambda core: packages & set(core.packages),
    ):
        for core in all_cores():
            if fits(core):
                return core
    return None
