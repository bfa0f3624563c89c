"""What an analog reading is worth, against corners worked out here one by one; and what the converter cannot see is named.

Sources: Ohm's law, the beta equation of thermistors, and the figures of chips and parts as the catalogue cites them.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
from interface_rig import asks_of, bench_like, board, circuit, measures, number, part, spot

from pinwright.facts.model import Curve
from pinwright.fitting.interface import Reading, reading
from pinwright.fitting.interface.rails import board_rail
from pinwright.fitting.lines import Asks, Rail

SUPPLY_SHARE = 0.03  # spread of a supply used as the reference (common practice, no source)


def worth(name: str, asks: Asks, tolerance: float = 0.05) -> Reading:
    seen = board(name)
    bench = bench_like(tolerance=tolerance)
    place = spot(seen, measures)
    found = reading(asks, place, seen, bench, circuit(asks, place, seen, bench).elements)
    assert found is not None
    return found


def analog(curve: Curve, **changes: object) -> Asks:
    return replace(asks_of(part("temperature-lm35")), curve=curve, r_in_ohm=100.0, v_max=None, **changes)  # type: ignore[arg-type]


def converter_lsb(name: str) -> tuple[int, float, float]:
    """Bits, steps of offset (everything the maker sums up) and of bend, of the widest range of the first analog pin."""
    seen = board(name)
    place = spot(seen, measures)
    unit = next(each for each in seen.chip.adc if place.pad.adc and each.unit == place.pad.adc.unit)
    widest = max(unit.ranges, key=lambda area: area.v_max_v)
    step = min(widest.v_max_v, seen.board.logic_v) / 2**unit.bits
    if widest.error_v:
        return unit.bits, widest.error_v / step, 0.0
    return unit.bits, number(unit.offset_v) / step, number(unit.inl_lsb)


@pytest.mark.parametrize("name", ["raspberry-pi-pico", "stm32f103c8-40pin", "nano-33-iot"])
def test_a_linear_sensor_by_hand(name: str) -> None:
    # oracle: 20 mV/°C from 0.4 V, 1 °C of its own; code = V / Vref; the firmware believes the middle of Vref
    curve = Curve(kind="linear", quantity="temperature", unit="degC", low=0.0, high=120.0, zero_v=0.4, gain_v=0.02, tolerance=1.0)
    found = worth(name, analog(curve))
    bits, offset, bend = converter_lsb(name)
    seen = board(name)
    gain = number(next(iter(seen.chip.adc)).gain_error) if not offset or bend else 0.0
    v_ref = seen.board.logic_v
    step = v_ref / 2**bits
    volts = 0.4 + 0.02 * found.at
    corners = []
    for sensor, reference, converter, slope in itertools.product((-0.02, 0.02), (-1, 1), (-1, 1), (-gain, gain)):
        seen_v = (volts + sensor) / (v_ref * (1 + reference * SUPPLY_SHARE)) * (1 + slope) * v_ref
        seen_v += converter * (offset + bend + 0.5) * step
        corners.append((seen_v - 0.4) / 0.02 - found.at)
    assert found.worst.low == pytest.approx(min(corners), rel=0.02)
    assert found.worst.high == pytest.approx(max(corners), rel=0.02)
    assert found.rss <= max(abs(found.worst.low), abs(found.worst.high))
    assert found.step.high == pytest.approx(step / 0.02, rel=0.01)


@pytest.mark.parametrize("tolerance", [0.01, 0.05])
def test_a_thermistor_by_hand(tolerance: float) -> None:
    # oracle: R = R25 exp(B (1/T - 1/298.15)); share = R / (R + Rf), thermistor towards ground; the supply cancels
    asks = asks_of(part("ntc-10k-b3950"))
    curve = asks.curve
    assert curve is not None
    found = worth("raspberry-pi-pico", asks, tolerance)
    bits, offset, bend = converter_lsb("raspberry-pi-pico")
    lsb = (offset + bend + 0.5) / 2**bits
    r25, beta, fixed = curve.r_ref_ohm or 0.0, curve.beta_k or 0.0, curve.r_fixed_ohm or 0.0

    def ohm(t_c: float, r_ohm: float, b_k: float) -> float:
        return r_ohm * math.exp(b_k * (1 / (t_c + 273.15) - 1 / 298.15))

    def share(t_c: float, r_ohm: float, b_k: float, rf_ohm: float) -> float:
        sensor = ohm(t_c, r_ohm, b_k)
        return (rf_ohm if curve.to_supply else sensor) / (sensor + rf_ohm)  # type: ignore[union-attr]

    def read(level: float) -> float:
        ratio = (1 - level) / level if curve.to_supply else level / (1 - level)  # type: ignore[union-attr]
        return 1 / (1 / 298.15 + math.log(ratio * fixed / r25) / beta) - 273.15

    own = curve.tolerance or 0.05
    corners = [
        read(share(found.at, r25 * (1 + a * own), beta * (1 + b * 0.01), fixed * (1 + c * tolerance)) + d * lsb) - found.at
        for a, b, c, d in itertools.product((-1, 1), repeat=4)
    ]
    assert found.worst.low == pytest.approx(min(corners), rel=0.02)
    assert found.worst.high == pytest.approx(max(corners), rel=0.02)


def test_a_supply_shared_with_the_converter_cancels() -> None:
    # property: a potentiometer between the converter's own supply and ground; only the converter's steps remain
    found = worth("raspberry-pi-pico", asks_of(part("potentiometer-10k")))
    bits, offset, bend = converter_lsb("raspberry-pi-pico")
    assert max(abs(found.worst.low), abs(found.worst.high)) <= 100 * (offset + bend + 0.5) / 2**bits * 1.05
    assert found.main != "the supply"


def test_another_supply_does_not_cancel() -> None:
    # property: the same law on a rail of its own carries that rail's 5 %
    curve = Curve(kind="linear", quantity="q", unit="%", low=0.0, high=50.0, zero_v=0.0, gain_v=0.01, ratiometric=True)
    same = worth("raspberry-pi-pico", analog(curve, rail=Rail(fixed_v=3.3)))
    other = worth("raspberry-pi-pico", analog(curve, rail=Rail(fixed_v=5.0)))
    assert max(abs(same.worst.low), abs(same.worst.high)) < 0.1
    assert max(abs(other.worst.low), abs(other.worst.high)) > 0.05 * other.at
    assert other.main in ("the supply", "the reference")


def test_what_the_converter_cannot_see_is_named() -> None:
    # The ESP32's widest range ends near 2.45 V (data sheet, ADC characteristics): of a potentiometer at 3.3 V the top is lost
    seen = board("esp32-wroom32-30pin")
    top = max(area.v_max_v for unit in seen.chip.adc for area in unit.ranges)
    found = worth("esp32-wroom32-30pin", asks_of(part("potentiometer-10k")))
    assert found.high == pytest.approx(100 * top / board_rail(seen).middle, rel=0.01)
    assert f"above {found.high:.3g} %" in found.clipped
    assert found.clipped in found.words


def test_what_lies_within_is_not_called_clipped() -> None:
    # A full-scale sensor on a full-scale converter once lost "above 360 deg" to the last bit of a float
    for kind, more in (("as5600", 'connect = ["OUT"]'), ("potentiometer-10k", "")):
        line = "OUT" if kind == "as5600" else ""
        assert worth("raspberry-pi-pico", asks_of(part(kind, more), line)).clipped == ""


def test_the_makers_total_error_is_taken_instead_of_the_raw_reference() -> None:
    # The ESP32's calibrated error (tens of millivolts, data sheet) holds with its inner reference, whose raw spread is 9 %
    seen = board("esp32-wroom32-30pin")
    unit = seen.chip.adc[0]
    curve = Curve(kind="linear", quantity="voltage", unit="V", low=0.2, high=2.4, gain_v=1.0)
    found = worth("esp32-wroom32-30pin", analog(curve))
    total = max((area.error_v or 0.0) for area in unit.ranges)
    assert total > 0
    assert max(abs(found.worst.low), abs(found.worst.high)) == pytest.approx(total, rel=0.05)


def test_numbers_are_written_as_people_write_them() -> None:
    # behaviour: no power of ten for a thousand lux
    words = worth("raspberry-pi-pico", asks_of(part("ldr-gl5528"))).words
    assert "1 to 1000 lx" in words
    assert "e+" not in words


def test_a_sensor_outside_every_range_has_no_reading() -> None:
    # behaviour: 5 to 9 V into a 3.3 V converter without a divider tells nothing, and raises nothing
    seen = board("raspberry-pi-pico")
    curve = Curve(kind="linear", quantity="v", unit="V", low=5.0, high=9.0, gain_v=1.0)
    assert reading(analog(curve), spot(seen, measures), seen, bench_like(), ()) is None


@pytest.mark.parametrize("high", [0.0, 1e-30, 1e30])
def test_absurd_laws_are_no_traceback(high: float) -> None:
    # behaviour: what cannot be calculated is None, everything else finite
    seen = board("raspberry-pi-pico")
    for kind in ("linear", "ntc", "pt", "ldr", "potentiometer"):
        curve = Curve(
            kind=kind, quantity="q", unit="u", low=0.0, high=high, gain_v=1.0, r_fixed_ohm=1e9, r_ref_ohm=1e-3, beta_k=1.0, gamma=0.1
        )  # type: ignore[arg-type]
        found = reading(analog(curve), spot(seen, measures), seen, bench_like(), ())
        if found is not None:
            assert all(math.isfinite(v) for v in (found.low, found.high, found.at, found.rss, found.worst.low, found.worst.high))
