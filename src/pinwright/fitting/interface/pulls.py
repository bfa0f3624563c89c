"""Pull resistors of a single line: inside the chip where that is enough, otherwise one to fit, with the window of its value."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.circuits.i2c import C_CABLE_F_PER_M
from pinwright.circuits.onewire import pull_up_plan as one_wire_plan
from pinwright.circuits.pulls import R_NOISE_MAX_OHM, PullPlan, pull_down_plan, pull_up_plan
from pinwright.circuits.window import Aim, Window, shown
from pinwright.facts.model import Fact, Onboard
from pinwright.fitting.interface.levels import C_PIN_F, presented_v
from pinwright.fitting.interface.pieces import Element, Piece
from pinwright.fitting.interface.rails import board_rail, pin_receiver
from pinwright.fitting.lines import LONG_WIRE_M, Asks
from pinwright.fitting.places import BoardView, Place
from pinwright.fitting.setting import Bench
from pinwright.powerup.phases import I_LEAK_A, internal_pull, leak_of_pin
from pinwright.powerup.proof import MODULE_SPREAD, MUCH_MORE, Load, pull_to_beat
from pinwright.powerup.quiet import boot_states, floats_at_boot

__all__ = ["PULL_OHM", "pull_elements", "pull_window", "shifter_input_v"]

SHIFTER_LOW_V = 0.8
"""Up to here an input of a level shifter is low for sure  [TTL input levels, JESD8C.01, from memory]."""
SHIFTER_HIGH_SHARE = 0.3
"""So much of the supply below it an input of a level shifter is still high  [CMOS input levels, JESD8C.01, from memory]."""

PULL_OHM = 10e3
"""Usual pull for contacts and gates (common practice, no source)."""
LONG_WIRE_PULL_OHM = 12e3
"""Weakest pull on a wire longer than half a metre, tolerance included: it must carry noise away (common practice, no source)."""
_NOISE_SHARE = 0.1
"""Margin kept beyond a threshold, as a share of the supply (common practice, no source)."""
_RISE_S = 100e-6
"""Time an ordinary line may take to its level: contacts bounce for milliseconds (common practice, no source)."""
WORDS = "defines the level when nothing drives the line"


def pull_elements(asks: Asks, place: Place, board: BoardView, bench: Bench, shifted: bool = False) -> Iterator[Element]:
    """Pull a line needs on a pin, if any; ``shifted``: a level shifter stands between, whose input must not float either."""
    if asks.signal == "i2c":
        return  # the bus as a whole has its own window
    direction = asks.needs.pull
    if asks.direction == "open-drain" and direction == "none" and asks.signal == "onewire":
        direction = "up"
    if direction == "none":
        yield from _safe_pull(asks, place, board, bench, shifted and asks.direction == "out")
    elif not (asks.pull_fitted and asks.pull_fitted.direction == direction):
        yield _pull(asks, direction, place, board, bench)


def _pull(asks: Asks, direction: str, place: Place, board: BoardView, bench: Bench) -> Element:
    plan = _window(asks, direction, place, board, bench)
    if _serves(place.fitted(f"pull-{direction}"), asks, plan):
        return Element("internal pull", f"pull-{direction} on the board", 0, WORDS)
    why, internal = WORDS, _internal(asks, direction, place, board, plan)
    if internal is not None:
        return internal
    if asks.direction == "out":
        why += ", also before your firmware runs"
    elif not (place.pad.pull_up if direction == "up" else place.pad.pull_down):
        why += f"; this pin has no pull-{direction} of its own"
    elif asks.long_wire:
        why += "; an internal pull is too weak for a wire this long"
    elif not asks.needs.external_pull:
        why += f"; an internal pull is too weak: {plan.window.high.because}"
    return _resistor(asks, direction, board, plan, why)


def pull_window(asks: Asks, direction: str, place: Place, board: BoardView, bench: Bench) -> Window:
    """Values a pull of this line may have on this pin."""
    return _window(asks, direction, place, board, bench).window


def _resistor(asks: Asks, direction: str, board: BoardView, plan: PullPlan, why: str) -> Element:
    """The resistor to fit: what the part's data sheet or the brief asks for where it lies in the window, else the choice."""
    if asks.needs.pull_ohm and (asks.direction != "out" or plan.choice is None or asks.needs.pull_ohm <= plan.window.high.value * 1.06):
        ohm, origin, reason = asks.needs.pull_ohm, "as asked", "the value the part or the brief asks for"
    elif plan.choice is not None:
        ohm, origin, reason = plan.choice.value, plan.choice.origin, plan.choice.why
    else:
        ohm, origin, reason = PULL_OHM, "usual", plan.words
    to = shown(board.board.logic_v, "V") if direction == "up" else "ground"
    formula = f"pulls.pull_{direction}_plan"
    piece = Piece("resistor", f"pull-{direction}", ohm, window=plan.window, origin=origin, why=reason, formula=formula)
    return Element(f"pull-{direction}", f"{shown(ohm)} to {to}", 1, why, ohm, (piece,))


