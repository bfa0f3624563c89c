"""What a number of the catalogue may be: finite, possible for its unit, and in order with its neighbours.

The end of a key names the unit, and the unit bounds the figure: no formula of a plan may ever meet a number it
cannot take (a resistance of zero, a current below zero, a voltage that is no number).  The bounds are ours (common
practice, no source) and wide: they refuse what nobody has ever built, not what is merely unusual.
"""

from __future__ import annotations

import dataclasses
import math
import typing
from collections.abc import Callable, Iterator
from functools import cache
from itertools import pairwise
from typing import Any

from pinwright.facts.model import AdcRange, BoardSupply, Curve, Fact, HeaderStrip, Load, PartSupply, PwmPool, StateCurrent

__all__ = ["Report", "Wrong", "check_figures", "fact_figures", "members"]

KeyPath = tuple[str | int, ...]
Wrong = tuple[str, str]
"""What is there, and what is wanted."""
Report = Callable[[KeyPath, str, str], None]

_LEAST = 1e-18
"""Stands for "more than zero": less than this nobody measures."""


@dataclasses.dataclass(frozen=True, slots=True)
class Bounds:
    """Least and greatest figure, and what kind of thing lies between them."""

    low: float
    high: float
    what: str
    unit: str = ""

    def wrong(self, figure: float) -> Wrong | None:
        """Say what is wrong with a figure, or ``None``."""
        if self.low <= figure <= self.high:
            return None
        unit = f" {self.unit}" if self.unit else ""
        if not math.isfinite(figure):
            return f"{figure} is no number to calculate with.", f"Write {self.what}{', in' + unit if unit else ''}, or leave the key away."
        least = "more than 0" if self.low == _LEAST else f"at least {self.low:g}"
        return f"{figure:g}{unit} cannot be {self.what}.", f"It must be {least} and at most {self.high:g}{unit}."


_ANY = Bounds(-1e15, 1e15, "a figure")
_SHARE = Bounds(0.0, 2.0, "a share")
_ERROR = Bounds(0.0, 1.0, "an error as a share")
_COUNT = Bounds(1, 1e12, "a count")
_BITS = Bounds(1, 64, "a number of bits")
_SIZE = Bounds(0.001, 1.0, "a size", "m")
_PLACE = Bounds(-1.0, 1.0, "a place on the board", "m")
_FEED = Bounds(0.1, 1000.0, "a supply voltage", "V")
_OFFSET = Bounds(-1000.0, 1000.0, "a voltage", "V")

BY_ENDING = {
    "a": Bounds(0.0, 1000.0, "a current", "A"),
    "v": Bounds(-1.0, 1000.0, "a voltage", "V"),
    "ohm": Bounds(1e-6, 1e15, "a resistance", "ohm"),
    "f": Bounds(_LEAST, 1e4, "a capacitance", "F"),
    "h": Bounds(_LEAST, 1e4, "an inductance", "H"),
    "s": Bounds(_LEAST, 1e9, "a time", "s"),
    "hz": Bounds(1e-6, 1e12, "a frequency", "Hz"),
    "baud": Bounds(1.0, 1e9, "a rate", "Bd"),
    "m": _SIZE,
    "frac": _SHARE,
    "share": _SHARE,
    "bits": _BITS,
    "bytes": _COUNT,
    "lsb": Bounds(0.0, 1e6, "an error in steps"),
}
"""Bounds by the last word of a key."""

