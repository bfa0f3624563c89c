"""What to buy and what to join: the wire list and the parts list of a build, as rows and as CSV.

Both are read from the ``Build`` alone, so that they cannot disagree with drawing and bench sheet.  Colour codes are those of
IEC 60757, gauges those of ASTM B258 (``circuits.wires``), preferred values those of IEC 60063 (``circuits.preferred``).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields, replace

from pinwright.circuits.marking import rkm_encode
from pinwright.circuits.preferred import preferred
from pinwright.circuits.window import shown
from pinwright.errors import OutOfRange
from pinwright.pack.build.model import Build, Item, Wire
from pinwright.pack.csv_text import Cell, csv_text
from pinwright.pack.wire_rows import WireRow, colour_word, nearest_awg, wire_csv, wire_list

__all__ = ["PartRow", "Total", "WireRow", "colour_word", "nearest_awg", "parts_csv", "parts_list", "total_of", "wire_csv", "wire_list"]

RESERVE = 0.15
"""Wire to buy beyond the sum of all lengths, for stripping, bends and a slip (common practice, no source)."""
_SAME_VALUE = 1e-6


@dataclass(frozen=True, slots=True)
class PartRow:
    """Things alike that are bought together.

    ``group``: board, part, component, wire or supply.  ``value`` as people write it, ``marking`` as it is printed, ``preferred``
    the value of ``series`` nearest to it.  ``to_buy`` of ``quantity``; a wire's is its length [m] (``unit``).
    ``price`` for one and ``sum`` for all to buy are ``None`` where the maker's list has no price.
    """

    group: str
    quantity: float
    unit: str
    designators: str
    what: str
    value: str = ""
    marking: str = ""
    preferred: str = ""
    series: str = ""
    rating: str = ""
    part: str = ""
    mpn: str = ""
    origin: str = ""
    in_stock: bool = False
    to_buy: float = 0.0
    price: float | None = None
    sum: float | None = None
    currency: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Total:
    """What the list costs by currency, what in it has no price, and whether the maker gave prices at all."""

    sums: dict[str, float]
    unpriced: tuple[str, ...]
    has_prices: bool

    @property
    def words(self) -> str:
        """All of it in a sentence or two."""
        if not self.has_prices:
            return "No price list was given."
        paid = ", ".join(f"{amount:.2f} {currency}" for currency, amount in self.sums.items()) or "nothing"
        return f"{paid} by your price list" + (f"; without a price in it: {', '.join(self.unpriced)}." if self.unpriced else ".")


# ------------------------------------------------------------------------------ parts


def parts_list(build: Build) -> tuple[PartRow, ...]:
    """Everything to have at hand: board, parts, components, wire, supply, in this order.

    Parameters
    ----------
    build : what is built [-]
    """
    return (*_board(build), *_alike(build, "part"), *_alike(build, "component"), *_wire(build), *_alike(build, "supply"))


def total_of(rows: Iterable[PartRow], has_prices: bool) -> Total:
    """What a parts list costs; what must be bought and has no price is named, not counted as free.

    Parameters
    ----------
    rows : of ``parts_list`` [-]
    has_prices : whether the maker gave a price list [-]
    """
    sums: dict[str, float] = {}
    unpriced: list[str] = []
    for row in rows:
        if row.sum is not None and row.currency:
            sums[row.currency] = round(sums.get(row.currency, 0.0) + row.sum, 4)
        elif row.to_buy and row.sum is None:
            own = f"({row.designators})" if row.group == "part" and not row.part else ""
            unpriced.append(" ".join(filter(None, (row.what, row.value if row.group == "component" else "", own))))
    return Total(sums, tuple(dict.fromkeys(unpriced)), has_prices)


def parts_csv(rows: Iterable[PartRow], total: Total) -> str:
    """The parts list as CSV text, one row for the total of each currency at its end.

    Parameters
    ----------
    rows : of ``parts_list`` [-]
    total : of ``total_of`` [-]
    """
    names = [field.name for field in fields(PartRow)]
    body = [_cells(row) for row in rows]
    for currency, amount in total.sums.items():
        lacking = f"without {len(total.unpriced)} things that have no price" if total.unpriced else ""
        body.append(_cells(PartRow("total", 0, "", "", "total", sum=amount, currency=currency, note=lacking)))
    return csv_text(names, body)


def _cells(row: PartRow) -> list[Cell]:
    return [getattr(row, field.name) for field in fields(row)]


def _board(build: Build) -> tuple[PartRow, ...]:
    board = build.plan.view.board
    own = board.id in build.job.file.brief.board.own
    prices = build.job.prices
    price = prices.boards.get(board.id) if prices is not None else None
    note = ", ".join(filter(None, (board.maker, board.module)))
    row = PartRow("board", 1, "", build.board.ref, board.name, part=board.id, origin="stock" if own else "", in_stock=own, note=note)
    return (_priced(build, row, price),)


def _alike(build: Build, kind: str) -> list[PartRow]:
    """Rows of one kind of item; what agrees in everything that is bought shares a row."""
    found: dict[tuple[object, ...], list[Item]] = {}
    for item in build.items:
        if item.kind == kind:
            found.setdefault(_bought_as(item), []).append(item)
    return [_row(build, kind, items) for items in found.values()]


def _bought_as(item: Item) -> tuple[object, ...]:
    value = None if item.value is None else float(f"{item.value:.6g}")
    own = item.ref if item.kind in ("part", "supply") and not item.part else ""  # a part of the maker's own is like no other
    return own, item.title, item.symbol, value, item.unit, item.rating, item.part, item.origin, item.in_stock


def _row(build: Build, kind: str, items: list[Item]) -> PartRow:
    first = items[0]
    known = build.job.catalogue.parts.get(first.part)
    value, marking, nearest, series = _value_words(first)
    notes = dict.fromkeys(item.note for item in items if item.note)
    row = PartRow(
        kind, len(items), "", ", ".join(item.ref for item in items), first.title, value, marking, nearest, series,
        _rating(build, first), first.part, known.mpn if known is not None else "", first.origin, first.in_stock,
        note="; ".join(notes) if kind != "part" or len(notes) == 1 else "",
    )  # fmt: skip
    return _priced(build, row, _component_price(build, first))


def _rating(build: Build, item: Item) -> str:
    """What it must stand; a resistor nobody gave a tolerance for has the brief's."""
    if item.symbol != "resistor" or item.rating.endswith("%"):
        return item.rating
    tolerance = f"{build.job.setting.bench.tolerance * 100:g} %"
    return f"{tolerance}, {item.rating}" if item.rating else tolerance


