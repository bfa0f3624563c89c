"""A programme in MicroPython: ``kit.py`` (helpers), ``device.py`` (pins, set-up, readings, self-test) and ``main.py`` (the loop)."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from pinwright.pack.firmware.micropython_device import device_source
from pinwright.pack.firmware.micropython_kit import kit_source
from pinwright.pack.firmware.micropython_parts import Sheet
from pinwright.pack.firmware.model import Program
from pinwright.pack.firmware.names import cut, plain
from pinwright.pack.firmware.ports import port_of

__all__ = ["micropython_source"]

AWAKE_S = 10.0
"""How long the device stays awake where the brief names no time [s] (our choice)."""


def micropython_source(program: Program) -> dict[str, str]:
    """Files to copy to the board, by name; empty where the chip does not run MicroPython.

    Parameters
    ----------
    program : the programme [-]

    Returns
    -------
    files : text by file name [-]
    """
    port = port_of(program.packages)
    if port is None:
        return {}
    sheet = Sheet(program, port)
    device = device_source(sheet)
    microvolts = any(setting.microvolts for setting in port.adc.values())
    return {"kit.py": kit_source(sheet.pieces, sheet.tests, microvolts, port.pulse), "device.py": device, "main.py": _main(sheet)}


def _main(sheet: Sheet) -> str:
    program = sheet.program
    sleeps = program.sleep is not None and "sleep_now" not in sheet.without
    awake_s = (program.sleep.awake_s if program.sleep else None) or AWAKE_S
    has_lamps = any(pin.is_lamp for pin in program.pins)
    loads = [pin.snake for pin in program.pins if pin.must_stay_off and pin.is_driven]
    lines = [
        f'"""{cut(plain(program.title), 70).replace(chr(92), "/").replace(chr(34), chr(39))}: the loop. Ctrl-C ends it, '
        "and everything is switched off.",
        "",
        "Self-test at the console: Ctrl-C, then  from device import Device; Device().self_test()",
        '"""',
        "",
        "import time",
        "",
        "from device import Device",
        "",
        "TURN_MS = 100  # one look at everything",
        "REPORT_MS = 1000  # what was read, on the console",
        *([f"AWAKE_MS = {round(awake_s * 1000)}  # then it goes to sleep"] if sleeps else []),
        "",
        "",
        "def decide(readings, wanted):",
        '    """Your own rules: set wanted["name of an output"] to True or False by what was read.',
        "",
        "    As it stands nothing is switched on.",
        *_fault_words(sheet),
        *_load_words(loads),
        '    """',
        "",
        "",
        "def main(turns=None):",
        '    """Read, decide, switch; for ever, or for some turns."""',
        "    device = Device()",
        "    wanted = {}",
        f"    {'started = ' if sleeps or has_lamps else ''}reported = time.ticks_ms()",
        "    try:",
        "        while turns is None or turns > 0:",
        "            readings = device.read_all()",
        "            decide(readings, wanted)",
        "            device.apply(wanted)",
        "            now = time.ticks_ms()",
        "            if time.ticks_diff(now, reported) >= REPORT_MS:",
        "                reported = now",
        "                print(readings)",
        *(
            [
                "            if time.ticks_diff(now, started) >= AWAKE_MS:",
                "                device.all_off()",
                "                device.sleep_now()",
                "                started = time.ticks_ms()",
            ]
            if sleeps
            else ["            device.blink(time.ticks_diff(now, started) // 500 % 2)"]
            if has_lamps
            else []
        ),
        "            time.sleep_ms(TURN_MS)",
        "            turns = None if turns is None else turns - 1",
        "    finally:",
        "        device.all_off()",
        "",
        "",
        'if __name__ == "__main__":',
        "    main()",
    ]
    return "\n".join(lines) + "\n"


def _fault_words(sheet: Sheet) -> list[str]:
    names = [analog.pin.snake for analog in sheet.program.analogs if analog.conversion.is_resistive]
    if not names:
        return []
    words = f"None is a fault (the sensor is open, shorted or beyond its range), never a value: {', '.join(names)}."
    return [f"    {line}" for line in textwrap.wrap(words, 90)]


def _load_words(loads: Iterable[str]) -> list[str]:
    named = list(loads)
    if not named:
        return []
    words = f"Somebody or something is hurt if these run when they should not: {', '.join(named)}. Only your rules switch them. "
    words += "A programme is no safety device: heat, motors and mains want a fuse or cut-out of their own."
    return [f"    {line}" for line in textwrap.wrap(words, 90)]