def _window(asks: Asks, direction: str, place: Place, board: BoardView, bench: Bench) -> PullPlan:
    """Window of the pull on this pin: leakage, rise, noise on one side; what must overpower it on the other."""
    if asks.direction == "out" and asks.safe_level in ("high", "low") and direction == ("up" if asks.safe_level == "high" else "down"):
        return _safe_window(asks, direction, place, board, bench)
    rail, reads = board_rail(board), pin_receiver(board.chip)
    leak = leak_of_pin(board.chip) + I_LEAK_A
    capacitance = C_PIN_F + (asks.c_in_f or C_PIN_F) + asks.wire_m * C_CABLE_F_PER_M
    weakest = LONG_WIRE_PULL_OHM if asks.wire_m > LONG_WIRE_M else R_NOISE_MAX_OHM
    aim: Aim = "middle"
    if asks.signal == "onewire" and direction == "up":
        plan = one_wire_plan(rail, 1, asks.wire_m, tolerance=bench.tolerance, stock=bench.resistors)
        held = rail.high / plan.choice.value if plan.choice else None
        return PullPlan(plan.window, plan.choice, held)
    # A contact held closed for hours should not drain a battery (common practice, no source), unless its maker asks for more.
    idle = max(1e-3, 1.1 * rail.high / asks.needs.pull_ohm if asks.needs.pull_ohm else 0.0)
    if direction == "up":
        vih = max(reads.vih.fraction * v + reads.vih.offset_v for v in (rail.low, rail.high))
        return pull_up_plan(
            rail, vih, leak, i_sink_a=asks.i_sink_a, i_idle_max_a=idle, t_rise_s=_RISE_S, c_f=capacitance,
            v_noise_v=_NOISE_SHARE * rail.low / 2, r_max_ohm=weakest, tolerance=bench.tolerance, stock=bench.resistors, aim=aim,
        )  # fmt: skip
    vil = min(reads.vil.fraction * v + reads.vil.offset_v for v in (rail.low, rail.high))
    if asks.reads:
        weakest = min([weakest, *(erratum.pull_down_max_ohm for erratum in place.errata if erratum.pull_down_max_ohm)])
    return pull_down_plan(
        vil, leak, voh_v=rail.high, i_idle_max_a=idle, v_noise_v=_NOISE_SHARE * rail.low / 2,
        r_max_ohm=weakest, tolerance=bench.tolerance, stock=bench.resistors, aim=aim,
    )  # fmt: skip


def _internal(asks: Asks, direction: str, place: Place, board: BoardView, plan: PullPlan) -> Element | None:
    """The chip's own pull, if the pad has one, it can be on in time, and its whole spread lies in the window."""
    # An internal pull is off until the firmware turns it on: of no use to a load that waits for the firmware.
    if asks.direction == "out" or not (place.pad.pull_up if direction == "up" else place.pad.pull_down):
        return None
    if asks.needs.external_pull or asks.long_wire:
        return None
    electrical = board.chip.electrical
    if (presented_v(asks, board) or 0.0) > electrical.vin_max.at(board.board.logic_v):
        return None  # a tolerant pad stands a higher voltage only while its own pull is off
    spread = _spread(electrical.pull_up_ohm if direction == "up" else electrical.pull_down_ohm)
    if spread is not None and not (plan.window.low.value <= spread[0] and spread[1] <= plan.window.high.value * (1 + 1e-9)):
        return None
    said = ""
    if spread:
        size = shown(spread[0]) if spread[0] == spread[1] else f"{shown(spread[0])} to {shown(spread[1])}"
        said = f", {size}, allowed {plan.window.words}"
    return Element("internal pull", f"internal pull-{direction}", 0, WORDS + said)


def _spread(fact: Fact | None) -> tuple[float, float] | None:
    if fact is None:
        return None
    middle = fact.value or fact.typ
    low, high = fact.min or middle, fact.max or middle
    return (low, high) if low and high else None


