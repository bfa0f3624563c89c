"""Judge one line on one pin: what speaks against it, what makes it risky.

A *strike* rules the pin out.  It belongs to a wish of the brief when giving up that wish would allow the pin
(``wish`` says which), otherwise to the nature of the line.  A *mark* only makes the pin worse.
Every rule is a small generator; ``judge`` asks all that concern the pair, so that every reason can be listed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from pinwright.fitting.lines import Asks
from pinwright.fitting.places import BoardView, Place
from pinwright.fitting.setting import Setting
from pinwright.powerup.quiet import boot_states

__all__ = ["Mark", "Strike", "Verdict", "judge", "judge_all"]


@dataclass(frozen=True, slots=True)
class Strike:
    """A reason a line cannot sit on a pin.  ``wish``: console, usb, radio, sleep, quiet, lock, or empty (its nature)."""

    rule: str
    words: str
    wish: str = ""
    cite: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """A reason a pin is a worse choice; ``weight`` in risk marks."""

    rule: str
    words: str
    weight: int
    cite: str = ""


@dataclass(frozen=True, slots=True)
class Verdict:
    """All strikes and marks of one line on one pin."""

    strikes: tuple[Strike, ...]
    marks: tuple[Mark, ...]


Rule = Callable[[Asks, Place, BoardView, Setting], Iterator[Strike | Mark]]


_CLEAN = Verdict((), ())


def judge(asks: Asks, place: Place, board: BoardView, setting: Setting) -> Verdict:
    """Ask every rule that can have anything to say about this line on this pin."""
    return judge_all(asks, [place], board, setting)[0]


def judge_all(asks: Asks, places: Sequence[Place], board: BoardView, setting: Setting) -> list[Verdict]:
    """Judge one line on many pins."""
    concerned = [(rule, about_place) for rule, about_line, about_place in _RULES if about_line(asks, setting)]
    verdicts = []
    for place in places:
        strikes: list[Strike] = []
        marks: list[Mark] = []
        for rule, about_place in concerned:
            if about_place(place):
                for found in rule(asks, place, board, setting):
                    if isinstance(found, Strike):
                        strikes.append(found)
                    else:
                        marks.append(found)
        verdicts.append(Verdict(tuple(strikes), tuple(marks)) if strikes or marks else _CLEAN)
    return verdicts


# ------------------------------------------------------------------------------ who owns the pin

_RESERVED_WORDS = {
    "flash": "the flash memory",
    "psram": "the extra memory",
    "crystal": "the crystal",
    "debug": "the debug port",
    "reset": "the reset input",
    "power": "a supply",
    "radio": "the radio",
    "sensor": "a sensor on the board",
    "unbonded": "nothing: it is not brought out of the chip",
    "usb": "the USB port",
}


def _reserved(asks: Asks, place: Place, board: BoardView, setting: Setting) -> Iterator[Strike | Mark]:
    use = place.reserve.use if place.reserve else place.pad.reserved
    if not use:
        return
    cite = board.board_cite(place.reserve) if place.reserve else board.column_cite("reserved", place.pad)
    if use == "usb":
        if setting.keep_usb:
            yield Strike("usb-kept", "carries USB data, and the brief keeps USB", "usb", cite)
        else:
            yield Mark("usb-used", "USB stops working once this pin is used", 3, cite)
    else:
        yield Strike("reserved", f"belongs to {_RESERVED_WORDS[use]}", cite=cite)


def _console(asks: Asks, place: Place, board: BoardView, setting: Setting) -> Iterator[Strike | Mark]:
    if not place.is_console:
        return
    if setting.keep_console:
        yield Strike("console-kept", "carries the boot log and uploads, and the brief keeps the console", "console")
    else:
        yield Mark("console-used", "shares the pin with the boot log and uploads", 3)


# ------------------------------------------------------------------------------ abilities


def _direction(asks: Asks, place: Place, board: BoardView, setting: Setting) -> Iterator[Strike | Mark]:
    pad = place.pad
    if asks.signal in ("analog", "touch"):
        return
    if pad.analog_only:
        yield Strike("analog-only", "is an analog input and nothing else", cite=board.column_cite("abilities", pad))
    elif asks.drives and not pad.output:
        yield Strike("input-only", "is an input only and cannot drive a wire", cite=board.column_cite("abilities", pad))
    elif asks.reads and not pad.input:
        yield Strike("no-input", "cannot be read", cite=board.column_cite("abilities", pad))


def _open_drain(asks: Asks, place: Place, board: BoardView, setting: Setting) -> Iterator[Strike | Mark]:
    """Chips without open-drain pads make it by switching direction; where some pads have it, the others are odd."""
    if asks.direction not in ("open-drain", "bidir") or place.pad.open_drain or not place.pad.output:
        return
    if any(pad.open_drain for pad in board.chip.pad):
        yield Strike(
            "no-open-drain", "cannot let go of the wire quickly (no open-drain output)", cite=board.column_cite("abilities", place.pad)
        )


def _analog(asks: Asks, place: Place, board: BoardView, setting: Setting) -> Iterator[Strike | Mark]:
    pad = place.pad
    if asks.direction == "analog-out":
        if not pad.dac:
            yield Strike("no-dac", "has no real analog output", cite=board.column_cite("dac", pad))
        return
    if asks.direction != "analog-in":
        return
    if pad.adc is None:
        yield Strike("no-adc", "cannot measure a voltage", cite=board.column_cite("adc", pad))
        return
    unit = next(unit for unit in board.chip.adc if unit.unit == pad.adc.unit)
    blocking = sorted(set(unit.blocked_by) & set(setting.radio))
    if blocking:
        radio = {"wifi": "Wi-Fi", "ble": "Bluetooth LE"}.get(blocking[0], blocking[0])
        yield Strike(
            "adc-blocked", f"measures with unit {unit.unit}, which {radio} takes away while it is on", "radio", board.chip_cite(unit)
        )
    if asks.needs.adc_bits and unit.bits < asks.needs.adc_bits:
        yield Strike("adc-bits", f"measures with {unit.bits} bits, {asks.needs.adc_bits} are wanted", cite=board.chip_cite(unit))


def _errata(asks: Asks, place: Place, board: BoardView, setting: Setting) -> Iterator[Strike | Mark]:
    uses = {
        "interrupt": asks.needs.interrupt != "no" or asks.needs.count_pulses,
        "analog-in": asks.direction == "analog-in",
        "output": asks.direction == "out",
        "touch": asks.signal == "touch",
        "pull-down": asks.reads and asks.needs.pull == "down",
    }
    for erratum in place.errata:
        if any(uses[concern] for concern in erratum.concerns):
            if erratum.is_fatal:
                yield Strike("erratum", f"has a known fault ({erratum.id}): {erratum.effect}", cite=board.chip_cite(erratum))
                continue
            cannot_poll = asks.needs.interrupt == "yes" or asks.needs.count_pulses or "interrupt" not in erratum.concerns
            if cannot_poll and set(erratum.fatal_with_radio) & set(setting.radio):
                words = f"has a known fault while the radio is on ({erratum.id}): {erratum.effect}"
                yield Strike("erratum", words, "radio", board.chip_cite(erratum))
                continue
            yield Mark("erratum", f"has a known fault ({erratum.id}): {erratum.effect}", erratum.weight, board.chip_cite(erratum))


def _slow_pad(asks: Asks, place: Place, board: BoardView, setting: Setting) -> Iterator[Strike | Mark]:
    most, cite = place.pad.max_hz or 0.0, board.column_cite("abilities", place.pad)
    fast_bus = asks.signal in ("i2c", "spi", "uart", "i2s") or asks.needs.exact_pulses
    if not fast_bus and (asks.needs.pwm_min_hz or 0.0) <= most:
        return
    words = f"may carry nothing faster than {most:g} Hz"
    if place.pad.slow_for_radio:
        weight = 3 if setting.radio else 1
        yield Mark("slow-pad", f"{words}, or the radio beside it hears less", weight, cite)
    else:
        yield Strike("slow-pad", words, cite=cite)


def _needs_setup(asks: Asks, place: Place, board: BoardView, setting: Setting) -> Iterator[Strike | Mark]:
    yield Mark("needs-setup", f"works only after this: {place.pad.needs_setup}", 1, board.column_cite("abilities", place.pad))


def _touch(asks: Asks, place: Place, board: BoardView, setting: Setting) -> Iterator[Strike | Mark]:
    if asks.signal == "touch" and not place.pad.touch:
        yield Strike("no-touch", "cannot sense touch", cite=board.column_cite("touch", place.pad))


def _interrupt(asks: Asks, place: Place, board: BoardView, setting: Setting) -> Iterator[Strike | Mark]:
    if place.pad.interrupt:
        return
    if asks.needs.interrupt == "yes" or (asks.needs.count_pulses and asks.reads):
        yield Strike("no-interrupt", "cannot raise an interrupt", cite=board.column_cite("interrupt", place.pad))
    elif asks.needs.interrupt == "optional":
        yield Mark("polled", "has no interrupt, so the line must be polled", 1, board.column_cite("interrupt", place.pad))


def _wake(asks: Asks, place: Place, board: BoardView, setting: Setting) -> Iterator[Strike | Mark]:
    if asks.needs.wake and setting.sleeping and not wakes_from_deep_sleep(place):
        yield Strike("no-wake", "cannot wake the board from deep sleep", "sleep", board.column_cite("wake", place.pad))


def _wake_wire(asks: Asks, place: Place, board: BoardView, setting: Setting) -> Iterator[Strike | Mark]:
    """The pad whose pulse into the reset input is the only way the timer wakes the chip is not free for a line."""
    for state in board.chip.sleep:
        if state.state == "deep-sleep" and state.timer_wake_pad == place.pad.gpio:
            words = f"must be wired to {state.timer_wake_to}, or the timer never wakes the board from deep sleep"
            yield Strike("wake-wire", words, "sleep", board.chip_cite(state))


def wakes_from_deep_sleep(place: Place) -> bool:
    """Whether a level or edge on this pin ends the deepest sleep that keeps a pin listening."""
    return any(word.startswith(("deep-sleep", "power-down")) and "output" not in word for word in place.pad.wake)


# ------------------------------------------------------------------------------ what already sits there

_LOADING_A = 20e-6
"""A part that takes more than this loads a pin towards its off level (common practice, no source)."""

_LOADED_BY_LED = {"analog-in": "would measure the LED", "open-drain": "the LED loads the wire", "bidir": "the LED loads the wire"}


def _onboard(asks: Asks, place: Place, board: BoardView, setting: Setting) -> Iterator[Strike | Mark]:
    for item in place.onboard:
        if item.what in ("led", "rgb-led"):
            yield from _led(asks, item.active, board.board_cite(item))
        elif item.what == "button":
            yield from _button(asks, item.series_ohm, board.board_cite(item))
        elif item.what in ("pull-up", "pull-down"):
            yield from _board_pull(asks, item.what, item.ohm, board.board_cite(item))
        elif item.what == "divider" and asks.signal != "analog":
            yield Strike("divider", "sits behind a voltage divider on the board", cite=board.board_cite(item))
        elif item.what == "usb-bridge" and item.drives and item.series_ohm and not setting.keep_console:
            yield Mark(
                "bridge-behind-resistor", "is driven by the USB bridge through a resistor: the part must win", 3, board.board_cite(item)
            )
        elif item.what == "usb-bridge" and item.drives and item.series_ohm:
            yield Strike("bridge-drives", "is driven by the USB bridge on the board", "console", board.board_cite(item))
        elif item.what == "usb-bridge" and item.drives:
            yield Strike("bridge-drives", "is driven by the USB bridge on the board", cite=board.board_cite(item))
        elif item.what == "auto-program":
            yield Mark("auto-program", "is pulled low by the board's upload circuit", 2, board.board_cite(item))
        elif item.what == "bootloader":
            yield Mark("bootloader", "is moved by the boot loader at every start", 1, board.board_cite(item))
        elif item.what in ("sensor", "other") and item.drives:
            yield Strike("sensor-drives", "is driven by a part on the board", cite=board.board_cite(item))


def _led(asks: Asks, active: str, cite: str) -> Iterator[Strike | Mark]:
    if asks.direction in _LOADED_BY_LED:
        yield Strike("led-loads", f"carries an LED on the board: {_LOADED_BY_LED[asks.direction]}", cite=cite)
    elif asks.direction == "in" and asks.needs.pull == ("up" if active == "high" else "down"):
        held = "low" if active == "high" else "high"
        yield Strike("led-holds", f"carries an LED on the board, which holds the line {held} against its pull resistor", cite=cite)
    else:
        yield Mark("led-follows", "carries an LED on the board that follows the line", 1, cite)


def _button(asks: Asks, series_ohm: float | None, cite: str) -> Iterator[Strike | Mark]:
    if asks.drives and asks.direction != "open-drain":
        safe = " through its resistor" if series_ohm else ""
        yield Mark("button-shorts", f"carries a button on the board that pulls the output low{safe}", 2 if series_ohm else 3, cite)
    elif asks.signal == "analog":
        yield Strike("button-loads", "carries a button on the board", cite=cite)
    else:
        yield Mark("button-shared", "carries a button on the board that moves the line too", 2, cite)


def _board_pull(asks: Asks, what: str, ohm: float | None, cite: str) -> Iterator[Strike | Mark]:
    if asks.signal == "analog":
        yield Strike("pull-shifts", f"carries a {what} on the board that shifts the reading", cite=cite)
    elif asks.signal == "touch":
        yield Strike("pull-shifts", f"carries a {what} on the board that drowns the touch", cite=cite)
    elif asks.direction == "open-drain" and what == "pull-down":
        yield Strike("pull-fights", "carries a pull-down on the board that fights the bus pull-up", cite=cite)
    elif asks.needs.pull != "none" and what != f"pull-{asks.needs.pull}" and asks.reads:
        yield Strike("pull-fights", f"carries a {what} on the board against the pull-{asks.needs.pull} the line needs", cite=cite)


# ------------------------------------------------------------------------------ starting up


def _strap(asks: Asks, place: Place, board: BoardView, setting: Setting) -> Iterator[Strike | Mark]:
    """The board must start with the part connected: no line may hold a strap at the wrong level at reset."""
    strap = place.pad.strap
    if strap is None:
        return
    wanted = strap.run
    held = _held_level(asks)
    if wanted == "any":
        yield Mark("strap", f"is read at reset ({strap.why or 'start options'}); harmless for a normal start", 1, board.chip_cite(strap))
    elif held == "any":
        yield Mark("strap", f"must be {wanted} at reset; the line leaves it alone", 2, board.chip_cite(strap))
    elif held == wanted:
        yield Mark("strap", f"must be {wanted} at reset, which this line rests at", 2, board.chip_cite(strap))
    else:
        what = "may stand at either level" if held == "either" else f"rests {held}"
        yield Strike("strap", f"must be {wanted} at reset or the board does not start, and this line {what}", cite=board.chip_cite(strap))


def _held_level(asks: Asks) -> str:
    """Level at which the part holds the line while the board starts: high, low, either, or any (leaves it alone)."""
    if asks.signal == "analog" and asks.direction == "analog-in":
        return "either"
    if asks.direction == "open-drain" or asks.signal in ("i2c", "onewire"):
        return "high"
    if asks.direction == "in":
        if asks.rest in ("high", "low"):
            return asks.rest
        return asks.needs.pull.replace("up", "high").replace("down", "low") if asks.needs.pull != "none" and not asks.rest else "either"
    if asks.pull_fitted:
        return "high" if asks.pull_fitted.direction == "up" else "low"
    has_resistor = asks.quiet == "must" or (asks.quiet == "prefer" and asks.floats == "unsafe")
    is_load = asks.i_in_a > _LOADING_A or asks.needs.pull != "none"
    if asks.safe_level in ("high", "low") and (is_load or (has_resistor and asks.floats != "safe")):
        return asks.safe_level  # a resistor towards the safe level belongs to such a line
    return "any"


def _contention(asks: Asks, place: Place, board: BoardView, setting: Setting) -> Iterator[Strike | Mark]:
    driven = {"high", "low", "noisy"} & set(boot_states(place))
    if driven and asks.direction == "in" and asks.needs.pull == "none":
        yield Mark("contention", "drives by itself before your firmware runs, against the part", 2)


def _any_line(asks: Asks, setting: Setting) -> bool:
    return True


def _any_place(place: Place) -> bool:
    return True


# Each rule with the lines and the places it can say anything about: most pairs need few rules.
_RULES: tuple[tuple[Rule, Callable[[Asks, Setting], bool], Callable[[Place], bool]], ...] = (
    (_reserved, _any_line, lambda place: bool(place.reserve or place.pad.reserved)),
    (_console, _any_line, lambda place: place.is_console),
    (_direction, _any_line, lambda place: not (place.pad.input and place.pad.output)),
    (_open_drain, lambda asks, _: asks.direction in ("open-drain", "bidir"), lambda place: not place.pad.open_drain),
    (_analog, lambda asks, _: asks.direction in ("analog-in", "analog-out"), _any_place),
    (_errata, _any_line, lambda place: bool(place.errata)),
    (_slow_pad, _any_line, lambda place: place.pad.max_hz is not None),
    (_needs_setup, _any_line, lambda place: bool(place.pad.needs_setup)),
    (_touch, lambda asks, _: asks.signal == "touch", lambda place: not place.pad.touch),
    (_interrupt, lambda asks, _: asks.needs.interrupt != "no" or asks.needs.count_pulses, lambda place: not place.pad.interrupt),
    (_wake, lambda asks, setting: asks.needs.wake and setting.sleeping, _any_place),
    (_wake_wire, lambda _, setting: setting.sleeping, _any_place),
    (_onboard, _any_line, lambda place: bool(place.onboard)),
    (_strap, _any_line, lambda place: place.pad.strap is not None),
    (_contention, lambda asks, _: asks.direction == "in" and asks.needs.pull == "none", _any_place),
)
