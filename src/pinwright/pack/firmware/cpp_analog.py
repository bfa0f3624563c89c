"""Analog inputs of a C++ programme: volts at the pin, volts at the line, the quantity, and the maker's calibration."""

from __future__ import annotations

from pinwright.pack.firmware.analog import FAULT_SHARE
from pinwright.pack.firmware.cpp_sketch import Sketch, block, comment, number, said
from pinwright.pack.firmware.model import Analog

__all__ = ["write_analogs"]


def write_analogs(sketch: Sketch) -> None:
    """A function for each analog line that gives its quantity in its unit."""
    analogs = sketch.program.analogs
    if not analogs:
        return
    core = sketch.core
    sketch.section("analog inputs")
    if core.analog_resolution:
        sketch.converters.append(f"analogReadResolution({max(analog.bits for analog in analogs)});")
    references = {core.reference(sketch.program.chip, analog.range_name) for analog in analogs}
    for analog in analogs:
        _volts(sketch, analog, references - {""})
        _quantity(sketch, analog)


def _volts(sketch: Sketch, analog: Analog, references: set[str]) -> None:
    """Average of several readings in volts at the line, that is before a divider."""
    core, pin = sketch.core, analog.pin
    name, word = f"pins::{pin.snake}", core.reference(sketch.program.chip, analog.range_name)
    before: list[str] = []
    bits = max(each.bits for each in sketch.program.analogs) if core.analog_resolution else analog.bits
    full = sketch.program.logic_v if core.analog_full == "logic" else analog.full_v
    if core.analog == "millivolts":
        if word:
            sketch.converters.append(f"analogSetPinAttenuation({name}, {word});  // {_range(analog)}")
        reading, sum_volts = f"analogReadMilliVolts({name})", "0.001f"
    else:
        if word and (len(references) > 1 or word not in ("DEFAULT", "AR_DEFAULT")):
            before = [
                f"analogReference({word});  // {_range(analog)}",
                f"analogRead({name});  // the first reading after a change counts for nothing",
            ]
        reading, sum_volts = f"analogRead({name})", f"{number(full)} / {2**bits - 1}.0f"
    feed = sketch.program.feed_of(pin)
    switch = feed.snake if feed is not None else ""
    if switch:
        before = [f"set_{switch}(true);  // the part is fed for the reading only", "delay(10);", *before]
    ratio = f" * {number(analog.ratio)}" if analog.ratio != 1 else ""
    blocked = f"  Useless while {' or '.join(analog.blocked_by)} is on." if analog.blocked_by else ""
    divider = f", {analog.ratio:.4g} V at the line for 1 V at the pin" if ratio else ""
    sketch.add(
        *comment(f"{pin.words}: {_range(analog)}{divider}, mean of {analog.samples} readings.{blocked}"),
        *block(
            f"float volts_{pin.snake}()",
            [
                *before,
                "uint32_t sum = 0;",
                *block(f"for (uint8_t i = 0; i < {analog.samples}; i++)", [f"sum += {reading};"]),
                *([f"set_{switch}(false);"] if switch else []),
                f"return float(sum) * {number(1 / analog.samples)} * {sum_volts}{ratio};",
            ],
        ),
    )


def _range(analog: Analog) -> str:
    return f"range {analog.range_name}, up to {analog.reads_v[1]:g} V"


def _quantity(sketch: Sketch, analog: Analog) -> None:
    pin, law = analog.pin, analog.conversion
    sketch.pieces.add("calibrated")
    sketch.add(
        *comment(f"{law.quantity} in {law.unit}; {_law(analog)}."),
        *block(
            f"float read_{pin.snake}()",
            [
                *_shown(sketch, analog),
                f"using namespace calibration::{pin.snake};",
                "return calibrated(shown, low_shown, low_true, high_shown, high_true);",
            ],
        ),
    )
    sketch.pieces.add("tell")
    unit = said(law.unit)
    told = f"tell({said(pin.words)}, read_{pin.snake}(), {unit});"
    if law.is_resistive:
        sketch.pieces.add("tell_sensor")
        told = told.replace("tell(", "tell_sensor(", 1)
    sketch.reports.append(told)
    sketch.shows[pin.name] = [f'tell(F("at the line"), volts_{pin.snake}(), F("V"));', told]


def _law(analog: Analog) -> str:
    law = analog.conversion
    ends = f"{law.low:g} to {law.high:g} {law.unit}"
    what = {
        "volts": "no law is known, so these are volts at the line",
        "linear": f"volts less {law.zero:g}, over {law.gain:g}",
        "share": f"share of {law.feed_v:g} V less {law.zero:g}, over {law.gain:g}",
        "ntc": f"thermistor of {law.r_ref_ohm:g} Ω at {law.at_ref:g} °C, beta {law.beta_k:g} K, divider with {law.r_fixed_ohm:g} Ω",
        "pt": f"platinum, {law.r_ref_ohm:g} Ω at 0 °C, divider with {law.r_fixed_ohm:g} Ω",
        "ldr": f"photoresistor of {law.r_ref_ohm:g} Ω at {law.at_ref:g} lx, slope {law.gamma:g}, divider with {law.r_fixed_ohm:g} Ω",
    }[law.kind]
    return f"{what}, good for {ends}"


def _shown(sketch: Sketch, analog: Analog) -> list[str]:
    """Statements that end in ``shown``: the quantity before calibration."""
    law, volts = analog.conversion, f"volts_{analog.pin.snake}()"
    if law.kind == "volts":
        return [f"const float shown = {volts};"]
    if law.kind == "linear":
        return [f"const float shown = ({volts} - {number(law.zero)}) / {number(law.gain)};"]
    if law.kind == "share":
        return [f"const float x = {volts} / {number(law.feed_v)};", f"const float shown = (x - {number(law.zero)}) / {number(law.gain)};"]
    sketch.pieces.add(law.kind)
    turned = "(1.0f - x) / x" if law.to_supply else "x / (1.0f - x)"
    call = {
        "ntc": f"ntc_celsius(ohm, {number(law.r_ref_ohm)}, {number(law.at_ref)}, {number(law.beta_k)})",
        "pt": f"pt_celsius(ohm, {number(law.r_ref_ohm)})",
        "ldr": f"ldr_lux(ohm, {number(law.r_ref_ohm)}, {number(law.at_ref)}, {number(law.gamma)})",
    }[law.kind]
    full_v = (sketch.program.logic_v if sketch.core.analog_full == "logic" else analog.full_v) * analog.ratio
    ends = (FAULT_SHARE * max(full_v, law.feed_v), (1 - FAULT_SHARE) * min(full_v, law.feed_v))
    return [
        f"const float volts = {volts};",
        *block(
            f"if (!(volts > {number(round(ends[0], 6))} && volts < {number(round(ends[1], 6))}))",
            ["return NAN;  // at an end of supply or range: open, shorted, or beyond what can be read"],
        ),
        f"const float x = volts / {number(law.feed_v)};",
        f"const float ohm = {number(law.r_fixed_ohm)} * {turned};",
        f"const float shown = {call};",
    ]