def _value_words(item: Item) -> tuple[str, str, str, str]:
    """Value for people, its marking, the preferred value nearest to it and the coarsest series that has that."""
    if item.value is None or not item.value > 0:
        return "", "", "", ""
    written = shown(item.value, item.unit)
    if item.symbol not in ("resistor", "capacitor"):
        return written, "", "", ""
    # The series are the same for capacitors, which are sold in E6 or E12 mostly; the mantissas do not care about the decade.
    scale = 1.0 if item.symbol == "resistor" else 1e12
    marking = rkm_encode(item.value) if item.symbol == "resistor" else ""
    for n in (6, 12, 24, 48, 96):
        try:
            member = preferred(item.value * scale, n) / scale
        except OutOfRange:
            return written, marking, "", ""
        if abs(member / item.value - 1) < _SAME_VALUE:
            return written, marking, shown(member, item.unit), f"E{n}"
    return written, marking, shown(preferred(item.value * scale, 24) / scale, item.unit), "E24 (nearest)"


_SOLD_AS = {"resistor": "resistor", "npn": "transistor", "nmos": "transistor", "stage": "transistor", "shifter": "level shifter"}
"""Name of a component in a price list."""


def _component_price(build: Build, item: Item) -> float | None:
    prices = build.job.prices
    return prices.components.get(_SOLD_AS.get(item.symbol, "")) if prices is not None and item.kind == "component" else None


def _priced(build: Build, row: PartRow, price: float | None) -> PartRow:
    to_buy = 0.0 if row.in_stock else row.quantity
    prices = build.job.prices
    if to_buy == 0 or prices is None or price is None:
        return replace(row, to_buy=to_buy, price=price, sum=0.0 if to_buy == 0 and prices is not None else None,
                       currency=prices.currency if prices is not None and to_buy == 0 else "")  # fmt: skip
    return replace(row, to_buy=to_buy, price=price, sum=round(price * to_buy, 4), currency=prices.currency)


def _wire(build: Build) -> list[PartRow]:
    """Wire by cross-section and colour, all lengths with a reserve, thickest first."""
    found: dict[tuple[float, str], list[Wire]] = {}
    for wire in build.wires:
        found.setdefault((wire.area_mm2, wire.colour), []).append(wire)
    rows = []
    for (area, colour), wires in sorted(found.items(), key=lambda pair: (-pair[0][0], pair[0][1])):
        metres = round(sum(wire.length_m for wire in wires) * (1 + RESERVE), 2)
        awg = nearest_awg(area, max(wire.i_a for wire in wires))
        note = f"{len(wires)} wire{'s' if len(wires) > 1 else ''}, {RESERVE:.0%} reserve in it"
        what, numbers = f"stranded wire {area:g} mm², {colour_word(colour)}", ", ".join(str(wire.number) for wire in wires)
        row = PartRow("wire", metres, "m", numbers, what, f"{area:g} mm²", colour, f"AWG {awg}", note=note)
        rows.append(_priced(build, row, None))
    return rows
