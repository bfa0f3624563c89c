"""Calculations of the group "interface", bound to the project's formulas."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from units import BadInputs, every, key_of, si

from pinwright.circuits import (
    clamps,
    coils,
    dividers,
    gates,
    i2c,
    leds,
    logic,
    marking,
    onewire,
    preferred,
    pulls,
    termination,
    transistors,
)
from pinwright.circuits.ranges import Range, over

Inputs = dict[str, Any]
Results = dict[str, Any]


def _first(values: Inputs, unit: str, *stems: str, default: Any = ...) -> Any:
    """The value of the first stem the inputs carry."""
    for stem in stems:
        if key_of(values, stem, unit):
            return si(values, stem, unit)
    if default is ...:
        raise BadInputs(f"none of {', '.join(stems)} is given in {unit}")
    return default


def _range(value: Any) -> Range:
    return Range(float(min(value)), float(max(value))) if isinstance(value, list) else Range(float(value), float(value))


def _chosen(values: Inputs, r_ohm: float, stem: str = "r_chosen", how: str = "nearest") -> Results:
    """The preferred value beside the exact one, where the case names a series."""
    n = values.get("n_series", values.get("n"))
    if n is None:
        return {}
    return every("ohm", **{stem: preferred.preferred(r_ohm, int(n), values.get("how", how))})


# ------------------------------------------------------------------------------ I2C and pulls


def i2c_pullup_min(values: Inputs) -> Results:
    vdd, vol = si(values, "vdd", "v"), si(values, "vol", "v", 0.4)
    return every("ohm", r=i2c.pull_up_min(vdd, vol, si(values, "iol", "a", 3e-3)))


def i2c_pullup_max(values: Inputs) -> Results:
    return every("ohm", r=i2c.pull_up_max(si(values, "tr", "s"), si(values, "cb", "f")))


def i2c_rise_time(values: Inputs) -> Results:
    low, high = si(values, "low", "share", 0.3), si(values, "high", "share", 0.7)
    return every("s", tr=pulls.rise_time(si(values, "r", "ohm"), si(values, "cb", "f"), low, high))


def i2c_cb_max(values: Inputs) -> Results:
    return every("f", cb=i2c.c_bus_max(si(values, "tr", "s"), si(values, "r", "ohm")))


def i2c_rise_constant(values: Inputs) -> Results:
    t1, t2, rise = pulls.rise_constants(si(values, "low", "share", 0.3), si(values, "high", "share", 0.7))
    return {"t1_rc": t1, "t2_rc": t2, "tr_rc": rise}


_MODES = {
    "sm": "standard", "fm": "fast", "fm+": "fast_plus", "fast+": "fast_plus", "fast_mode_plus": "fast_plus", "fastplus": "fast_plus",
    "plus": "fast_plus",
}  # fmt: skip
"""Other names of the modes, those of UM10204 first."""


def i2c_mode_limits(values: Inputs) -> Results:
    name = str(values["mode"]).casefold().replace("-", "_").replace(" ", "_").removesuffix("_mode")
    mode = i2c.mode_named(_MODES.get(name, name))
    return (
        every("f", cb_max=mode.c_max_f)
        | every("s", tr_max=mode.t_rise_max_s)
        | every("a", iol=mode.i_sink_a, iol_min=mode.i_sink_a)
        | every("hz", f_max=mode.f_max_hz, fscl=mode.f_max_hz, fscl_max=mode.f_max_hz)
    )


def parallel_resistance(values: Inputs) -> Results:
    return every("ohm", r=pulls.parallel(*si(values, "r_list", "ohm")))


def resistor_leakage_drop(values: Inputs) -> Results:
    return every("v", drop=pulls.leakage_drop(si(values, "r", "ohm"), si(values, "i", "a")))


# ------------------------------------------------------------------------------ levels


def noise_margin(values: Inputs) -> Results:
    high_v, low_v = logic.noise_margins(*(si(values, level, "v") for level in ("voh", "vih", "vol", "vil")))
    return every("v", nm_high=high_v, nm_low=low_v) | {"high_ok": high_v >= 0, "low_ok": low_v >= 0, "ok": min(high_v, low_v) >= 0}


def threshold_fraction(values: Inputs) -> Results:
    vdd = si(values, "vdd", "v")
    found: Results = {}
    for level in ("vih", "vil", "voh", "vol"):
        if key_of(values, level, "share"):
            found |= every("v", **{level: logic.threshold(vdd, si(values, level, "share"), si(values, f"{level}_offset", "v", 0.0))})
    return found


def strap_level(values: Inputs) -> Results:
    strap = dividers.strap_level(
        *(_range(value) for value in (si(values, "v", "v"), si(values, "r_top", "ohm"), si(values, "r_bot", "ohm"))),
        si(values, "vil", "v"), si(values, "vih", "v"), _first(values, "a", "i", "i_leak", default=0.0),
    )  # fmt: skip
    return every("v", v_min=strap.v.low, v_max=strap.v.high) | {"level": strap.level}


# ------------------------------------------------------------------------------ preferred values and markings


def series_values(values: Inputs) -> Results:
    found = list(preferred.series(int(values["n"])))
    return {"values": found, "count": len(found)}


def series_formula_value(values: Inputs) -> Results:
    return {"value": preferred.formula_value(int(values["n"]), int(values["index"]))}


def preferred_pick(values: Inputs) -> Results:
    return every("ohm", r=preferred.preferred(si(values, "r", "ohm"), int(values["n"]), values.get("how", "nearest")))


def preferred_in_range(values: Inputs) -> Results:
    found = preferred.in_range(si(values, "r_min", "ohm"), si(values, "r_max", "ohm"), int(values["n"]))
    return {"values_ohm": found, "values_kohm": [value / 1e3 for value in found], "count": len(found)}


def eia96_code(values: Inputs) -> Results:
    if "code" in values:
        return every("ohm", r=marking.eia96_decode(values["code"]))
    return {"code": marking.eia96_encode(si(values, "r", "ohm"))}


def _marked(marked: marking.Marked) -> Results:
    found = every("ohm", r=marked.r_ohm)
    if marked.tolerance is not None:
        found |= {"tol_pct": marked.tolerance * 100}
    if marked.drift_ppm_per_k is not None:
        found |= dict.fromkeys(("tempco_ppm", "tc_ppm", "drift_ppm", "tempco_ppm_k"), marked.drift_ppm_per_k)
    return found


def rkm_decode(values: Inputs) -> Results:
    return _marked(marking.rkm_decode(values["code"]))


def colour_bands(values: Inputs) -> Results:
    return _marked(marking.colour_bands(values["bands"]))


# ------------------------------------------------------------------------------ drivers


def led_series_resistor(values: Inputs) -> Results:
    supply, forward = _first(values, "v", "v", "voh", "vcc"), si(values, "vf", "v")
    drop = _first(values, "v", "vce", "vsw", "vdrop", "vswitch", "vol", "vds", default=0.0)
    count = int(values.get("n_leds", values.get("leds", 1)))
    if key_of(values, "r", "ohm"):
        i_a = leds.led_current(supply, forward, si(values, "r", "ohm"), drop, leds=count)
        return every("a", **{"if": i_a, "i": i_a}) | every("w", p=i_a**2 * si(values, "r", "ohm"))
    current = _first(values, "a", "if", "i")
    r_ohm = leds.series_resistor(supply, forward, current, drop, count)
    chosen = _chosen(values, r_ohm, how="up")
    built = chosen.get("r_chosen_ohm", r_ohm)
    i_a = leds.led_current(supply, forward, built, drop, leds=count)
    return every("ohm", r=r_ohm) | chosen | every("a", i=i_a, **{"if": i_a}) | every("w", p=current**2 * r_ohm, p_r=i_a**2 * built)


def bjt_base_resistor(values: Inputs) -> Results:
    i_b = si(values, "ib", "a", None)
    if i_b is None:
        i_b = transistors.base_current(si(values, "ic", "a"), float(_gain(values)))
    drive = _first(values, "v", "vdrive", "voh", "vin", "v")
    r_ohm = transistors.base_resistor(drive, si(values, "vbe", "v"), i_b, si(values, "rbe", "ohm", None))
    return every("a", ib=i_b) | every("ohm", rb=r_ohm) | _chosen(values, r_ohm, "rb_chosen", "down")


def _gain(values: Inputs) -> Any:
    for key in ("gain", "forced_gain", "forced_beta", "hfe", "beta"):
        if key in values:
            return values[key] / values.get("overdrive", 1)
    raise BadInputs("no forced gain")


def input_current_through_resistor(values: Inputs) -> Results:
    drop = _first(values, "v", "vbe_total", "vbe", "vf")
    return every("a", i=transistors.input_current(_first(values, "v", "vin", "v"), drop, si(values, "r", "ohm")))


def gate_charge_time(values: Inputs) -> Results:
    charge = si(values, "qg", "coulomb")
    if key_of(values, "ig", "a"):
        return every("s", t=gates.gate_charge_time(charge, si(values, "ig", "a")))
    return every("a", ig=gates.gate_charge_time(charge, si(values, "t", "s")))  # Q = I · t is symmetrical


def gate_equivalent_capacitance(values: Inputs) -> Results:
    c_f = gates.gate_capacitance(si(values, "qg", "coulomb"), si(values, "vgs", "v"))
    found = every("f", c=c_f)
    if key_of(values, "ref_c", "f"):
        found |= every("s", t=si(values, "ref_t", "s") * c_f / si(values, "ref_c", "f"))
    return found


def gate_drive_power(values: Inputs) -> Results:
    p_w = gates.gate_drive_power(si(values, "qg", "coulomb"), si(values, "vgs", "v"), si(values, "f", "hz"))
    return every("w", p=p_w) | every("a", i=p_w / si(values, "vgs", "v"))


def rc_charge_time(values: Inputs) -> Results:
    return every("s", t=gates.rc_charge_time(*(si(values, *key) for key in (("r", "ohm"), ("c", "f"), ("v", "v"), ("vt", "v")))))


def relay_coil(values: Inputs) -> Results:
    v_v = si(values, "v", "v")
    r_ohm = si(values, "r", "ohm", None)
    if r_ohm is None:
        i_a = si(values, "i", "a", None)
        r_ohm = v_v / i_a if i_a else v_v**2 / si(values, "p", "w")
    if key_of(values, "t", "c"):
        r_ohm = coils.copper_resistance(r_ohm, si(values, "t", "c"), si(values, "t_ref", "c", 20.0))
    return every("a", i=coils.coil_current(v_v, r_ohm)) | every("w", p=coils.coil_power(v_v, r_ohm)) | every("ohm", r=r_ohm)


def relay_operate(values: Inputs) -> Results:
    shares = (si(values, "operate", "share", 0.75), si(values, "release", "share", 0.05), si(values, "max", "share", 1.1))
    levels = coils.coil_levels(si(values, "v", "v"), *shares)
    return every("v", must_operate=levels.must_operate_v, must_release=levels.must_release_v, max=levels.max_v)


def flyback_clamp(values: Inputs) -> Results:
    v_v = si(values, "v", "v")
    i_a = coils.coil_current(v_v, si(values, "r", "ohm")) if key_of(values, "r", "ohm") else _first(values, "a", "i", "icoil")
    drop = si(values, "vf", "v", 0.0) + _first(values, "v", "vz", "vclamp", default=0.0)
    inductance = _first(values, "henry", "l", default=None)
    found = clamps.clamp(
        v_v, i_a, drop, l_h=inductance, r_ohm=si(values, "r", "ohm", None), i_release_a=_first(values, "a", "i_release", default=None)
    )
    return (
        every("v", v_switch=found.v_switch_v)
        | every("a", i_peak=found.i_peak_a)
        | every("j", e=found.e_j)
        | every("s", t=found.t_release_s, t_release=found.t_release_s)
    )


# ------------------------------------------------------------------------------ dividers


def divider(values: Inputs) -> Results:
    top, bottom = si(values, "r_top", "ohm"), si(values, "r_bot", "ohm")
    found = {"ratio": dividers.divider_out(1.0, top, bottom)} | every("ohm", r_source=dividers.source_resistance(top, bottom))
    v_in = _first(values, "v", "v", "vin", "v_in", default=None)
    if v_in is not None:
        load = _first(values, "ohm", "r_load", default=None)
        out = dividers.divider_out(v_in, top, bottom) if load is None else dividers.loaded_out(v_in, top, bottom, load)
        found |= every("v", vout=out, v_out=out) | every("a", i=v_in / (top + bottom))
    full = _first(values, "v", "vref", "vout", default=None)
    if full is not None:
        v_full = dividers.full_scale_in(full, top, bottom)
        found |= every("v", vin_full_scale=v_full, vin=v_full)
        codes = values.get("codes", 2 ** values["bits"] if "bits" in values else None)
        if codes:
            found |= every("v", v_per_code=v_full / codes)
    return found


def divider_interval(values: Inputs) -> Results:
    names = {"v_in_v": si(values, "v", "v"), "top_ohm": si(values, "r_top", "ohm"), "bottom_ohm": si(values, "r_bot", "ohm")}
    v = over(dividers.divider_out, **{name: _range(value) for name, value in names.items()})
    return every("v", v_min=v.low, v_max=v.high)


def thevenin(values: Inputs) -> Results:
    top, bottom = si(values, "r_top", "ohm"), si(values, "r_bot", "ohm")
    found = every("ohm", r=dividers.source_resistance(top, bottom))
    v_in = _first(values, "v", "v", "vin", default=None)
    if v_in is not None:
        out = dividers.divider_out(v_in, top, bottom)
        found |= every("v", v=out, v_th=out, vth=out, v_oc=out)
    return found


def feedback_single_resistor(values: Inputs) -> Results:
    base = si(values, "v_base", "v")
    constant = si(values, "k_v", "ohm")
    found: Results = {}
    if key_of(values, "rset", "ohm"):
        found |= every("v", vout=dividers.set_resistor_out(base, constant, si(values, "rset", "ohm")))
    if key_of(values, "v_target", "v"):
        exact = dividers.set_resistor(base, constant, si(values, "v_target", "v"))
        found |= every("ohm", rset_exact=exact) | _chosen(values, exact, "rset")
    return found


def adjustable_regulator(values: Inputs) -> Results:
    v_ref, r1 = si(values, "vref", "v"), si(values, "r1", "ohm")
    if key_of(values, "r2", "ohm") is None:
        top = dividers.feedback_top(v_ref, _first(values, "v", "vout", "v_target"), r1)
        return every("ohm", r2=top) | _chosen(values, top, "r2_chosen")
    r2 = si(values, "r2", "ohm")
    if key_of(values, "r2b", "ohm"):
        r2 = pulls.parallel(r2, si(values, "r2b", "ohm"))
    return every("v", vout=dividers.feedback_out(v_ref, r2, r1, si(values, "iadj", "a", 0.0)))


# ------------------------------------------------------------------------------ RS-485


def rs485_bias_voltage(values: Inputs) -> Results:
    nodes = int(values.get("nodes", 0))
    found = termination.bias_voltage(
        si(values, "v", "v"),
        [si(values, "bias", "ohm")] * int(values.get("bias_count", 1)),
        si(values, "terminators", "ohm", []),
        [si(values, "node", "ohm", termination.R_UNIT_LOAD_OHM)] * nodes,
    )
    return every("ohm", r_load=found.r_load_ohm) | every("a", i=found.i_a) | every("v", vab=found.v_ab_v)


def rs485_bias_resistor(values: Inputs) -> Results:
    common = _first(values, "ohm", "r_common", "r_cm", "rcm", default=375.0)
    r_ohm = termination.bias_resistor(
        si(values, "v", "v"), si(values, "vab", "v"), si(values, "z0", "ohm", 120.0), common, float(values.get("plus", 0))
    )
    return every("ohm", rb=r_ohm) | _chosen(values, r_ohm, "rb_chosen", "down")


def rs485_termination_with_bias(values: Inputs) -> Results:
    return every("ohm", rt=termination.near_terminator(si(values, "z0", "ohm", 120.0), si(values, "rb", "ohm")))


def rs485_unit_load(values: Inputs) -> Results:
    return every("ohm", r=termination.unit_loads(si(values, "r_unit", "ohm", termination.R_UNIT_LOAD_OHM), int(values["n"])))


def rs485_matched_termination(values: Inputs) -> Results:
    return every("ohm", rt=termination.matched_terminator(si(values, "z0", "ohm", 120.0), si(values, "r_parallel", "ohm")))


# ------------------------------------------------------------------------------ 1-Wire


def onewire_pullup_max(values: Inputs) -> Results:
    return every("ohm", r=onewire.pull_up_max(si(values, "vpup", "v"), si(values, "vmin", "v"), _all_working(values)))


def _all_working(values: Inputs) -> float:
    return float(si(values, "i", "a")) * int(values.get("n", values.get("devices", 1)))


def onewire_pullup_min(values: Inputs) -> Results:
    return every("ohm", r=onewire.pull_up_min(si(values, "vpup", "v"), si(values, "vol", "v", 0.4), si(values, "iol", "a", 4e-3)))


def onewire_pullup_drop(values: Inputs) -> Results:
    r_ohm, i_a = si(values, "r", "ohm"), _all_working(values)
    if key_of(values, "vpup", "v") is None:
        return every("v", drop=pulls.leakage_drop(r_ohm, i_a))
    v_pull = si(values, "vpup", "v")
    drop_v, sufficient = onewire.pull_up_drop(r_ohm, i_a, v_pull, si(values, "vmin", "v", 3.0))
    return every("v", drop=drop_v, v_left=v_pull - drop_v) | {"sufficient": sufficient}


def onewire_conversion_time(values: Inputs) -> Results:
    return every("s", t=onewire.conversion_time(int(values["bits"])))


def _integer(given: Any) -> int:
    """A whole number, also as a text such as ``0x07D0`` or ``07D0h``."""
    if not isinstance(given, str):
        return int(given)
    text = given.replace("_", "").replace(" ", "").casefold()
    return int(text.removesuffix("h"), 16) if text.endswith("h") else int(text, 0)


def ds18b20_word(values: Inputs) -> Results:
    if "word" in values:
        return every("c", t=onewire.temperature(_integer(values["word"]), int(values.get("bits", 12))))
    word = onewire.temperature_word(si(values, "t", "c"))
    return {"word": word, "hex": f"0x{word:04X}"}


BINDINGS: dict[str, Callable[[Inputs], Results]] = {
    binding.__name__: binding
    for binding in (
        i2c_pullup_min, i2c_pullup_max, i2c_rise_time, i2c_cb_max, i2c_rise_constant, i2c_mode_limits, parallel_resistance,
        noise_margin, threshold_fraction, series_values, series_formula_value, preferred_pick, preferred_in_range, eia96_code,
        rkm_decode, colour_bands, led_series_resistor, bjt_base_resistor, input_current_through_resistor, gate_charge_time,
        gate_equivalent_capacitance, gate_drive_power, rc_charge_time, relay_coil, relay_operate, flyback_clamp, divider,
        feedback_single_resistor, adjustable_regulator, thevenin, divider_interval, strap_level, resistor_leakage_drop,
        rs485_bias_voltage, rs485_bias_resistor, rs485_termination_with_bias, rs485_unit_load, rs485_matched_termination,
        onewire_pullup_max, onewire_pullup_min, onewire_pullup_drop, onewire_conversion_time, ds18b20_word,
    )
}  # fmt: skip
