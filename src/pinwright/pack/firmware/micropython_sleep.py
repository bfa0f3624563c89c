"""Deep sleep in MicroPython: each port has its own way, and some have none."""

from __future__ import annotations

from pinwright.pack.firmware.micropython_parts import Sheet
from pinwright.pack.firmware.model import Sleep
from pinwright.pack.firmware.names import python_comment

__all__ = ["sleep_lines"]

NAP_MS = 200
"""How often a port that no pin wakes looks at its pins [ms] (our choice: a press is longer)."""


def sleep_lines(sheet: Sheet) -> list[str]:
    """The method that sleeps, or nothing; what cannot be done is noted in the sheet."""
    sleep = sheet.program.sleep
    if sleep is None:
        return []
    if not sleep.wake and sleep.every_s is None:
        sheet.without["sleep_now"] = "Deep sleep: the brief names no time and no pin that could wake it, so it stays awake."
        return []
    sheet.modules.add("machine")
    ways = {"deep": _deep, "timer": _timer, "irq": _irq, "nap": _nap}
    body = ways[sheet.port.sleep](sheet, sleep)
    return [*body, ""] if body else []


def _ms(sleep: Sleep) -> str:
    return "" if sleep.every_s is None else str(round(sleep.every_s * 1000))


def _pairs(sleep: Sleep) -> list[str]:
    """The pins that wake, with the level that does."""
    if not sleep.wake:
        return []
    return ["        wake = (", *(f"            (self.{each.pin.snake}.pin, {each.level})," for each in sleep.wake), "        )"]


def _timer(sheet: Sheet, sleep: Sleep) -> list[str]:
    if sleep.every_s is None:
        sheet.without["sleep_now"] = "Deep sleep: only the timer wakes it, and the brief names no time."
        return []
    wire = f"Only the timer wakes it, and only if {sleep.timer_pad} is wired to {sleep.timer_to}." if sleep.timer_pad else ""
    return [
        "    def sleep_now(self):",
        '        """Sleep; afterwards the firmware starts anew."""',
        *(python_comment(wire, indent="        ") if wire else []),
        f"        machine.deepsleep({_ms(sleep)})",
    ]


def _deep(sheet: Sheet, sleep: Sleep) -> list[str]:
    own = sheet.port.sleep_module
    lines = ["    def sleep_now(self):", '        """Sleep; afterwards the firmware starts anew."""']
    held = [pin for pin in sleep.hold if pin.kind in ("output", "select", "pulse-out", "pwm")]
    if held or sleep.keep_pulls or sleep.wake:
        sheet.modules.add(sheet.port.sleep_module)
    if held:
        lines += python_comment("What must stay off keeps its level only where it is latched.", indent="        ")
        lines += [f"        Pin({pin.name}_PIN, Pin.OUT, value={pin.first_level}, hold=True)" for pin in held]
    if sleep.keep_pulls:
        lines += python_comment("Pulls inside the chip are kept by the same latch.", indent="        ")
        lines += [f"        Pin({pin.name}_PIN, Pin.IN, Pin.PULL_{pin.pull.upper()}, hold=True)" for pin in sleep.keep_pulls]
    if held or sleep.keep_pulls:
        lines += [f'        if hasattr({own}, "gpio_deep_sleep_hold"):', f"            {own}.gpio_deep_sleep_hold(True)"]
    if sleep.wake:
        lines += [
            *_pairs(sleep),
            "        # No level given: any change wakes it, so it waits for the other one.",
            "        levels = [(pin, 1 - pin.value() if level is None else level) for pin, level in wake]",
            "        low = [pin for pin, level in levels if not level]",
            "        high = [pin for pin, level in levels if level]",
            *_deep_wake(sleep, own),
        ]
        if not sleep.alone and len({each.level for each in sleep.wake}) > 1:
            sheet.without["wake levels"] = (
                "Waking by pins that wait for different levels at once: this runtime sets one level for all, so while one pin rests "
                "the other way it does not wake the chip."
            )
    return [*lines, f"        machine.deepsleep({_ms(sleep)})"]


def _deep_wake(sleep: Sleep, own: str) -> list[str]:
    if sleep.alone:
        lines = python_comment("One pin has a level of its own, the others share one.", indent="        ")
        if sleep.low == "all":
            lines += python_comment("Sharing low would wake only when ALL are low, so at most one waits for low.", indent="        ")
            lines += [
                "        lone = low[:1] if low else high[:1]",
                f"        shared, level = [pin for pin in high if pin not in lone], {own}.WAKEUP_ANY_HIGH",
                "        if not shared and len(low) > 1:",
                f"            shared, level = low[1:], {own}.WAKEUP_ALL_LOW",
            ]
        else:
            lines += [
                "        few, many = (low, high) if len(low) < len(high) else (high, low)",
                "        lone = few[:1] if few else many[:1]",
                "        shared = [pin for pin in many if pin not in lone]",
                f"        level = {own}.WAKEUP_ANY_HIGH if many is high else {own}.WAKEUP_ALL_LOW",
            ]
        return [
            *lines,
            f"        lone_level = {own}.WAKEUP_ALL_LOW if lone[0] in low else {own}.WAKEUP_ANY_HIGH",
            f"        {own}.wake_on_ext0(lone[0], lone_level)",
            "        if shared:",
            f"            {own}.wake_on_ext1(shared, level)",
        ]
    return [
        *python_comment("The runtime sets one level for all pins it wakes by: the one more of them wait for.", indent="        "),
        f'        wake_on = {own}.wake_on_ext1 if hasattr({own}, "wake_on_ext1") else {own}.wake_on_gpio',
        "        if len(high) > len(low):",
        f"            wake_on(high, {own}.WAKEUP_ANY_HIGH)",
        "        else:",
        f"            wake_on(low, {own}.WAKEUP_ALL_LOW)",
    ]


def _irq(sheet: Sheet, sleep: Sleep) -> list[str]:
    hard = ", hard=True" if sheet.port.hard_irq else ""
    quiet = [each.pin for each in sleep.wake if each.pin.interrupt == "none"]
    lines = [
        "    def sleep_now(self):",
        '        """Light sleep until a pin or the timer wakes it; outputs keep their levels."""',
    ]
    lines += [
        f"        self.{pin.snake}.listen(Pin.IRQ_RISING | Pin.IRQ_FALLING{hard})"
        for pin in quiet
        if pin.kind in ("input", "counter", "pulses")
    ]
    return [*lines, f"        machine.lightsleep({_ms(sleep)})"]


def _nap(sheet: Sheet, sleep: Sleep) -> list[str]:
    sheet.without["wake by pin"] = f"Waking by a pin: this runtime cannot, so it naps and looks every {NAP_MS} ms."
    lines = ["    def sleep_now(self):", '        """Naps until a pin has the level that wakes it, or the time is over."""']
    lines += [*_pairs(sleep), "        first = [pin.value() for pin, _ in wake]"] if sleep.wake else []
    most = "" if sleep.every_s is None else f"range({round(sleep.every_s * 1000 / NAP_MS)})"
    lines += [f"        for _ in {most}:" if most else "        while True:", f"            machine.lightsleep({NAP_MS})"]
    if sleep.wake:
        lines += [
            "            for (pin, level), before in zip(wake, first):",
            "                if pin.value() == (1 - before if level is None else level):",
            "                    return",
        ]
    return lines
