"""What drives a load: the pin itself, a resistor, or a transistor stage with all its components."""

from __future__ import annotations

from pinwright.circuits.leds import led_plan
from pinwright.circuits.ranges import Range
from pinwright.circuits.window import shown
from pinwright.facts.model import Load
from pinwright.fitting.interface.pieces import Check, Element, Piece
from pinwright.fitting.interface.rails import board_rail, pin_high
from pinwright.fitting.interface.transistor_stages import low_side_stage
from pinwright.fitting.lines import Asks
from pinwright.fitting.places import BoardView, Place
from pinwright.fitting.setting import Bench

__all__ = ["load_elements", "pin_current_max", "sinks"]

_MOST_PIECES = 3
"""Components of the largest stage we build; one nobody can build on a pin counts one more, so that other pins are taken first."""


def sinks(asks: Asks) -> bool:
    """Whether the pin takes the load's current (the load hangs on the supply) rather than gives it."""
    return asks.safe_level in ("high", "released")


def pin_current_max(asks: Asks, board: BoardView, place: Place) -> float:
    """What this pin may give or take [A]: the chip's figure, less where the pad or its group can do less."""
    electrical, pad = board.chip.electrical, place.pad
    sinking = sinks(asks)
    facts = [electrical.i_pin_sink_max_a, pad.sink_max_a] if sinking else [electrical.i_pin_source_max_a, pad.source_max_a]
    limits = [fact.value or fact.min or 0.0 for fact in facts if fact is not None]
    if not sinking:
        groups = (group for group in board.chip.group if pad.gpio in group.pads)
        limits += [group.pin_source_max_a for group in groups if group.pin_source_max_a is not None]
    return min(limits)


def _design_a(board: BoardView) -> float:
    """Steady current to plan a pin with [A]."""
    electrical = board.chip.electrical
    return electrical.i_pin_design_a.value or electrical.i_pin_source_max_a.value or 4e-3


def load_elements(asks: Asks, place: Place, board: BoardView, bench: Bench) -> tuple[list[Element], list[Check]]:
    """Elements the load needs, and the checks they pass."""
    if not asks.drives:
        return [], []
    if asks.load is not None and asks.load.stage == "pin" and asks.load.vf_min_v and asks.load.vf_max_v:
        return _led(asks, asks.load, place, board, bench)
    most = pin_current_max(asks, board, place)
    if asks.needs.driver_components and asks.load is not None and asks.load.stage == "low":
        element, checks, against = low_side_stage(
            asks.load, pin_high(board), bench, min(most, _design_a(board)), bench.ambient_high_c, most
        )
        if element is not None:
            return [element], list(checks)
        words = asks.needs.driver or "transistor stage"
        why = f"a bare pin cannot drive the load; no transistor of the catalogue can either: {against}"
        check = Check("driver stage", f"no transistor of the catalogue works on this pin: {against}", 0.0, "A", "Kirchhoff", False)
        return [Element("driver", words, max(asks.needs.driver_components, _MOST_PIECES) + 1, why)], [check]
    if asks.needs.driver_components:
        return [
            Element("driver", asks.needs.driver or "series resistor", asks.needs.driver_components, "a bare pin cannot drive the load")
        ], []
    if asks.i_in_a > most:
        why = f"the load takes {shown(asks.i_in_a, 'A')}, the pin may give {shown(most, 'A')}"
        return [Element("driver", "transistor stage", 3, why)], []
    if asks.needs.series_ohm:
        ohm = asks.needs.series_ohm
        piece = Piece("resistor", "series", ohm, origin="as asked", why="the value the part asks for")
        return [Element("series resistor", f"{shown(ohm)} in series", 1, "the part asks for it", ohm, (piece,))], []
    if asks.i_in_a:
        words = f"the load takes {shown(asks.i_in_a, 'A')}, the pin may give {shown(most, 'A')}"
        return [], [Check("current of the pin", words, most - asks.i_in_a, "A", "Kirchhoff")]
    return [], []


def _led(asks: Asks, load: Load, place: Place, board: BoardView, bench: Bench) -> tuple[list[Element], list[Check]]:
    """An LED (or the LED of an optocoupler) on the pin itself: its series resistor over all tolerances."""
    assert load.vf_min_v is not None
    assert load.vf_max_v is not None
    rail, forward = board_rail(board), Range(load.vf_min_v, load.vf_max_v)
    electrical = board.chip.electrical
    at = electrical.vol_i_a if sinks(asks) else electrical.voh_i_a
    drop = electrical.vol_max.at(rail.typ or rail.low) if sinks(asks) else rail.middle - electrical.voh_min.at(rail.middle)
    r_pin = Range(0.0, drop / at.value) if at is not None and at.value else Range(0.0, 0.0)
    most = min(load.i_a * 1.5, pin_current_max(asks, board, place))
    least = min(load.i_min_a or load.i_a * 0.2, most)
    plan = led_plan(
        rail,
        forward,
        most,
        least,
        max_because="LED and pin",
        r_pin_ohm=r_pin,
        tolerance=bench.tolerance,
        stock=bench.resistors,
        aim="middle",
    )
    if plan.choice is None:
        return [Element("driver", "transistor stage", 3, plan.words)], []
    ohm = plan.choice.value
    piece = Piece("resistor", "series", ohm, window=plan.window, origin=plan.choice.origin, why=plan.choice.why, formula="leds.led_plan")
    element = Element("series resistor", f"{shown(ohm)} in series", 1, f"limits the current of the LED: {plan.words}", ohm, (piece,))
    checks = []
    if plan.i is not None:
        words = f"{shown(plan.i.low, 'A')} to {shown(plan.i.high, 'A')} flow, LED and pin allow {shown(most, 'A')}"
        checks.append(Check("current of the LED", words, most - plan.i.high, "A", "leds.led_plan"))
    return [element], checks