_BY_KEY = {
    "Level.v": _OFFSET,  # beside a share of the supply: supply less 1.5 V
    "AdcUnit.offset_v": _OFFSET,
    "Curve.zero_v": _OFFSET,
    "Curve.gain_v": _OFFSET,
    "Curve.fixed_tolerance": _ERROR,
    "Divided.tolerance": Bounds(0.0, 0.5, "a tolerance as a share"),
    "Curve.tolerance": Bounds(0.0, 1e9, "an error"),
    "Curve.beta_k": Bounds(1.0, 1e5, "a beta value", "K"),
    "Curve.gamma": Bounds(0.01, 10.0, "a slope"),
    "AdcUnit.gain_error": Bounds(-1.0, 1.0, "an error as a share"),
    "AdcUnit.reference_error": _ERROR,
    "Regulator.tolerance": Bounds(0.0, 0.5, "a tolerance as a share"),
    "Regulator.efficiency": Bounds(0.01, 1.0, "an efficiency as a share"),
    "Regulator.theta_k_per_w": Bounds(0.01, 1e4, "a heat resistance", "K/W"),
    "Regulator.t_junction_max_c": Bounds(0.0, 500.0, "a hottest temperature", "°C"),
    "Regulator.v_out_v": _FEED,
    "Board.logic_v": _FEED,
    "Load.v_v": _FEED,
    "Electrical.vdd_min_v": _FEED,
    "Electrical.vdd_typ_v": _FEED,
    "Electrical.vdd_max_v": _FEED,
    "BoardSupply.v_min_v": Bounds(0.0, 1000.0, "a supply voltage", "V"),
    "BoardSupply.v_max_v": Bounds(0.0, 1000.0, "a supply voltage", "V"),
    "HeaderStrip.x_m": _PLACE,
    "HeaderStrip.y_m": _PLACE,
    "HeaderStrip.dx_m": _PLACE,
    "HeaderStrip.dy_m": _PLACE,
    "Onboard.at_m": _PLACE,
    "PartCurrent.idle": BY_ENDING["a"],
    "PartCurrent.active": BY_ENDING["a"],
    "PartCurrent.peak": BY_ENDING["a"],
    "Part.module_pull_up": BY_ENDING["ohm"],
    "PwmPool.divider_max": Bounds(1.0, 1e12, "a divider"),
    "PwmPool.timers": _COUNT,
    "PwmPool.channels": _COUNT,
    "PulseEngine.count": _COUNT,
    "BusInstance.count": Bounds(1, 64, "a count"),
    "PartLine.count": Bounds(1, 256, "a count of wires"),
    "BoardPin.order": _COUNT,
    "HeaderStrip.first": _COUNT,
    "HeaderStrip.last": _COUNT,
    "Needs.driver_components": Bounds(0, 1000, "a count of components"),
    "Erratum.weight": Bounds(0, 100, "a weight in risk marks"),
    "SleepState.wake_pins_max": Bounds(0, 1000, "a count of pads"),
    "I2cFacts.addresses": Bounds(0, 127, "a bus address of 7 bits"),
    "I2cFacts.default": Bounds(0, 127, "a bus address of 7 bits"),
    "SpiFacts.modes": Bounds(0, 3, "a clock mode"),
    **{f"PartSupply.{end}": Bounds(0.0, 1000.0, "a supply voltage", "V") for end in ("min", "typ", "max", "abs_max")},
}
"""Bounds of single keys, where their last word does not tell or allows too much."""

_FREE = {
    "v": Bounds(-1e5, 1e5, "a voltage", "V"),  # insulation is tested with kilovolts, a bus may swing below ground
    "m": Bounds(0.0, 1e6, "a length", "m"),
}
"""The same for keys of ``facts``, which a part names freely."""

UNITS = {
    "a": "A", "v": "V", "ohm": "ohm", "f": "F", "h": "H", "s": "s", "hz": "Hz", "baud": "Bd", "m": "m", "c": "C", "k": "K", "w": "W",
    "bit": "bit", "lsb": "LSB",
}  # fmt: skip
"""How a ``Fact.unit`` writes the last word of a key."""


# ------------------------------------------------------------------------------ what a class can hold


@dataclasses.dataclass(frozen=True, slots=True)
class Members:
    """Fields of one class: those with a figure and its bounds, those with objects, and whether it names a source."""

    figures: tuple[tuple[str, Bounds], ...]
    objects: tuple[str, ...]
    is_cited: bool


@cache
def members(cls: Any) -> Members:
    """Look a class of the model over once; it has thousands of objects."""
    figures, objects = [], []
    for name, hint in typing.get_type_hints(cls).items():
        inner = set(_inner(hint))
        if any(dataclasses.is_dataclass(item) for item in inner):
            objects.append(name)
        elif inner & {int, float}:
            figures.append((name, bounds_of(name, cls.__name__)))
    return Members(tuple(figures), tuple(objects), "src" in cls.__dataclass_fields__)


def _inner(hint: Any) -> Iterator[Any]:
    arguments = typing.get_args(hint)
    if typing.get_origin(hint) is typing.Literal:
        return
    if not arguments:
        yield hint
    for argument in arguments:
        yield from _inner(argument)


