"""Calculations of the group "supply", bound to the project's formulas."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from units import BadInputs, every, si

from pinwright.circuits import batteries, cells, heat, holdup, regulators, touch_voltage, usb_power, wires
from pinwright.circuits.ranges import Range, over

Inputs = dict[str, Any]
Results = dict[str, Any]

_STATES: dict[str, usb_power.UsbState] = {
    "configured": "configured", "suspended": "suspended", "suspend": "suspended",
    "unconfigured": "unconfigured", "default": "unconfigured", "addressed": "unconfigured", "attached": "unconfigured",
    "powered": "unconfigured", "before": "unconfigured", "before_configuration": "unconfigured", "reset": "unconfigured",
}  # fmt: skip


def _place(text: Any) -> touch_voltage.Place:
    """Place of the limits, from words such as ``dry indoors`` or ``touch-wet``."""
    words = str(text).casefold()
    if any(sign in words for sign in ("wet", "outdoor", "other")):
        return "wet"
    if any(sign in words for sign in ("dry", "touch", "indoor")):
        return "dry"
    if words in ("general", "any", ""):
        return "general"
    raise BadInputs(f"no limits for the place {text}")


def _kind(values: Inputs) -> touch_voltage.Kind:
    words = str(values["kind"]).casefold()
    if words[:2] not in ("ac", "dc"):
        raise BadInputs(f"a voltage is ac or dc, not {words}")
    return "ac" if words.startswith("ac") else "dc"


def _power(values: Inputs) -> float:
    return float(si(values, "p", "w"))


def ldo_power(values: Inputs) -> Results:
    p_w = regulators.ldo_dissipation(
        si(values, "vin", "v"), si(values, "vout", "v"), si(values, "iout", "a"), si(values, "ignd", "a", si(values, "iq", "a", 0.0))
    )
    result = every("w", p=p_w)
    if any(key.startswith("theta_") for key in values):
        result |= _junction(p_w, values)
    return result


def _junction(p_w: float, values: Inputs) -> Results:
    theta = si(values, "theta", "k_per_w")
    rise = heat.temperature_rise(p_w, theta)
    result = every("delta_k", rise=rise)
    ambient = si(values, "ta", "c", None)
    if ambient is not None:
        result |= every("c", tj=heat.junction_temperature(p_w, theta, ambient))
    return result


def junction_temp(values: Inputs) -> Results:
    return _junction(_power(values), values)


def thermal_power_max(values: Inputs) -> Results:
    p_w = heat.power_max(si(values, "tj_max", "c"), si(values, "ta", "c"), si(values, "theta", "k_per_w"))
    result = every("w", p=p_w)
    if any(key.startswith(("vin_", "v_drop_")) for key in values):
        drop = si(values, "v_drop", "v", None)
        drop = si(values, "vin", "v") - si(values, "vout", "v") if drop is None else drop
        limit = heat.current_max(si(values, "tj_max", "c"), si(values, "ta", "c"), si(values, "theta", "k_per_w"), drop)
        result |= every("a", i=limit, iout=limit, i_max=limit)
    return result


def ldo_vin_max(values: Inputs) -> Results:
    limit = regulators.ldo_input_max(_power(values), si(values, "iout", "a"), si(values, "vout", "v"), si(values, "ignd", "a", 0.0))
    return every("v", vin=limit, vin_max=limit)


def ldo_min_input(values: Inputs) -> Results:
    floor = regulators.ldo_input_min(si(values, "vout", "v"), si(values, "dropout", "v"))
    result = every("v", vin_min=floor, vin=floor)
    given = si(values, "vin", "v", None)
    if given is not None:
        margin = regulators.ldo_headroom(given, si(values, "vout", "v"), si(values, "dropout", "v"))
        result |= every("v", margin=margin) | {"in_regulation": margin >= 0}
    cells_in_series = values.get("cells")
    if cells_in_series:
        result |= every("v", v_cell=cells.cutoff_voltage(si(values, "vout", "v"), si(values, "dropout", "v"), cells=cells_in_series))
    return result


def average_current(values: Inputs) -> Results:
    average = batteries.average_current(si(values, "i", "a"), si(values, "t", "s"))
    return every("a", i_avg=average, i=average) | _life_of(values, average)


def _life_of(values: Inputs, average: float) -> Results:
    capacity = si(values, "capacity", "ah", None)
    if capacity is None:
        return {}
    usable = batteries.usable_capacity(capacity, above_cutoff=_usable_share(values))
    return every("s", life=batteries.battery_life(usable, average, si(values, "self_discharge", "share", 0.0)))


def _usable_share(values: Inputs) -> float:
    for stem in ("usable", "derating", "efficiency"):
        given = si(values, stem, "share", values.get(stem))
        if given is not None:
            return float(given)
    return 1.0


def battery_life(values: Inputs) -> Results:
    for stem in ("i_avg", "i", "i_load"):
        average = si(values, stem, "a", None)
        if average is not None:
            return _life_of(values, average)
    raise BadInputs("no mean current i_avg_a, in any prefix")


def runtime_at_rate(values: Inputs) -> Results:
    return battery_life(values)


def battery_life_events(values: Inputs) -> Results:
    per_day = values["n_per_day"] if "n_per_day" in values else 24 * values["n_per_hour"]
    charge = batteries.daily_charge(per_day, si(values, "i_act", "a"), si(values, "t_act", "s"), si(values, "i_sleep", "a"))
    mean = charge.total_ah / 24
    named = {
        f"{name}_{key.removeprefix('x_')}": value
        for name, part in (("active", charge.active_ah), ("sleep", charge.sleep_ah))
        for key, value in every("ah_per_day", x=part).items()
    }
    # The total stands under the bare ending: mah_per_day.
    total = {key.removeprefix("x_"): value for key, value in every("ah_per_day", x=charge.total_ah).items()}
    return named | total | every("a", i_avg=mean) | _life_of(values, mean)


def resistor_load_charge(values: Inputs) -> Results:
    low, high = batteries.resistor_load_charge(
        si(values, "r", "ohm"), si(values, "t", "s"), si(values, "v_start", "v"), si(values, "v_end", "v")
    )
    return every("ah", q_min=low, q_max=high)


def usb2_current(values: Inputs) -> Results:
    state = str(values["state"]).casefold()
    if state not in _STATES:
        raise BadInputs(f"no such state of a USB device: {state}")
    return every("a", i=usb_power.port_current(_STATES[state], values.get("unit_loads", 1)))


def usb2_hub(values: Inputs) -> Results:
    budget = usb_power.hub_budget(
        values["ports"], si(values, "hub", "a", usb_power.UNIT_LOAD_A), si(values, "port", "a", usb_power.UNIT_LOAD_A)
    )
    return every("a", total=budget.i_total_a) | {"fits": budget.fits}


def usb2_bmaxpower(values: Inputs) -> Results:
    field = usb_power.max_power_field(si(values, "i", "a"))
    return {"value": field, "bmaxpower": field}


def usbc_cc_voltage(values: Inputs) -> Results:
    rd = si(values, "rd", "ohm", usb_power.RD_OHM)
    driven = si(values, "ip", "a", None)
    voltage = usb_power.cc_voltage_driven(driven, rd) if driven is not None else usb_power.cc_voltage(
        si(values, "v", "v"), si(values, "rp", "ohm"), rd
    )  # fmt: skip
    return every("v", vcc=voltage) | _band(voltage)


def usbc_band(values: Inputs) -> Results:
    return _band(si(values, "vcc", "v"))


def _band(voltage: float) -> Results:
    return {"band": usb_power.advertised(voltage)} | every("a", i=usb_power.advertised_current(voltage))


def usbc_vrd_max(values: Inputs) -> Results:
    def spread(stem: str, unit: str, otherwise: Any = None) -> Range | None:
        middle = si(values, stem, unit, otherwise)
        return None if middle is None else Range.around(middle, si(values, stem, "share", 0.0))

    rd, driven = spread("rd", "ohm", usb_power.RD_OHM), spread("ip", "a")
    if driven is not None and rd is not None:
        found = over(usb_power.cc_voltage_driven, i_p_a=driven, rd_ohm=rd)
    else:
        pull, rp = spread("v", "v"), spread("rp", "ohm")
        if pull is None or rp is None or rd is None:
            raise BadInputs("neither a current source nor a pull-up with its voltage")
        found = usb_power.cc_voltage_range(pull, rp, rd)
    return every("v", v=found.high, v_max=found.high, v_min=found.low)


def _gauge(given: Any) -> Any:
    """A gauge as people write it: 24, "24", "0", "2/0", "00"; thicker than 0 counts on below it."""
    if not isinstance(given, str):
        return given
    text = given.casefold().removeprefix("awg").strip()
    if re.fullmatch(r"[1-4]/0", text):
        return 1 - int(text[0])
    if re.fullmatch(r"0{2,4}", text):
        return 1 - len(text)
    if re.fullmatch(r"-?\d+(\.\d+)?", text):
        return float(text)
    raise BadInputs(f"no gauge: {given!r}")


def awg(values: Inputs) -> Results:
    gauge = _gauge(values["awg"])
    return (
        every("m", d=wires.awg_diameter(gauge))
        | every("m2", area=wires.awg_area(gauge))
        | every("ohm_per_m", r=wires.awg_resistance(gauge))
    )


def _conductor(values: Inputs) -> float:
    """Resistance a metre, given as such, by gauge, or by class and area."""
    given = si(values, "r", "ohm_per_m", None)
    if given is not None:
        return float(given)
    if "awg" in values:
        return wires.awg_resistance(_gauge(values["awg"]))
    coating: wires.Coating = "tinned" if values.get("coating", "plain") in ("tinned", "metal-coated", "coated") else "plain"
    return wires.iec60228_resistance(int(values.get("class", 5)), si(values, "area", "m2"), coating)


def iec60228_resistance(values: Inputs) -> Results:
    return every("ohm_per_m", r=_conductor(values))


def copper_temp_factor(values: Inputs) -> Results:
    factor = wires.copper_temperature_factor(si(values, "t", "c"))
    result: Results = {"kt": factor}
    cold = si(values, "r20", "ohm", si(values, "r", "ohm", None))
    return result | (every("ohm", r=cold / factor) if cold is not None else {})


def cable_drop(values: Inputs) -> Results:
    length, each, hot = si(values, "length", "m"), _conductor(values), si(values, "t", "c", 20.0)
    drop = wires.cable_drop(length, each, si(values, "i", "a"), hot)
    result = every("ohm", r_loop=wires.loop_resistance(length, each, hot)) | every("v", drop=drop)
    source = si(values, "v", "v", si(values, "vin", "v", None))
    return result | (every("v", v_load=source - drop) | every("share", drop=drop / source) if source is not None else {})


def distributed_drop(values: Inputs) -> Results:
    length, each, hot, current = si(values, "length", "m"), _conductor(values), si(values, "t", "c", 20.0), si(values, "i", "a")
    feeds = values.get("feeds", 2 if values.get("both_ends") else 1)
    loop = wires.loop_resistance(length, each, hot)
    drop = wires.distributed_drop(length, each, current, hot) if feeds == 1 else wires.strip_drop(loop, current, feeds)
    return every("v", drop=drop) | every("ohm", r_loop=loop)


def cap_for_current(values: Inputs) -> Results:
    return every(
        "f", c=holdup.cap_for_current(si(values, "i", "a"), si(values, "t", "s"), si(values, "dv", "v"), si(values, "esr", "ohm", 0.0))
    )


def cap_droop(values: Inputs) -> Results:
    return every("v", dv=holdup.droop(si(values, "i", "a"), si(values, "t", "s"), si(values, "c", "f"), si(values, "esr", "ohm", 0.0)))


def cap_time(values: Inputs) -> Results:
    start, end = si(values, "v1", "v"), si(values, "v2", "v")
    return every("s", t=holdup.hold_up_time(si(values, "c", "f"), start, end, si(values, "i", "a"), si(values, "esr", "ohm", 0.0)))


def cap_for_power_holdup(values: Inputs) -> Results:
    efficiency = si(values, "eff", "share", values.get("efficiency", values.get("eff", 1.0)))
    return every(
        "f", c=holdup.cap_for_power(_power(values), si(values, "t", "s"), si(values, "v1", "v"), si(values, "v2", "v"), efficiency)
    )


def max_inductance(values: Inputs) -> Results:
    step = si(values, "i", "a", None)
    found = holdup.inductance_max(
        si(values, "v", "v", si(values, "dv", "v", None)), si(values, "t", "s"), si(values, "di", "a") if step is None else step
    )
    return every("henry", l=found)


def elv(values: Inputs) -> Results:
    kind, voltage = _kind(values), si(values, "v", "v")
    return {"is_elv": touch_voltage.is_extra_low(kind, voltage), "licensed": touch_voltage.classify(kind, voltage).level == "licensed"}


def elv_touch(values: Inputs) -> Results:
    place = "wet" if values.get("wet") else _place(values.get("place", "dry"))
    return {"below_touch_limit": touch_voltage.is_touchable(_kind(values), si(values, "v", "v"), place)}


def elv_limits(values: Inputs) -> Results:
    found = touch_voltage.limits(_place(values.get("place", "general")))
    return every("v", ac=found.ac_v, dc=found.dc_v, dc_peak=found.dc_peak_v)


BINDINGS: dict[str, Callable[[Inputs], Results]] = {
    binding.__name__: binding
    for binding in (
        ldo_power, thermal_power_max, junction_temp, ldo_vin_max, ldo_min_input, average_current, battery_life, battery_life_events,
        runtime_at_rate, resistor_load_charge, usb2_current, usb2_hub, usb2_bmaxpower, usbc_cc_voltage, usbc_band, usbc_vrd_max, awg,
        iec60228_resistance, copper_temp_factor, cable_drop, distributed_drop, cap_for_current, cap_droop, cap_time,
        cap_for_power_holdup, max_inductance, elv, elv_touch, elv_limits,
    )
}  # fmt: skip
