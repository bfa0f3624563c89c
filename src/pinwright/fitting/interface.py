"""What must stand between a pin and a part: pull resistors, dividers, level shifters, driver stages.

The simplest circuit that the levels in the catalogue allow, with preferred values; ``circuits`` holds the formulas.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pinwright.circuits.levels import divider_top
from pinwright.facts.model import Level, Onboard
from pinwright.fitting.lines import Asks
from pinwright.fitting.places import BoardView, Place
from pinwright.powerup.quiet import floats_at_boot
from pinwright.quantities import show_quantity

__all__ = ["Circuit", "Element", "circuit_for", "circuits_for", "joined", "one_by_one"]

DIVIDER_BOTTOM_OHM = 20e3
_TOLERANCE_V = 1e-6
I2C_PULL_OHM = 4700.0
PULL_OHM = 10e3
"""Usual pull for contacts and gates (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Element:
    """One piece of an interface circuit; ``components`` counts what must be bought.  ``why`` names the need."""

    kind: str
    words: str
    components: int
    why: str
    ohm: float | None = None


@dataclass(frozen=True, slots=True)
class Circuit:
    """Everything between one pin and the lines on it, in the order from the pin to the part."""

    elements: tuple[Element, ...] = ()

    @property
    def components(self) -> int:
        """How many components must be bought [-]."""
        return sum(element.components for element in self.elements)

    @property
    def words(self) -> str:
        """Name for tables: ``direct`` or the elements."""
        return " + ".join(element.words for element in self.elements) or "direct"

    @property
    def short(self) -> str:
        """The same for narrow tables: a driver stage by its name only."""
        return " + ".join(e.kind if e.kind in ("driver", "level shifter") else e.words for e in self.elements) or "direct"


def circuit_for(asks: Asks, place: Place, board: BoardView) -> Circuit:
    """Circuit one line needs on one pin."""
    return Circuit((*_level_elements(asks, place, board), *_driver_elements(asks, place, board), *_pull_elements(asks, place, board)))


def circuits_for(asks: Asks, places: Sequence[Place], board: BoardView) -> list[Circuit]:
    """Circuits one line needs on many pins; pins alike in what matters share one."""
    known: dict[tuple[object, ...], Circuit] = {}
    found = []
    for place in places:
        fitted = {item.what for item in place.onboard}
        key = (
            place.pad.pull_up,
            place.pad.pull_down,
            place.pad.tolerates_5v,
            floats_at_boot(place),
            *(what in fitted for what in ("divider", "pull-up", "pull-down")),
            tuple(item.ohm for item in place.onboard if item.what in ("pull-up", "pull-down")),
            asks.i_in_a and pin_current_max(asks, board, place),
        )
        if key not in known:
            known[key] = circuit_for(asks, place, board)
        found.append(known[key])
    return found


def joined(circuits: list[Circuit]) -> Circuit:
    """Circuit of a pin several lines share: pulls and shifters are fitted once, all else for each line that needs it."""
    if len(circuits) == 1:
        return circuits[0]
    elements: list[Element] = []
    for circuit in circuits:
        for element in circuit.elements:
            is_shared = element.kind in ("pull-up", "pull-down", "internal pull", "level shifter")
            if not (is_shared and any(e.kind == element.kind for e in elements)):
                elements.append(element)
    return Circuit(tuple(elements))


def one_by_one(circuits: list[Circuit]) -> tuple[Circuit, ...]:
    """Circuit of each line on a shared pin: its own, with what is fitted once for all (pulls) on the first line only."""
    pulls = ("pull-up", "pull-down", "internal pull")
    shared = [e for e in joined(circuits).elements if e.kind in pulls]
    own = [tuple(e for e in circuit.elements if e.kind not in pulls) for circuit in circuits]
    return tuple(Circuit((*elements, *(shared if number == 0 else ()))) for number, elements in enumerate(own))


# ------------------------------------------------------------------------------ levels


FIVE_VOLT_TOLERANT_V = 5.5
"""What a pad called 5 V tolerant may see [V]: a 5 V supply and its tolerance."""


def highest_pin_v(asks: Asks, place: Place, board: BoardView) -> float:
    """Highest voltage this line may put on the pin [V]; a tolerant pad is none while it measures."""
    if place.pad.tolerates_5v and asks.signal != "analog":
        return FIVE_VOLT_TOLERANT_V
    return board.chip.electrical.vin_max.at(board.board.logic_v)


def _level_elements(asks: Asks, place: Place, board: BoardView) -> Iterator[Element]:
    logic_v, chip = board.board.logic_v, board.chip.electrical
    rail_v = asks.rail.at(logic_v)
    shifted = list(_too_high(asks, place, board, rail_v))
    yield from shifted
    if shifted or asks.signal in ("analog", "touch"):
        return
    if asks.direction == "in" and asks.voh:
        gives, needs = _at(asks.voh, rail_v, logic_v), chip.vih_min.at(logic_v)
        if gives < needs - _TOLERANCE_V:
            yield Element("level shifter", "level shifter up", 1, f"the part gives a high of {gives:.2g} V, the pin wants {needs:.2g} V")
    if asks.drives:
        yield from _driven_level(asks, board, rail_v)


def _driven_level(asks: Asks, board: BoardView, rail_v: float) -> Iterator[Element]:
    """Whether the board's high is high enough for the part, and not too high."""
    logic_v, chip = board.board.logic_v, board.chip.electrical
    takes = _highest_taken_v(asks, rail_v, logic_v)
    if takes is not None and logic_v > takes + _TOLERANCE_V:
        words = "level shifter down" if asks.direction == "out" else "two-way level shifter"
        yield Element("level shifter", words, 1, f"the board's high is {logic_v:.2g} V, the part takes {takes:.2g} V")
    elif asks.direction != "open-drain" and asks.vih:
        gives, needs = chip.voh_min.at(logic_v), _at(asks.vih, rail_v, logic_v)
        if gives < needs - _TOLERANCE_V:
            yield Element("level shifter", "level shifter up", 1, f"the pin gives a high of {gives:.2g} V, the part wants {needs:.2g} V")


def _highest_taken_v(asks: Asks, rail_v: float, logic_v: float) -> float | None:
    """Highest voltage the part may see on a line the board drives; a part on a lower rail takes that and 0.3 V."""
    if asks.v_max:
        return _at(asks.v_max, rail_v, logic_v)
    has_levels = asks.vih is not None or asks.vil is not None
    return rail_v + 0.3 if has_levels and rail_v < logic_v else None


def _at(level: Level, rail_v: float, logic_v: float) -> float:
    return level.at(logic_v if level.of == "VDD" else rail_v)


def _presented_v(asks: Asks, rail_v: float, logic_v: float) -> float | None:
    """Highest voltage the part can put on the line; ``None`` where only a pull to the board's own supply makes the high."""
    if asks.pull_fitted and asks.pull_fitted.direction == "up":
        return rail_v
    if asks.direction == "analog-in" or (asks.direction == "in" and (asks.voh or asks.needs.pull == "none")):
        level = asks.v_max or asks.voh
        return _at(level, rail_v, logic_v) if level else None
    return _at(asks.voh, rail_v, logic_v) if asks.voh and asks.direction == "bidir" else None


def _too_high(asks: Asks, place: Place, board: BoardView, rail_v: float) -> Iterator[Element]:
    """What brings a voltage down that is too high for the pin."""
    logic_v = board.board.logic_v
    limit = highest_pin_v(asks, place, board)
    high = _presented_v(asks, rail_v, logic_v) if asks.reads or asks.direction == "analog-in" else None
    if high is None or high <= limit + _TOLERANCE_V or place.fitted("divider"):
        return
    why = f"the line can reach {high:.3g} V, the pin takes {limit:.3g} V"
    if asks.direction == "in" and (asks.pull_fitted or asks.needs.pull == "up"):
        # A divider would load the pull resistor that makes this high.
        yield Element("level shifter", "level shifter down", 1, why)
    elif asks.direction in ("in", "analog-in"):
        top = divider_top(high, logic_v, DIVIDER_BOTTOM_OHM)
        words = f"divider {show_quantity(top, 'Ω')} over {show_quantity(DIVIDER_BOTTOM_OHM, 'Ω')}"
        yield Element("divider", words, 2, why, top)
    else:
        yield Element("level shifter", "two-way level shifter", 1, why)


# ------------------------------------------------------------------------------ drivers


def _driver_elements(asks: Asks, place: Place, board: BoardView) -> Iterator[Element]:
    if asks.needs.driver_components and asks.drives:
        yield Element("driver", asks.needs.driver or "series resistor", asks.needs.driver_components, "a bare pin cannot drive the load")
    elif asks.drives and asks.i_in_a > pin_current_max(asks, board, place):
        have, want = show_quantity(pin_current_max(asks, board, place), "A"), show_quantity(asks.i_in_a, "A")
        yield Element("driver", "transistor stage", 3, f"the load takes {want}, the pin may give {have}")
    elif asks.needs.series_ohm:
        yield Element(
            "series resistor", f"{show_quantity(asks.needs.series_ohm, 'Ω')} in series", 1, "the part asks for it", asks.needs.series_ohm
        )


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


# ------------------------------------------------------------------------------ pulls


def _pull_elements(asks: Asks, place: Place, board: BoardView) -> Iterator[Element]:
    direction = asks.needs.pull
    why = "defines the level when nothing drives the line"
    if asks.signal == "i2c" or (asks.direction == "open-drain" and direction == "none" and asks.signal == "onewire"):
        direction, why = "up", "the bus rests high through a resistor"
    if direction == "none":
        yield from _safe_pull(asks, place, board)
        return
    if asks.pull_fitted and asks.pull_fitted.direction == direction:
        return
    if _serves(place.fitted(f"pull-{direction}"), asks):
        yield Element("internal pull", f"pull-{direction} on the board", 0, why)
        return
    # An internal pull is off until the firmware turns it on: of no use to a load that waits for the firmware.
    internal = asks.direction != "out" and (place.pad.pull_up if direction == "up" else place.pad.pull_down)
    if (_presented_v(asks, asks.rail.at(board.board.logic_v), board.board.logic_v) or 0.0) > board.chip.electrical.vin_max.at(
        board.board.logic_v
    ):
        internal = False  # a tolerant pad stands a higher voltage only while its own pull is off
    if internal and not asks.needs.external_pull and not asks.long_wire and asks.signal != "i2c":
        yield Element("internal pull", f"internal pull-{direction}", 0, why)
        return
    if asks.direction == "out":
        why += ", also before your firmware runs"
    elif not internal:
        why += f"; this pin has no pull-{direction} of its own"
    elif asks.long_wire:
        why += "; an internal pull is too weak for a wire this long"
    ohm = asks.needs.pull_ohm or (I2C_PULL_OHM if asks.signal == "i2c" else PULL_OHM)
    to = show_quantity(board.board.logic_v, "V") if direction == "up" else "ground"
    yield Element(f"pull-{direction}", f"{show_quantity(ohm, 'Ω')} to {to}", 1, why, ohm)


def _serves(fitted: Onboard | None, asks: Asks) -> bool:
    """Whether a pull on the board is strong enough for what the line asks; of unknown size counts as the usual one."""
    if fitted is None:
        return False
    wanted = asks.needs.pull_ohm or (I2C_PULL_OHM if asks.signal == "i2c" else None)
    return wanted is None or (fitted.ohm or PULL_OHM) <= 1.5 * wanted


def _safe_pull(asks: Asks, place: Place, board: BoardView) -> Iterator[Element]:
    """A resistor that holds a quiet line at its safe level while the pin floats."""
    if asks.quiet == "no" or asks.safe_level not in ("high", "low") or asks.floats == "safe" or not floats_at_boot(place):
        return
    direction = "up" if asks.safe_level == "high" else "down"
    if asks.pull_fitted and asks.pull_fitted.direction == direction:
        return
    if asks.quiet == "prefer" and asks.floats != "unsafe":
        return  # a flicker is no reason to buy a resistor
    to = "ground" if direction == "down" else show_quantity(board.board.logic_v, "V")
    yield Element(
        f"pull-{direction}", f"{show_quantity(PULL_OHM, 'Ω')} to {to}", 1, "keeps the part off while the pin floats at power-up", PULL_OHM
    )