@cache
def bounds_of(key: str, owner: str = "") -> Bounds:
    """Bounds of the figure at a key of a class, or at a free key of ``facts`` (no class)."""
    ending = key.rpartition("_")[2]
    if owner:
        return _BY_KEY.get(f"{owner}.{key}") or BY_ENDING.get(ending, _ANY)
    if "_per_" in key:
        return _ANY
    return _FREE.get(ending) or BY_ENDING.get(ending, _ANY)


@cache
def unit_of(key: str, owner: str = "") -> str:
    """The unit a key ends in, as a ``Fact.unit`` writes it; empty where the key has none.

    >>> unit_of("i_pin_source_max_a"), unit_of("gain_v_per_k"), unit_of("channels")
    ('A', 'V/K', '')
    """
    if single := _BY_KEY.get(f"{owner}.{key}"):
        return single.unit
    above, per, below = key.partition("_per_")
    unit = UNITS.get(above.rpartition("_")[2], "")
    if not per:
        return unit if "_" in key else ""
    return f"{unit or '1'}/{UNITS[below]}" if below in UNITS else ""


# ------------------------------------------------------------------------------ checks


def check_figures(item: Any, path: KeyPath, report: Report) -> None:
    """Report every figure at or below an object that cannot be."""
    cls: Any = type(item)
    held = members(cls)
    for name, bounds in held.figures:
        value = getattr(item, name)
        if value is None or isinstance(value, str):
            continue
        if isinstance(value, tuple):
            for index, one in enumerate(value):
                if not isinstance(one, str) and (wrong := bounds.wrong(one)):
                    report((*path, name, index), *wrong)
        elif wrong := bounds.wrong(value):
            report((*path, name), *wrong)
    for name in held.objects:
        value = getattr(item, name)
        if value is None or value == ():
            continue
        here = (*path, name)
        if isinstance(value, tuple):
            for index, one in enumerate(value):
                check_figures(one, (*here, index), report)
        elif isinstance(value, dict):
            for key, one in value.items():
                if isinstance(one, Fact):
                    _check_fact(one, (*here, key), bounds_of(key), unit_of(key), report)
        elif isinstance(value, Fact):
            _check_fact(value, here, bounds_of(name, cls.__name__), unit_of(name, cls.__name__), report)
        else:
            check_figures(value, here, report)
    if cls in _ORDERED:
        _check_order(item, path, report)


def fact_figures(fact: Fact) -> Iterator[tuple[str, float]]:
    """Figures of a fact with the keys they stand at."""
    for name in ("value", "min", "typ", "max"):
        if (figure := getattr(fact, name)) is not None:
            yield name, figure


def _check_fact(fact: Fact, path: KeyPath, bounds: Bounds, unit: str, report: Report) -> None:
    for name, figure in fact_figures(fact):
        if wrong := bounds.wrong(figure):
            report((*path, name), *wrong)
    for index, other in enumerate(fact.also):
        if other.value is not None and (wrong := bounds.wrong(other.value)):
            report((*path, "also", index, "value"), *wrong)
    if fact.unit and unit and fact.unit != unit:
        report(
            (*path, "unit"),
            f"The key asks for a figure in {unit}, and unit says {fact.unit!r}.",
            f'Write the figure in {unit}, unit = "{unit}".',
        )


_ORDERED: dict[type, tuple[tuple[str, ...], bool]] = {
    PartSupply: (("min", "typ", "max", "abs_max"), True),
    BoardSupply: (("v_min_v", "v_max_v"), True),
    AdcRange: (("v_min_v", "v_max_v"), False),
    PwmPool: (("hz_min_hz", "hz_max_hz"), True),
    StateCurrent: (("typ_a", "max_a"), True),
    Load: (("vf_min_v", "vf_max_v"), True),
    Curve: (("low", "high"), False),
    HeaderStrip: (("first", "last"), True),
}
"""Keys that must not fall, and whether two may be the same."""


def _check_order(item: Any, path: KeyPath, report: Report) -> None:
    names, may_be_same = _ORDERED[type(item)]
    there = [(name, value) for name in names if (value := getattr(item, name)) is not None]
    for (low, least), (high, most) in pairwise(there):
        if least > most or (least == most and not may_be_same):
            relation = "above" if least > most else "the same as"
            report((*path, high), f"{low} = {least:g} is {relation} {high} = {most:g}.", "Put them in order.")
