"""The self-test of a MicroPython programme: one call a line, in the order of the bench sheet."""

from __future__ import annotations

from pinwright.pack.firmware.micropython_parts import Sheet, text_argument, wrapped_call
from pinwright.pack.firmware.model import Bus, Program, Step
from pinwright.pack.firmware.names import cut, python_string

__all__ = ["self_test_lines"]

_MOST = 200
"""Longest text of a step (our choice: hostile names end somewhere)."""


def self_test_lines(sheet: Sheet) -> list[str]:
    """The method that walks every line."""
    lines = [
        "    def self_test(self, ask=input, wait_s=10):",
        '        """Walk every line in the order of the bench sheet; a load is switched on a yes only."""',
        "        test = kit.Test(ask, wait_s)",
    ]
    for step in sheet.program.steps:
        found = _call(sheet, step)
        if found is not None:
            name, target, extra = found
            words, do, expect = (text_argument(cut(text, _MOST)) for text in (step.words, step.do, step.expect))
            more = "is_load=True" if step.is_load and name in ("output", "level") else ""
            lines += wrapped_call("        ", "", f"test.{name}", (words, target, *extra, do, expect, more))
    return [*lines, "        return test.summary()", ""]


def _call(sheet: Sheet, step: Step) -> tuple[str, str, tuple[str, ...]] | None:
    """Method of the kit, the object it tests, and further arguments; ``None`` where the port left the line out."""
    if step.name in sheet.without and step.kind != "pwm":
        return None
    if f"pulses of {step.name}" in sheet.without:
        return None
    target = f"self.{step.name.lower()}"
    if step.kind == "bus":
        return _bus_call(sheet, _named(sheet.program, step.name), target)
    kinds = {"input": "input", "counter": "counter", "encoder": "counter", "output": "output", "pulse-out": "output"}
    if step.kind in kinds:
        sheet.tests.add(kinds[step.kind])
        return kinds[step.kind], target, ()
    if step.kind in ("pwm", "dac"):
        name = "output" if step.name in sheet.without else "level"
        sheet.tests.add(name)
        return name, target, ()
    sheet.tests.add("value")
    return "value", f"{target}.search" if step.kind == "one-wire" else f"{target}.read", (python_string(_unit(sheet.program, step)),)


def _named(program: Program, name: str) -> Bus:
    return next(bus for bus in program.buses if bus.name == name)


def _bus_call(sheet: Sheet, bus: Bus, target: str) -> tuple[str, str, tuple[str, ...]] | None:
    if bus.kind == "i2c":
        sheet.tests.add("i2c")
        addresses = [each.name for each in bus.devices if each.address is not None]
        return "i2c", target, (f"({', '.join(addresses)}{',' if len(addresses) == 1 else ''})",)
    if bus.kind == "spi":
        if bus.pin("MISO") is None:
            return None  # nothing comes back: the part itself shows whether it works
        sheet.tests.add("spi")
        selects = [f"self.{each.select.snake}" for each in bus.devices if each.select is not None]
        return "spi", target, (f"({', '.join(selects)}{',' if len(selects) == 1 else ''})",)
    if bus.kind == "uart" and bus.pin("RX") is not None:
        sheet.tests.add("uart")
        return "uart", target, ()
    return None


def _unit(program: Program, step: Step) -> str:
    """Unit of what a step reads."""
    if step.kind == "echo":
        return "mm"
    return next((analog.conversion.unit for analog in program.analogs if analog.pin.name == step.name), "")