def _serves(fitted: Onboard | None, asks: Asks, plan: PullPlan) -> bool:
    """Whether a pull on the board is strong enough for what the line asks; of unknown size counts as the usual one."""
    if fitted is None:
        return False
    ohm = fitted.ohm or PULL_OHM
    if asks.direction == "out":
        return ohm * (1 + MODULE_SPREAD) <= plan.window.high.value
    if asks.needs.pull_ohm:
        return ohm <= 1.5 * asks.needs.pull_ohm
    return ohm <= max(plan.window.high.value, PULL_OHM)


def _safe_pull(asks: Asks, place: Place, board: BoardView, bench: Bench, shifted: bool) -> Iterator[Element]:
    """A resistor that holds a quiet line at its safe level while the pin floats."""
    if asks.quiet == "no" or asks.safe_level not in ("high", "low"):
        return
    direction = "up" if asks.safe_level == "high" else "down"
    opposed = _pulled_wrong(asks, place) and (shifted or _feels(asks, board, direction))
    if not opposed and ((asks.floats == "safe" and not shifted) or not floats_at_boot(place)):
        return
    if asks.pull_fitted and asks.pull_fitted.direction == direction and not opposed and not shifted:
        return
    if asks.quiet == "prefer" and (asks.floats != "unsafe" or not floats_at_boot(place)):
        return  # a flicker is no reason to buy a resistor
    why = "keeps the part off against the pad's own pull at power-up" if opposed else "keeps the part off while the pin floats at power-up"
    yield _resistor(asks, direction, board, _safe_window(asks, direction, place, board, bench, shifted), why)


def _pulled_wrong(asks: Asks, place: Place) -> bool:
    """Whether the pad's own pull, or one on the board, draws the line to the level that switches the part on before firmware."""
    return ("pull-up" if asks.safe_level == "low" else "pull-down") in boot_states(place)


def _feels(asks: Asks, board: BoardView, direction: str) -> bool:
    """Whether the current of an internal pull can matter to the part."""
    ohm, _ = internal_pull(board.chip, "down" if direction == "up" else "up")
    return not (asks.floats == "safe" and asks.i_in_a > MUCH_MORE * board.board.logic_v / ohm)


def _safe_window(asks: Asks, direction: str, place: Place, board: BoardView, bench: Bench, shifted: bool = False) -> PullPlan:
    """Window of a resistor that keeps a part off against the pad's own pull and leakage, and that the pin overpowers."""
    rail = board_rail(board)
    off = shifter_input_v(asks.safe_level, board.board.logic_v) if shifted else _off_level_v(asks, board)
    load = Load(asks.safe_level, (off if direction == "down" else rail.low - off), 0.0)
    does = "pulled up" if direction == "down" else "pulled down"
    beaten = pull_to_beat(load, does, board.chip, rail) if _pulled_wrong(asks, place) else None
    weakest = min(R_NOISE_MAX_OHM, beaten) if beaten else R_NOISE_MAX_OHM
    leak = leak_of_pin(board.chip) + I_LEAK_A
    electrical = board.chip.electrical
    drive = electrical.i_pin_design_a.value or 4e-3
    if direction == "down":
        return pull_down_plan(off, leak, voh_v=rail.high, i_source_a=drive, tolerance=bench.tolerance, stock=bench.resistors,
                              i_idle_max_a=1e-3 if beaten is None else drive, v_noise_v=0.0, r_max_ohm=weakest)  # fmt: skip
    return pull_up_plan(rail, rail.low - off, leak, i_sink_a=drive, i_idle_max_a=1e-3 if beaten is None else drive, r_max_ohm=weakest,
                        tolerance=bench.tolerance, stock=bench.resistors)  # fmt: skip


def shifter_input_v(safe_level: str, logic_v: float) -> float:
    """How far from its rail the input of a level shifter may stand and still be sure of its level [V]."""
    return SHIFTER_LOW_V if safe_level == "low" else SHIFTER_HIGH_SHARE * logic_v


def _off_level_v(asks: Asks, board: BoardView) -> float:
    """How far from its safe rail a part may stand and still be off [V]: its own threshold, or 0.3 V (below a transistor's)."""
    logic_v = board.board.logic_v
    rail_v = asks.rail.at(logic_v)
    if asks.safe_level == "low" and asks.vil:
        return max(0.1, asks.vil.at(logic_v if asks.vil.of == "VDD" else rail_v))
    if asks.safe_level == "high" and asks.vih:
        return max(0.1, logic_v - asks.vih.at(logic_v if asks.vih.of == "VDD" else rail_v))
    return 0.3
