"""Figures of an entry that belong together: supply range, input and output levels, pulls and spreads in their order.

Everything here is what physics or the meaning of the words asks; ``facts.figures`` has bounded each figure by then.
"""

from __future__ import annotations

from itertools import pairwise

from pinwright.facts.figures import KeyPath, Report, fact_figures
from pinwright.facts.model import Board, Chip, Electrical, Fact, Level, Part, PartLine

__all__ = ["check_chip_levels", "check_logic_voltage", "check_part_levels"]

_NEEDED = ("vdd_min_v", "vdd_typ_v", "vdd_max_v", "i_pin_source_max_a", "i_pin_sink_max_a", "i_pin_design_a")
"""Facts of a chip every plan calculates with."""

_ROUNDING_V = 1e-6


def check_chip_levels(chip: Chip, report: Report) -> None:
    """Report supply figures and levels of a chip that cannot be true together."""
    electrical = chip.electrical
    here: KeyPath = ("electrical",)
    for name in _NEEDED:
        if _lacks_value(getattr(electrical, name)):
            report((*here, name), "Every plan calculates with this figure.", "Give value.")
    for name in ("pull_up_ohm", "pull_down_ohm"):
        fact = getattr(electrical, name)
        if fact is not None and fact.text and not any(fact_figures(fact)):
            report((*here, name), "A pull without a figure is unknown.", "Give value or a spread, or leave the key away.")
    supplies = {name: getattr(electrical, name).value for name in _NEEDED[:3]}
    if None in supplies.values():
        return
    for (low, least), (high, most) in pairwise(supplies.items()):
        if least > most:
            report((*here, high), f"{low} = {least:g} is above {high} = {most:g}.", "Put them in order.")
            return
    _check_pad_levels(electrical, report)


def _lacks_value(fact: Fact) -> bool:
    """Whether a fact says something, but not the figure to calculate with; one that says nothing is reported as such."""
    return fact.value is None and (bool(fact.text) or any(fact_figures(fact)))


def _check_pad_levels(electrical: Electrical, report: Report) -> None:
    """Compare levels at the usual and the highest supply; documents often promise plain volts only there."""
    here: KeyPath = ("electrical",)
    for supply in ("vdd_typ_v", "vdd_max_v"):
        vdd_v = getattr(electrical, supply).value
        at = f"at {supply} = {vdd_v:g} V"
        vil, vih, vol, voh = (getattr(electrical, n).at(vdd_v) for n in ("vil_max", "vih_min", "vol_max", "voh_min"))
        before = _Once(report)
        if vil <= 0:
            before((*here, "vil_max"), f"A low may reach {vil:g} V {at}: no signal is that low.", "It must be above 0 V.")
        if vih <= vil:
            before(
                (*here, "vih_min"), f"A high begins at {vih:g} V {at}, not above the low of {vil:g} V.", "vil_max must be below vih_min."
            )
        if vih > vdd_v + _ROUNDING_V:
            before((*here, "vih_min"), f"A high begins at {vih:g} V {at}, above the supply.", "No pad of its own kind could drive it.")
        if vol < 0:
            before((*here, "vol_max"), f"A low output stands at {vol:g} V {at}.", "It must be at least 0 V.")
        if voh <= vol:
            before((*here, "voh_min"), f"A high output stands at {voh:g} V {at}, not above the low of {vol:g} V.", "Check both levels.")
        if voh > vdd_v + _ROUNDING_V:
            before((*here, "voh_min"), f"A high output stands at {voh:g} V {at}, above the supply.", "It must be within the supply.")
        if electrical.vin_max.at(vdd_v) < vih:
            before((*here, "vin_max"), f"The pad stands less {at} than a high needs.", "Check vin_max and vih_min.")
        if before.reported:
            return


class _Once:
    """Passes reports on and remembers that there were some."""

    def __init__(self, report: Report) -> None:
        self._report = report
        self.reported = False

    def __call__(self, path: KeyPath, wrong: str, right: str) -> None:
        self.reported = True
        self._report(path, wrong, right)


def check_logic_voltage(board: Board, chip: Chip) -> tuple[str, str] | None:
    """Say what is wrong with a board that runs its chip outside the chip's supply range, or ``None``."""
    low, high = chip.electrical.vdd_min_v.value, chip.electrical.vdd_max_v.value
    if low is None or high is None or low <= board.logic_v <= high:
        return None
    return f"{chip.part} runs at {low:g} V to {high:g} V, not at {board.logic_v:g} V.", "Write the voltage the board feeds the chip."


def check_part_levels(part: Part, here: KeyPath, report: Report) -> None:
    """Report figures of a part that cannot be true together."""
    for name in ("idle", "active", "peak"):
        fact: Fact | None = getattr(part.current_a, name)
        if fact is not None and _lacks_value(fact):
            report((*here, "current_a", name), "Every plan calculates with this figure.", "Give value.")
    supplies = sorted({v for v in (part.supply_v.min, part.supply_v.typ, part.supply_v.max) if v})
    for index, line in enumerate(part.line):
        for supply_v in supplies:
            if _check_line(line, supply_v, (*here, "line", index), report):
                break


def _check_line(line: PartLine, supply_v: float, here: KeyPath, report: Report) -> bool:
    """Report the levels of a line that are out of order at this supply; true if any was."""
    found = False
    for name in ("vil", "vih", "vol", "voh", "v_max"):
        level: Level | None = getattr(line, name)
        if level is not None and level.of != "VDD" and level.at(supply_v) < 0:
            report((*here, name), f"This is {level.at(supply_v):g} V at a supply of {supply_v:g} V.", "A level is not below 0 V.")
            found = True
    for low, high, may_be_same in (("vil", "vih", False), ("vol", "voh", False), ("voh", "v_max", True)):
        least, most = getattr(line, low), getattr(line, high)
        if least is None or most is None or (least.of != most.of and least.frac and most.frac):
            continue
        low_v, high_v = least.at(supply_v), most.at(supply_v)
        if low_v > high_v + _ROUNDING_V or (low_v == high_v and not may_be_same):
            report(
                (*here, high),
                f"{low} is {low_v:g} V and {high} {high_v:g} V at a supply of {supply_v:g} V.",
                f"{low} must be below {high}.",
            )
            found = True
    return found
