"""Does a voltage to be measured fit the converter?  Limits of the pin and the part of the range that can be read."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.facts.model import AdcUnit
from pinwright.fitting.places import BoardView
from pinwright.review.common import found, has, level_v, part_cite
from pinwright.review.model import Finding, Rule, Wire, Wiring
from pinwright.review.volts import divider_in, highest_pin_v

__all__ = ["RULES"]

_CLOSE_SHARE = 1.05
"""A top of the range lost by less than this share is within the tolerance of the parts and not worth a word (our choice)."""
_MOST_LOST = 50.0
"""Beyond this many percent the reading is stuck more often than not (our choice)."""


def _analog(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        asks, adc = wire.line.asks, wire.place.pad.adc
        if asks.direction != "analog-in" or adc is None or asks.v_max is None:
            continue
        unit = next(unit for unit in wiring.view.chip.adc if unit.unit == adc.unit)
        volts = _at_pin(wiring, wire)
        if volts is None:
            continue
        limit, full = _limits(wiring.view, wire, unit)
        if volts > limit + 1e-6:
            yield _too_high(wiring, wire, volts, limit)
        elif volts > full * _CLOSE_SHARE:
            yield _clipped(wiring, wire, unit, volts, full)


def _at_pin(wiring: Wiring, wire: Wire) -> float | None:
    """Highest voltage [V] at the header pin, behind a divider of the circuit."""
    asks = wire.line.asks
    if asks.v_max is None:
        return None
    volts = level_v(asks.v_max, asks, wiring.view)
    if not has(wire.circuit, "divider"):
        return volts
    divider = divider_in(wiring, wire)
    return divider.usual_v(volts) if divider else None


def _limits(view: BoardView, wire: Wire, unit: AdcUnit) -> tuple[float, float]:
    """What the header pin may see and what can be measured there [V], through the board's own divider if it has one."""
    electrical, logic_v = view.chip.electrical, view.board.logic_v
    full = min(max(area.v_max_v for area in unit.ranges), logic_v)
    item = wire.place.fitted("divider")
    scale = (item.r_top_ohm + item.r_bottom_ohm) / item.r_bottom_ohm if item and item.r_top_ohm and item.r_bottom_ohm else 1.0
    rated = electrical.adc_input_max_v.value if electrical.adc_input_max_v else None
    rated = min(rated, logic_v) if rated is not None and rated > full else None  # a rating that only repeats the range says nothing of harm
    return max(rated or 0.0, highest_pin_v(view, wire.place, [wire])) * scale, full * scale


def _too_high(wiring: Wiring, wire: Wire, volts: float, limit: float) -> Finding:
    view = wiring.view
    return found(
        "analog-over-pin",
        "refuse",
        wire,
        [
            f"{wire.line.id} reaches {volts:.2f} V",
            f"{wire.place.name} may see {limit:.2f} V at most",
            "the converter and the chip can be damaged",
        ],
        "Put a divider between, or feed the part with less.",
        {"over the limit": f"{volts - limit:.2f} V above the most the pin may see ({volts:.2f} V against {limit:.2f} V)"},
        [part_cite(wiring, wire, "v_max"), view.chip_cite(view.chip.electrical.vin_max)],
    )


def _clipped(wiring: Wiring, wire: Wire, unit: AdcUnit, volts: float, full: float) -> Finding:
    lost = (volts - full) / volts * 100
    mostly = lost > _MOST_LOST
    return found(
        "analog-clipped",
        "refuse" if mostly else "caution",
        wire,
        [
            f"{wire.line.id} reaches {volts:.2f} V",
            f"{wire.place.name} measures up to {full:.2f} V in its widest range",
            f"everything above reads the same: the top {lost:.0f} % is lost",
        ],
        "Put a divider between, or feed the part with less."
        if mostly
        else "Put a divider between, feed the part with less, or live with it if the top does not matter.",
        {"range": f"{volts - full:.2f} V above the range ({volts:.2f} V against {full:.2f} V)"},
        [part_cite(wiring, wire, "v_max"), wiring.view.chip_cite(unit)],
    )


RULES: tuple[Rule, ...] = (
    Rule(
        "analog-over-pin",
        "a voltage to be measured above the limits or the range of the converter (also analog-clipped)",
        "damage, or readings stuck at the top",
        "converter data of the chip, named in the finding",
        _analog,
    ),
)
