"""The numbers of a plan as a plain C header: constants only, for C11 and C++, whatever framework uses them.

    c_header(program)      # one text, to be saved as ``pins.h``

Names begin with ``PW_``; numbers carry their unit in the name.  Pin numbers are the chip's own (GPIO number, or port letter and bit).
"""

from __future__ import annotations

import re

from pinwright.pack.firmware.model import Analog, Bus, Pin, Program, Pwm
from pinwright.pack.firmware.names import c_comment, c_string, cut

__all__ = ["HEADER", "c_header"]

HEADER = "pins_c.h"
_GUARD = "PW_PINS_C_H"
_WIDTH = 100
_UNITS = {"°C": "CELSIUS", "%": "PERCENT", "V": "V", "lx": "LUX", "A": "A", "Pa": "PA", "bar": "BAR", "g": "G", "N": "N", "mm": "MM"}


def c_header(program: Program) -> str:
    """Constants of a programme.

    Parameters
    ----------
    program : what firmware must know [-]

    Returns
    -------
    text : a header of object-like macros, each with a comment that says what it is [-]
    """
    lines = [
        *_comment(f"{program.title}: constants of the plan on the {program.board}."),
        *_comment("Levels: 0 low, 1 high. A first level must stand in the output register before the pin becomes an output."),
        f"#ifndef {_GUARD}",
        f"#define {_GUARD}",
        "",
        f"#define PW_BOARD {c_string(cut(program.board, 200))}",
        f"#define PW_LOGIC_V {_float(program.logic_v)}",
    ]
    for pin in program.pins:
        lines += ["", *_pin(pin)]
    for pwm in program.pwms:
        lines += ["", *_pwm(pwm)]
    for analog in program.analogs:
        lines += ["", *_analog(analog)]
    for bus in program.buses:
        lines += ["", *_bus(bus)]
    lines += ["", f"#endif /* {_GUARD} */"]
    return "\n".join(lines) + "\n"


def _comment(text: str) -> list[str]:
    """A C comment a line: C11 knows ``//``, and it cannot be ended from inside."""
    return c_comment(text, _WIDTH)


def _define(name: str, suffix: str, value: str) -> str:
    return f"#define PW_{name}_{suffix} {value}"


def _float(value: float) -> str:
    text = f"{value:.9g}"
    return text if "." in text or "e" in text else f"{text}.0"


def _pin(pin: Pin) -> list[str]:
    place = pin.label if pin.label == pin.pad else f"{pin.label}, pad {pin.pad}"
    why = "; ".join(pin.reasons)
    lines = [*_comment(f"{', '.join(pin.lines)}: {pin.kind} at {place}{'; ' + why if why else ''}"), *_place(pin)]
    if pin.first_level is not None:
        lines.append(_define(pin.name, "FIRST_LEVEL", str(pin.first_level)))
    if pin.active_level is not None:
        lines.append(_define(pin.name, "ACTIVE_LEVEL", str(pin.active_level)))
    if pin.is_driven:
        lines.append(_define(pin.name, "MUST_STAY_OFF", str(int(pin.must_stay_off))))
    if pin.rest_level is not None and not pin.is_driven:
        lines.append(_define(pin.name, "REST_LEVEL", str(pin.rest_level)))
    if pin.kind in ("input", "counter", "pulses", "encoder"):
        lines.append(_define(pin.name, "PULL", {"none": "0", "up": "1", "down": "-1"}[pin.pull]))
    if pin.debounce_s:
        lines.append(_define(pin.name, "SETTLE_MS", str(round(pin.debounce_s * 1000))))
    return lines


