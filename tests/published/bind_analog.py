"""Calculations of the group "analog", bound to the project's formulas."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from units import BadInputs, every, key_of, si

from pinwright.circuits import adc, filters, flicker, pixels, platinum, pwm, pwm_dac, serial_rate, servo, settling, thermistors

Inputs = dict[str, Any]
Results = dict[str, Any]


def _first(values: Inputs, unit: str, *stems: str) -> float:
    """The first of several names a value may have, in SI."""
    for stem in stems:
        if key_of(values, stem, unit) is not None:
            return float(si(values, stem, unit))
    raise BadInputs(f"no input {' or '.join(f'{stem}_{unit}' for stem in stems)}, in any prefix")


def _constants(values: Inputs, names: str) -> list[float]:
    """Constants of a curve, written in capitals or not."""
    return [float(values[name] if name in values else values[name.swapcase()]) for name in names]


def _bits(values: Inputs, default: float | None = None) -> float:
    found = values.get("bits", values.get("n_bits", default))
    if found is None:
        raise BadInputs("no input bits")
    return float(found)


def _full_scale(values: Inputs) -> float:
    return _first(values, "v", "fsr", "vref", "v_ref", "vfs")


def _samples(values: Inputs) -> int:
    return int(values.get("samples", 8 if values.get("u2x", False) else 16))


def adc_snr(values: Inputs) -> Results:
    return {"snr_db": adc.snr_ideal(_bits(values))}


def adc_enob(values: Inputs) -> Results:
    found = adc.enob(_first(values, "db", "sinad", "snr"))
    return {"enob_bits": found, "bits": found, "enob": found}


def adc_lsb(values: Inputs) -> Results:
    bits = int(_bits(values))
    full_v = _full_scale(values)
    lsb_v = adc.step(full_v, bits)
    return every("v", lsb=lsb_v, top=full_v - lsb_v) | {"codes": 1 << bits}


def adc_quantisation_noise(values: Inputs) -> Results:
    full_v, bits = _full_scale(values), _bits(values)
    return every("v", lsb=adc.step(full_v, bits), vn_rms=adc.quantisation_noise(full_v, bits))


def adc_differential_code(values: Inputs) -> Results:
    bits = int(_bits(values, 10))
    code = adc.differential_code(
        _first(values, "v", "vpos", "v_pos"), _first(values, "v", "vneg", "v_neg"), _full_scale(values), float(values.get("gain", 1)), bits
    )
    word = adc.two_complement(code, bits)
    upper, lower = adc.left_adjusted(word, bits)
    return {"code": code, "word": word, "adch_left": upper, "adcl_left": lower, "adch_right": word >> 8, "adcl_right": word & 0xFF}


def adc_source_r_max(values: Inputs) -> Results:
    cycles = values.get("ts_cycles")
    t_s = _first(values, "s", "t", "ts", "t_sample") if cycles is None else cycles / _first(values, "hz", "f_adc", "f")
    c_f = _first(values, "f", "c_adc", "c") + float(si(values, "c_parasitic", "f", 0.0))
    r_switch = float(si(values, "r_adc", "ohm", 0.0))
    return every("ohm", r=settling.source_r_max(t_s, c_f, r_switch, _bits(values), float(values.get("lsb_divisor", 4))))


def settle_time_constants(values: Inputs) -> Results:
    return {"n_tau": settling.time_constants(_bits(values), float(values.get("lsb_divisor", 1)))}


def settle_bits(values: Inputs) -> Results:
    return {"bits": settling.settled_bits(float(values["n_tau"]))}


def settle_time(values: Inputs) -> Results:
    r_ohm = _first(values, "ohm", "r", "r_source") + float(si(values, "r_adc", "ohm", 0.0))
    t_s = settling.settling_time(r_ohm, _first(values, "f", "c", "c_adc"), _bits(values), float(values.get("lsb_divisor", 1)))
    return every("s", t=t_s)


def _corner(values: Inputs) -> float:
    found = si(values, "fc", "hz", None)
    return filters.corner(_first(values, "ohm", "r"), _first(values, "f", "c")) if found is None else float(found)


def rc_attenuation(values: Inputs) -> Results:
    gain = filters.gain_db(_first(values, "hz", "f"), _corner(values), int(values.get("stages", 1)))
    return {"gain_db": gain, "atten_db": -gain, "attenuation_db": -gain} | every("hz", fc=_corner(values))


def rc_r_for_cutoff(values: Inputs) -> Results:
    return every("ohm", r=filters.r_for_corner(_first(values, "hz", "fc", "f"), _first(values, "f", "c")))


def rc_cutoff_for_attenuation(values: Inputs) -> Results:
    loss = _first(values, "db", "atten", "attenuation", "gain")
    return every("hz", fc=filters.corner_for_attenuation(_first(values, "hz", "f", "f_pwm"), abs(loss), int(values.get("stages", 1))))


def pwm_ripple(values: Inputs) -> Results:
    tau_s = si(values, "tau", "s", None)
    tau_s = _first(values, "ohm", "r") * _first(values, "f", "c") if tau_s is None else tau_s
    duty = float(values.get("duty", si(values, "duty", "share", 0.5)))
    asked = _first(values, "v", "v", "vdd", "v_high"), _first(values, "hz", "f", "f_pwm"), tau_s, duty
    return every("v", ripple_pp=pwm_dac.ripple(*asked), ripple_pp_approx=pwm_dac.ripple_estimate(*asked))


def ntc_ratio_poly(values: Inputs) -> Results:
    ratio = thermistors.ratio_by_polynomial(si(values, "t", "c"), *_constants(values, "ABCD"))
    return {"ratio": ratio} | every("ohm", r=ratio * float(si(values, "r25", "ohm", 1.0)))


def ntc_temp_poly(values: Inputs) -> Results:
    ratio = values.get("ratio")
    ratio = si(values, "r", "ohm") / si(values, "r25", "ohm") if ratio is None else ratio
    return every("c", t=thermistors.t_by_polynomial(ratio, *_constants(values, "abcd")))


def ntc_beta(values: Inputs) -> Results:
    if "ratio" in values:
        return {"beta_k": thermistors.beta(float(values["ratio"]), si(values, "t1", "c"), 1.0, si(values, "t2", "c"))}
    return {"beta_k": thermistors.beta(si(values, "r1", "ohm"), si(values, "t1", "c"), si(values, "r2", "ohm"), si(values, "t2", "c"))}


def ntc_r_beta(values: Inputs) -> Results:
    known = _first(values, "ohm", "r25", "r0"), float(values["beta_k"]), float(_reference_c(values))
    if key_of(values, "t", "c") is None:
        return every("c", t=thermistors.t_by_beta(si(values, "r", "ohm"), *known))
    return every("ohm", r=thermistors.r_by_beta(si(values, "t", "c"), *known))


def _reference_c(values: Inputs) -> float:
    return float(si(values, "t0", "c", si(values, "t_ref", "c", 25.0)))


def ntc_r_alpha(values: Inputs) -> Results:
    row_ohm = si(values, "r_tx", "ohm", None)
    row_ohm = si(values, "r25", "ohm") * values["ratio_tx"] if row_ohm is None else row_ohm
    alpha = abs(values["alpha_pct_k"]) / 100
    return every("ohm", r=thermistors.r_by_alpha(si(values, "t", "c"), row_ohm, si(values, "tx", "c"), alpha))


def ntc_r_linear_interpolation(values: Inputs) -> Results:
    rows_c = [si(values, "t_low", "c"), si(values, "t_high", "c")]
    rows_ohm = [si(values, "r_low_t", "ohm"), si(values, "r_high_t", "ohm")]
    return every("ohm", r=thermistors.r_by_table(si(values, "t", "c"), rows_c, rows_ohm))


def steinhart_hart(values: Inputs) -> Results:
    constants = _constants(values, "ABC")
    if key_of(values, "r", "ohm") is None:
        return every("ohm", r=thermistors.r_by_steinhart_hart(si(values, "t", "c"), *constants))
    return every("c", t=thermistors.t_by_steinhart_hart(si(values, "r", "ohm"), *constants))


def steinhart_hart_three_point(values: Inputs) -> Results:
    a, b, c = thermistors.steinhart_hart_constants(si(values, "r_points", "ohm"), si(values, "t_points", "c"))
    found: Results = {"A": a, "B": b, "C": c}
    if key_of(values, "r", "ohm") is not None:
        return found | every("c", t=thermistors.t_by_steinhart_hart(si(values, "r", "ohm"), a, b, c))
    if key_of(values, "t", "c") is not None:
        return found | every("ohm", r=thermistors.r_by_steinhart_hart(si(values, "t", "c"), a, b, c))
    return found


def _r0(values: Inputs) -> float:
    return float(si(values, "r0", "ohm", 100.0))


def pt_resistance(values: Inputs) -> Results:
    return every("ohm", r=platinum.resistance(si(values, "t", "c"), _r0(values)))


def pt_temperature(values: Inputs) -> Results:
    return every("c", t=platinum.temperature(si(values, "r", "ohm"), _r0(values)))


def pt_tolerance(values: Inputs) -> Results:
    t_c = si(values, "t", "c")
    dt_k = platinum.tolerance(t_c, str(values["class"]).upper().removeprefix("CLASS").strip())
    return every("delta_k", dt=dt_k) | every("ohm", dr=dt_k * platinum.slope(t_c, _r0(values)))


def pwm_max_bits(values: Inputs) -> Results:
    width = values.get("width_bits", values.get("max_bits"))
    return {"bits": pwm.bits_max(si(values, "f_clk", "hz"), _first(values, "hz", "f_pwm", "f"), width)}


def pwm_max_frequency(values: Inputs) -> Results:
    found = pwm.frequency_max(si(values, "f_clk", "hz"), int(_bits(values)))
    return every("hz", f=found, f_pwm=found)


def pwm_duty_step(values: Inputs) -> Results:
    bits = int(_bits(values))
    return every("share", step=pwm.duty_step(bits)) | {"levels": 1 << bits}


def avr_pwm(values: Inputs) -> Results:
    words = str(values.get("mode", "fast")).casefold().replace("_", "-").replace(" ", "-")
    mode: pwm.Mode = "fast" if "fast" in words else "phase-correct"
    found = pwm.counter_frequency(si(values, "f_clk", "hz"), int(values.get("prescale", 1)), int(values["top"]), mode)
    return every("hz", f=found, f_pwm=found)


def _divisor(values: Inputs) -> serial_rate.Divisor:
    return serial_rate.divisor(
        si(values, "f_clk", "hz"), float(values["baud"]), _samples(values), int(values.get("fraction_bits", 0)), float("1e9")
    )


def uart_divisor(values: Inputs) -> Results:
    found = _divisor(values)
    error = every("share", error=found.error)
    return error | {
        "ubrr": found.register,
        "divisor": found.value,
        "baud": found.baud,
        "actual_baud": found.baud,
        "baud_actual": found.baud,
    }


def uart_rx_tolerance(values: Inputs) -> Results:
    d_bits = int(values["d_bits"])
    slow, fast = serial_rate.receiver_window(d_bits, _samples(values))
    return every(
        "share",
        r_slow=slow,
        r_fast=fast,
        error_slow=slow - 1,
        error_fast=fast - 1,
        recommended=serial_rate.recommended_error(d_bits, _samples(values)),
    )


def uart_error_within(values: Inputs) -> Results:
    limit = si(values, "limit", "share", None)
    if limit is None:
        limit = serial_rate.recommended_error(int(values.get("d_bits", 8)), _samples(values))
    found = _divisor(values)
    return {"within": serial_rate.is_within(found.error, limit)} | every("share", error=found.error)


def servo_pulse(values: Inputs) -> Results:
    f_hz = float(si(values, "f", "hz", 50.0))
    pulse_s = si(values, "pulse", "s", None)
    if pulse_s is None:
        pulse_s = float(si(values, "duty", "share")) / f_hz
    found = every("share", duty=servo.duty(pulse_s, f_hz)) | every("s", pulse=pulse_s, period=1 / f_hz)
    if "bits" in values:
        found["counts"] = servo.counts(pulse_s, int(values["bits"]), f_hz)
    return found


def pca9685_prescale(values: Inputs) -> Results:
    return {"prescale": servo.prescale(float(si(values, "f_osc", "hz", 25e6)), _first(values, "hz", "f_pwm", "f"))}


def pca9685_frequency(values: Inputs) -> Results:
    found = servo.prescaled_frequency(float(si(values, "f_osc", "hz", 25e6)), float(values["prescale"]))
    return every("hz", f=found, f_pwm=found)


def pixel_bit_time(values: Inputs) -> Results:
    t_s = pixels.bit_time(si(values, "th", "s"), si(values, "tl", "s"))
    return every("s", t=t_s) | every("hz", f=1 / t_s)


def pixel_pulse_window(values: Inputs) -> Results:
    found = pixels.pulse_window(si(values, "t", "s"), si(values, "tol", "s"))
    return every("s", min=found.low, max=found.high)


def pixel_logic_margin(values: Inputs) -> Results:
    vdd_v, share = si(values, "vdd", "v"), si(values, "vih", "share", 0.7)
    vih_v = si(values, "vih", "v", None)
    if vih_v is not None:  # parts that publish a voltage instead of a share of the supply
        share = vih_v / vdd_v
    return every("v", vih=pixels.input_high(vdd_v, share), margin=pixels.level_margin(si(values, "voh", "v"), vdd_v, share))


def pixel_frame_time(values: Inputs) -> Results:
    t_s = pixels.frame_time(
        values["n"], float(si(values, "t_bit", "s", 1.25e-6)), float(si(values, "t_reset", "s", 0.0)), int(values.get("bits_per_pixel", 24))
    )
    return every("s", t=t_s) | every("hz", f=1 / t_s)


def pixel_supply_current(values: Inputs) -> Results:
    i_pixel = si(values, "i_pixel", "a", None)
    if i_pixel is None:
        i_pixel = si(values, "i_channel", "a") * int(values.get("channels", 3))
    brightness = float(values.get("brightness", si(values, "brightness", "share", 1.0)))
    return every("a", i=pixels.supply_current(values["n"], i_pixel, brightness, float(si(values, "i_idle", "a", 0.0))))


def flicker_limit(values: Inputs) -> Results:
    f_hz = si(values, "f", "hz")
    return every(
        "share",
        low_risk=flicker.modulation_limit(f_hz, flicker.LOW_RISK),
        no_effect=flicker.modulation_limit(f_hz, flicker.NO_EFFECT),
    )


def flicker_percent(values: Inputs) -> Results:
    return every("share", mod=flicker.modulation(values["l_max"], values["l_min"]))


def _modulation(values: Inputs) -> float:
    return float(si(values, "mod", "share"))


def flicker_verdict(values: Inputs) -> Results:
    return {"verdict": flicker.verdict(si(values, "f", "hz"), _modulation(values)).replace(" ", "_")}


def flicker_min_frequency(values: Inputs) -> Results:
    depth = _modulation(values)
    return every("hz", low_risk=flicker.min_frequency(depth, flicker.LOW_RISK), no_effect=flicker.min_frequency(depth, flicker.NO_EFFECT))


BINDINGS: dict[str, Callable[[Inputs], Results]] = {
    binding.__name__: binding
    for binding in (
        adc_snr, adc_enob, adc_lsb, adc_quantisation_noise, adc_differential_code, adc_source_r_max, settle_time_constants, settle_bits,
        settle_time, rc_attenuation, rc_r_for_cutoff, rc_cutoff_for_attenuation, pwm_ripple, ntc_ratio_poly, ntc_temp_poly, ntc_beta,
        ntc_r_beta, ntc_r_alpha, ntc_r_linear_interpolation, steinhart_hart, steinhart_hart_three_point, pt_resistance, pt_temperature,
        pt_tolerance, pwm_max_bits, pwm_max_frequency, pwm_duty_step, avr_pwm, uart_divisor, uart_rx_tolerance, uart_error_within,
        servo_pulse, pca9685_prescale, pca9685_frequency, pixel_bit_time, pixel_pulse_window, pixel_logic_margin, pixel_frame_time,
        pixel_supply_current, flicker_limit, flicker_percent, flicker_verdict, flicker_min_frequency,
    )
}  # fmt: skip
"""Function by calculation."""
