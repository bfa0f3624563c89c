"""Transistor stages: the cheapest switch of the bench that carries a load, with every component around it.

Each transistor that stands voltage and current is tried; what is at hand comes first, then fewer components, then less heat.
The pull that keeps the stage off while the pin floats is a matter of the line (module pulls).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from pinwright.circuits import mosfets, transistors
from pinwright.circuits.clamps import diode_needs
from pinwright.circuits.gates import gate_resistor_window
from pinwright.circuits.leds import led_plan
from pinwright.circuits.ranges import Range
from pinwright.circuits.window import choose, shown
from pinwright.errors import OutOfRange
from pinwright.facts.model import Load
from pinwright.fitting.interface.pieces import Check, Element, Piece
from pinwright.fitting.interface.rails import PinHigh
from pinwright.fitting.setting import Bench, Switch

__all__ = ["low_side_stage"]

FORCED_GAIN = 10.0
"""Collector over base current at which data sheets state VCE(sat)  [BC547, 2N2222A data sheets]."""
V_BE_LOW_V = 0.6
I_LEAK_A = 5e-6
"""Leakage of a warm small-signal transistor and the pin together [A] (common practice, no source)."""
R_TH_SMALL_K_PER_W, R_TH_TAB_K_PER_W = 125.0, 62.5
"""Small surface-mounted package on little copper, and one with a tab, both without a heat sink [K/W] (common practice, no source)."""
TAB_FROM_A = 10.0
"""Switches of this rating or more come in packages with a tab (common practice, no source)."""
T_JUNCTION_MAX_C, T_RATED_C = 150.0, 25.0
"""Hottest junction of a silicon transistor, and the surroundings its power rating holds for [°C] (common practice, no source)."""
CURRENT_RESERVE = 1.5
"""A transistor is used up to its rating over this (common practice, no source)."""
PULL_A = 0.5e-3
"""Most the pull-down of a gate takes from the pin [A]: 10 kΩ at 5 V."""
_SLOW_S, _FAST_S = 100e-6, 1e-6
EDGE_SHARE, EDGE_HEAT_SHARE = 0.1, 0.5
"""Most of a dimmed load's period that may pass while the switch changes over, and most of its heat reserve that edges may take
(common practice, no source)."""
_KICKS = ("coil", "motor", "buzzer")


@dataclass(frozen=True, slots=True)
class _Stage:
    element: Element
    checks: tuple[Check, ...]
    order: tuple[object, ...]


@lru_cache(maxsize=4096)
def low_side_stage(
    load: Load, high: PinHigh, bench: Bench, i_pin_max_a: float, ambient_c: float, i_surge_max_a: float | None = None
) -> tuple[Element | None, tuple[Check, ...], str]:
    """Best stage between load and ground, the checks it passes, and what stands against all others where none works.

    ``i_pin_max_a``: what the pin gives steadily; ``i_surge_max_a``: what it may give for the microseconds a gate is charged, its
    stated maximum (left out: no more than steadily) [A].
    """
    found: list[_Stage] = []
    against: list[str] = []
    for switch in bench.switches:
        if load.v_v > switch.v_max_v or load.i_a * CURRENT_RESERVE > switch.i_max_a:
            against.append(f"{switch.part} stands {switch.v_max_v:g} V and {shown(switch.i_max_a, 'A')}")
            continue
        try:
            stage = (
                _npn(switch, load, high, bench, i_pin_max_a, ambient_c)
                if switch.kind == "npn"
                else _mosfet(switch, load, high, bench, i_surge_max_a or i_pin_max_a, ambient_c)
            )
        except OutOfRange as error:
            against.append(f"{switch.part}: {error}")
            continue
        if isinstance(stage, str):
            against.append(f"{switch.part}: {stage}")
        else:
            found.append(stage)
    if not found:
        return None, (), "; ".join(against)
    best = min(found, key=lambda stage: stage.order)
    return best.element, best.checks, ""


def _npn(switch: Switch, load: Load, high: PinHigh, bench: Bench, i_pin_max_a: float, ambient_c: float) -> _Stage | str:
    if switch.hfe_min < 2 * FORCED_GAIN:
        return f"a gain of {switch.hfe_min:g} leaves nothing for saturation"
    needed = load.i_a / FORCED_GAIN * 1.2
    plan = transistors.low_side_plan(
        high.at(needed), load.i_a,
        v_be_v=Range(V_BE_LOW_V, switch.vbe_v), gain=FORCED_GAIN, v_ce_v=switch.vce_sat_v,
        i_pin_max_a=i_pin_max_a, i_leak_a=I_LEAK_A, tolerance=bench.tolerance, stock=bench.resistors,
    )  # fmt: skip
    if plan.base_choice is None:
        return plan.words
    allowed_w = _allowed_w(switch, ambient_c)
    if switch.p_max_w and plan.p_w > allowed_w:
        return f"{shown(plan.p_w, 'W')} of heat against {shown(allowed_w, 'W')} at {ambient_c:g} °C around it"
    base = plan.base_choice
    saturated = f"saturated at a forced gain of {FORCED_GAIN:g}: {shown(plan.v_drop_v, 'V')} drop, {shown(plan.p_w, 'W')} of heat"
    pieces = [
        Piece("NPN transistor", "switch", part=switch.part, rating=f"{load.v_v:g} V, {shown(load.i_a, 'A')}", why=saturated),
        Piece("resistor", "base", base.value, window=plan.base, origin=base.origin, why=base.why, formula="transistors.low_side_plan"),
        *_around(load, bench),
    ]
    checks = (
        _heat(switch, plan.p_w, ambient_c),
        Check("saturation", f"the pin gives up to {shown(plan.i_drive_max_a or 0.0, 'A')} of its {shown(i_pin_max_a, 'A')}",
              i_pin_max_a - (plan.i_drive_max_a or 0.0), "A", "transistors.low_side_plan"),
    )  # fmt: skip
    words = f"{switch.title.split(',')[0]} to ground, base resistor {shown(base.value)}{_extra_words(pieces[2:])}"
    return _stage(switch, words, pieces, checks, plan.p_w)


def _mosfet(switch: Switch, load: Load, high: PinHigh, bench: Bench, i_pin_max_a: float, ambient_c: float) -> _Stage | str:
    drive = high.at(PULL_A)
    spec = mosfets.FetSpec(switch.r_on, Range(switch.vgs_th_min_v, switch.vgs_th_max_v), switch.vgs_max_v, switch.v_max_v, _r_th(switch))
    plan = mosfets.low_side_plan(spec, drive, Range.around(load.v_v, 0.05), load.i_a, t_ambient_c=ambient_c)
    if not plan.works or plan.p_w is None:
        return plan.words
    # Slowly is enough for a switch; a dimmed load pays for every edge.
    spare_w = (spec.t_junction_max_c - (plan.t_junction_c or 0.0)) / spec.r_th_k_per_w
    longest = _longest_edge_s(load, spare_w)
    charge_c = switch.gate_charge_c or 1e-8
    window = gate_resistor_window(drive, i_pin_max_a, charge_c, switch.vgs_th_max_v, longest).narrowed(bench.tolerance)
    gate = choose(window, bench.resistors, aim="strong")
    if gate is None:
        return f"gate resistor: {window.words}"
    pieces = [
        Piece("N-channel MOSFET", "switch", part=switch.part, rating=f"{load.v_v:g} V, {shown(load.i_a, 'A')}", why=plan.words),
        Piece("resistor", "gate", gate.value, window=window, origin=gate.origin, why=gate.why, formula="gates.gate_resistor_window"),
        *_around(load, bench),
    ]
    edges_w = mosfets.switching_power(load.v_v, load.i_a, longest, load.pwm_hz or 0.0)
    hot = (spare_w - edges_w) * spec.r_th_k_per_w
    if hot < 0:
        return f"{shown(edges_w, 'W')} of switching heat at {shown(load.pwm_hz or 0.0, 'Hz')} on top: {-hot:.0f} K too hot"
    edges = f" and at most {shown(edges_w, 'W')} of its edges" if edges_w else ""
    checks = (Check("heat of the switch", f"{plan.words}{edges}, at {ambient_c:g} °C around it", hot, "K", "mosfets.low_side_plan"),)
    words = f"{switch.title.split(',')[0]} to ground, gate resistor {shown(gate.value)}{_extra_words(pieces[2:])}"
    return _stage(switch, words, pieces, checks, plan.p_w + edges_w)


def _longest_edge_s(load: Load, spare_w: float) -> float:
    """Longest an edge may take: a tenth of the period, and no more heat than half of what the switch has left [s]."""
    if not load.pwm_hz:
        return _SLOW_S
    by_heat = EDGE_HEAT_SHARE * max(spare_w, 0.0) / (load.v_v * load.i_a * load.pwm_hz)
    return max(min(_SLOW_S, EDGE_SHARE / load.pwm_hz, by_heat), _FAST_S)


def _stage(switch: Switch, words: str, pieces: list[Piece], checks: tuple[Check, ...], p_w: float) -> _Stage:
    element = Element("driver", words, len(pieces), "a bare pin cannot drive the load", None, tuple(pieces))
    return _Stage(element, checks, (not switch.in_stock, len(pieces), switch.kind != "npn", p_w, switch.part))


def _allowed_w(switch: Switch, ambient_c: float) -> float:
    """Heat a transistor stands in warm surroundings: its rating falls in a straight line to nothing at the hottest junction."""
    return max(switch.p_max_w * (T_JUNCTION_MAX_C - max(ambient_c, T_RATED_C)) / (T_JUNCTION_MAX_C - T_RATED_C), 0.0)


def _r_th(switch: Switch) -> float:
    """Junction to air [K/W]: what its power rating in free air says, else by the size of its package."""
    if switch.p_max_w:
        return (T_JUNCTION_MAX_C - T_RATED_C) / switch.p_max_w
    return R_TH_TAB_K_PER_W if switch.i_max_a >= TAB_FROM_A else R_TH_SMALL_K_PER_W


def _heat(switch: Switch, p_w: float, ambient_c: float) -> Check:
    limit = _allowed_w(switch, ambient_c)
    words = f"{shown(p_w, 'W')} of heat, {shown(limit, 'W')} allowed in free air of {ambient_c:g} °C"
    return Check("heat of the switch", words, limit - p_w, "W", "transistors.switch_power")


def _around(load: Load, bench: Bench) -> list[Piece]:
    """What a load asks for beside the switch: the diode of a coil, the resistor of an LED."""
    if load.kind in _KICKS:
        needs = diode_needs(load.v_v, load.inrush_a or load.i_a)
        rating = f"at least {needs.v_reverse_min_v:g} V, {shown(needs.i_forward_min_a, 'A')}"
        return [Piece("diode", "across the load, cathode to its supply", rating=rating, why=needs.words, formula="clamps.diode_needs")]
    if load.kind == "led" and load.vf_min_v and load.vf_max_v:
        forward = Range(load.vf_min_v, load.vf_max_v)
        plan = led_plan(
            Range.around(load.v_v, 0.05), forward, load.i_a * 1.5, load.i_min_a or load.i_a * 0.5,
            v_switch_v=Range(0.0, 0.3), tolerance=bench.tolerance, stock=bench.resistors, aim="middle",
        )  # fmt: skip
        if plan.choice is None:
            raise OutOfRange(plan.words)
        return [
            Piece(
                "resistor",
                "LED",
                plan.choice.value,
                window=plan.window,
                origin=plan.choice.origin,
                why=plan.choice.why,
                formula="leds.led_plan",
            )
        ]
    return []


def _extra_words(pieces: list[Piece]) -> str:
    return "".join(f", {piece.words}" if piece.value is not None else f", {piece.what} {piece.role.split(',')[0]}" for piece in pieces)
