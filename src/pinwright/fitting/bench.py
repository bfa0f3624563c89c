"""What a maker can build interface circuits with: the stock of the brief, and the transistors of the catalogue."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from pinwright.fitting.setting import Bench, Switch

if TYPE_CHECKING:
    from pinwright.brief.model import Stock
    from pinwright.facts.loader import Catalogue
    from pinwright.facts.model import Part

__all__ = ["bench_of"]

_ON_RESISTANCE = re.compile(r"rds_on_(\d+)v(\d*)_ohm")
"""Name of a fact: the on-resistance at a gate voltage, ``rds_on_4v5_ohm``."""


def bench_of(stock: Stock, catalogue: Catalogue, ambient_high_c: float) -> Bench:
    """Components to choose from: those of the stock first."""
    found = [switch for part in catalogue.parts.values() if (switch := _switch(part, part.id in stock.parts)) is not None]
    found.sort(key=lambda switch: (not switch.in_stock, switch.part))
    resistors = tuple(sorted(ohm for ohm in stock.resistors if ohm > 0))
    return Bench(resistors, int(stock.resistor_series[1:]), stock.resistor_tolerance / 100, tuple(found), ambient_high_c)


def _switch(part: Part, in_stock: bool) -> Switch | None:
    """A transistor of the catalogue, if the part is one and its data says enough."""

    def value(name: str, otherwise: float = 0.0) -> float:
        fact = part.facts.get(name)
        return fact.value if fact is not None and fact.value is not None else otherwise

    if "hfe_min" in part.facts:
        return Switch(
            part.id, part.title, "npn", value("vceo_v"), value("ic_max_a"), hfe_min=value("hfe_min"), vbe_v=value("vbe_sat_v", 0.9),
            vce_sat_v=value("vce_sat_v", 0.4), p_max_w=value("p_max_w"), in_stock=in_stock,
        )  # fmt: skip
    if "vgs_th_v" not in part.facts or "vds_max_v" not in part.facts:
        return None
    threshold = part.facts["vgs_th_v"]
    stated = []
    for name, fact in part.facts.items():
        match = _ON_RESISTANCE.fullmatch(name)
        if match and fact.value is not None:
            stated.append((float(f"{match[1]}.{match[2] or 0}"), fact.value))
    return Switch(
        part.id, part.title, "mosfet", value("vds_max_v"), value("id_max_a"), value("vgs_max_v"), threshold.max or 0.0,
        threshold.min or 0.0, tuple(sorted(stated)), value("gate_charge_c"), p_max_w=value("p_max_w"), in_stock=in_stock,
    )  # fmt: skip
