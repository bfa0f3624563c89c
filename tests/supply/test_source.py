"""What a brief's source is: its spread, its cells, its charge.   Sources: docs/brief-keys.md, the catalogue's cells."""

from __future__ import annotations

import pytest
from supply_rig import LED, catalogue, found, supplied

PICO = "raspberry-pi-pico"


def source(body: str):  # type: ignore[no-untyped-def]
    return supplied(f"[supply]\n{body}\n" + LED, PICO).source


def test_an_adapter_spreads_by_five_percent() -> None:
    # common practice, no source
    taken = source('source = "adapter"\nvoltage = "12 V"\ncurrent = "2 A"')
    assert (taken.v.low, taken.v.high) == (pytest.approx(11.4), pytest.approx(12.6))
    assert taken.i_max_a == 2.0
    assert taken.capacity_ah is None


@pytest.mark.parametrize("cells", [1, 2, 3, 4])
def test_cells_in_series_add_up_in_volts_and_not_in_charge(cells: int) -> None:
    # Kirchhoff: voltages and inner resistances add, the charge is that of one
    one, many = source('source = "battery"\ncells = 1'), source(f'source = "battery"\ncells = {cells}')
    assert many.v.low == pytest.approx(one.v.low * cells)
    assert many.v.high == pytest.approx(one.v.high * cells)
    assert many.r_ohm == pytest.approx(one.r_ohm * cells)
    assert many.capacity_ah == one.capacity_ah


def test_cells_are_counted_from_the_voltage_where_the_brief_gives_none() -> None:
    # 4.5 V of 1.5 V cells are three
    assert source('source = "battery"\nvoltage = "4.5 V"').v.high == pytest.approx(source('source = "battery"\ncells = 3').v.high)


def test_the_brief_s_charge_and_current_count() -> None:
    taken = source('source = "battery"\ncells = 3\ncapacity = "900 mAh"\ncurrent = "50 mA"')
    assert (taken.capacity_ah, taken.i_max_a) == (pytest.approx(0.9), 0.05)


def test_usb_is_never_emptied() -> None:
    taken = source('source = "usb"\ncapacity = "2000 mAh"')
    assert taken.capacity_ah is None
    assert taken.v.low < 5.0 < taken.v.high + 1e-9


@pytest.mark.parametrize(
    "body", ['source = "lithium cell"', 'source = "battery"\nkind = "cell-lipo-1s"', 'source = "lithium cell"\nkind = "cell-18650"']
)
def test_lithium_always_brings_its_caution(body: str) -> None:
    # behaviour: rules of this project: lithium never goes without
    report = supplied(f"[supply]\n{body}\n" + LED, PICO)
    cells = found(report, "supply-cells")
    assert [f.severity for f in cells] == ["caution"]
    assert "protection circuit" in cells[0].fix
    assert "fuse" in cells[0].fix


def test_primary_cells_bring_theirs() -> None:
    cells = found(supplied('[supply]\nsource = "battery"\ncells = 3\n' + LED, PICO), "supply-cells")
    assert len(cells) == 1
    assert "charge" in cells[0].fix.casefold()


def test_every_battery_of_the_catalogue_can_be_a_source() -> None:
    # property: finite and positive; one whose charge nobody gives says so
    for part in catalogue().parts.values():
        if part.kind == "battery":
            report = supplied(f'[supply]\nsource = "battery"\nkind = "{part.id}"\n' + LED, PICO)
            assert 0 < report.source.v.low <= report.source.v.high
            told = [f for f in found(report, "supply-life") if "nobody gives the charge" in f.because[0]]
            assert bool(told) == (report.source.capacity_ah is None)
            assert (report.endurance is None) == (report.source.capacity_ah is None)


@pytest.mark.parametrize(("kind", "is_what"), [("cell-lipo-1s", "lithium cell"), ("cell-18650", "lithium cell"), ("cells-aa-n", "battery")])
def test_a_kind_that_is_a_battery_is_one_whatever_the_source_says(kind: str, is_what: str) -> None:
    # behaviour: source left out means USB, and a cell once went into the USB socket
    report = supplied(f'[supply]\nkind = "{kind}"\ncells = 1\n' + LED, PICO)
    assert report.source.kind == is_what
    assert report.source.is_battery
    assert report.source.is_lithium == (is_what == "lithium cell")
    assert report.entry.pin != "USB"


def test_round_cells_are_not_told_about_swallowing_and_coin_cells_are() -> None:
    aa, coin = (found(supplied(f'[supply]\nkind = "{kind}"\n' + LED, PICO), "supply-cells")[0] for kind in ("cells-aa-n", "cell-cr2032"))
    assert "swallowed" not in aa.fix
    assert "leak" in aa.fix
    assert "swallowed" in coin.fix


def test_a_charge_no_such_cell_holds_is_noted() -> None:
    # an AA cell holds 2.5 Ah (the catalogue's figure)
    def noted(charge: str) -> list[str]:
        report = supplied(f'[supply]\nkind = "cells-aa-n"\ncells = 3\ncapacity = "{charge}"\n' + LED, PICO)
        return [f.severity for f in found(report, "supply-charge")]

    assert noted("20000 mAh") == ["note"]
    assert noted("2500 mAh") == noted("900 mAh") == []