def _place(pin: Pin) -> list[str]:
    """The pad by number, or by port and bit where the chip counts so."""
    if isinstance(pin.gpio, int):
        return [_define(pin.name, "GPIO", str(pin.gpio))]
    port = re.fullmatch(r"P([A-Z])(\d+)", pin.pad) or re.fullmatch(r"P(\d)\.(\d+)", pin.pad)
    if port is None:
        return [_define(pin.name, "PAD", c_string(pin.pad))]
    letter = f"'{port[1]}'" if port[1].isalpha() else str(int(port[1]))
    return [_define(pin.name, "PORT", letter), _define(pin.name, "BIT", str(int(port[2])))]


def _pwm(pwm: Pwm) -> list[str]:
    name = pwm.pin.name
    lines = [
        *_comment(f"{pwm.pin.words}: {'tone' if pwm.tone else 'PWM'} by {pwm.pool}{' channel ' + pwm.channel if pwm.channel else ''}"),
        _define(name, "PWM_HZ", _float(pwm.hz)),
        _define(name, "PWM_BITS", str(pwm.bits)),
        _define(name, "PWM_INVERTED", str(int(pwm.inverted))),
    ]
    if pwm.pulse_s:
        lines += [
            _define(name, "PULSE_MIN_US", str(round(pwm.pulse_s[0] * 1e6))),
            _define(name, "PULSE_MAX_US", str(round(pwm.pulse_s[1] * 1e6))),
        ]
    return lines


def _analog(analog: Analog) -> list[str]:
    name, law = analog.pin.name, analog.conversion
    unit = _UNITS.get(law.unit, "UNITS")
    (low_shown, low_true), (high_shown, high_true) = analog.points
    numbers = {
        "linear": (("ZERO_V", law.zero), (f"GAIN_V_PER_{unit}", law.gain)),
        "share": (("ZERO_SHARE", law.zero), (f"GAIN_SHARE_PER_{unit}", law.gain), ("FEED_V", law.feed_v)),
        "ntc": (("FEED_V", law.feed_v), ("FIXED_OHM", law.r_fixed_ohm), ("REF_OHM", law.r_ref_ohm), ("REF_CELSIUS", law.at_ref),
                ("BETA_K", law.beta_k)),
        "pt": (("FEED_V", law.feed_v), ("FIXED_OHM", law.r_fixed_ohm), ("REF_OHM", law.r_ref_ohm)),
        "ldr": (("FEED_V", law.feed_v), ("FIXED_OHM", law.r_fixed_ohm), ("REF_OHM", law.r_ref_ohm), ("REF_LUX", law.at_ref),
                ("GAMMA", law.gamma)),
    }.get(law.kind, ())  # fmt: skip
    return [
        *_comment(f"{analog.pin.words}: {law.quantity} in {law.unit}, law: {law.kind}; range {analog.range_name}"),
        _define(name, "ADC_UNIT", str(analog.unit)),
        _define(name, "ADC_CHANNEL", str(analog.channel)),
        _define(name, "ADC_BITS", str(analog.bits)),
        _define(name, "ADC_FULL_V", _float(analog.full_v)),
        _define(name, "DIVIDER_RATIO", _float(analog.ratio)),
        *(_define(name, suffix, _float(value)) for suffix, value in numbers),
        *_comment("Calibration: two points as shown and as measured; write your own."),
        _define(name, "LOW_SHOWN", _float(low_shown)),
        _define(name, "LOW_TRUE", _float(low_true)),
        _define(name, "HIGH_SHOWN", _float(high_shown)),
        _define(name, "HIGH_TRUE", _float(high_true)),
    ]


def _bus(bus: Bus) -> list[str]:
    lines = [*_comment(f"{bus.words}: {bus.instance}"), _define(bus.name, "BAUD" if bus.kind == "uart" else "HZ", str(round(bus.hz)))]
    for device in bus.devices:
        if device.address is not None:
            lines += [*_comment(f"{device.words} ({device.title}): 7-bit address"), f"#define PW_{device.name} 0x{device.address:02X}"]
        elif device.modes and bus.kind == "spi":
            lines.append(f"#define PW_{device.name}_MODE {device.modes[0]}")
    return lines
