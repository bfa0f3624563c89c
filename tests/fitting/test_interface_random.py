"""Random and absurd briefs: no exception, no number that is none, and no plan of ours that our own review refuses.

Kind: property.  The briefs are invented.
"""

from __future__ import annotations

import json
import math
import random
from typing import Any

import pytest
from briefs import random_brief_text
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from interface_rig import catalogue

from pinwright.brief.reader import parse_brief
from pinwright.contract import plan_shape
from pinwright.errors import InputError
from pinwright.fitting.rank import prepare
from pinwright.planning import PlanResult, plan_job

KINDS = (
    "push-button-momentary", "potentiometer-10k", "ntc-10k-b3950", "ldr-gl5528", "current-sensor-acs712", "temperature-lm35", "bme280",
    "lcd1602-pcf8574", "led-red", "led-true-green", "led-strip-12v-dimming", "solenoid-12v", "fan-2wire-12v", "buzzer-active",
    "relay-module-opto-active-low", "led-ws2812b", "ultrasonic-hc-sr04", "servo-hobby", "battery-voltage-sense", "triac-opto-moc3020",
    "ir-led-sender", "temp-ds18b20", "gsm-sim800l", "pt1000-divider", "loop-4-20ma-receiver",
)  # fmt: skip
BOARDS = (
    "raspberry-pi-pico", "raspberry-pi-pico-w", "esp32-wroom32-30pin", "atmega328p-32pin", "stm32f103c8-40pin", "nano-33-iot",
    "xiao-nrf52840", "feather-rp2040", "esp12f-30pin", "attiny85-dip8", "esp32c3-mini16-clone", "atmega328p-3v3-8mhz-narrow",
)  # fmt: skip
SUPPLIES = (
    'source = "usb"',
    'source = "adapter"\nvoltage = "12 V"\ncurrent = "2 A"\nwire = "1 m"',
    'source = "adapter"\nvoltage = "5 V"\ncurrent = "0 A"',
    'source = "adapter"\nvoltage = "1 V"',
    'source = "adapter"\nvoltage = "400 V"\nwire = "900 m"',
    'source = "adapter"\nvoltage = "0 V"',
    'source = "battery"\ncells = 3',
    'source = "battery"\nkind = "cell-cr2032"',
    'source = "battery"\ncapacity = "0.001 mAh"',
    'source = "lithium cell"',
    'source = "lithium cell"\ncells = 12\nwire = "0 m"',
    'source = "other"',
)
STOCKS = (
    "resistors = []",
    'resistors = ["1 Gohm"]',
    'resistors = ["330 ohm", "10k", "33k"]',
    'resistors = ["0.001 ohm", "1 ohm"]',
    'resistors = ["4k7"]\nresistor_tolerance = 20',
)
AMBIENTS = ('["0 degC", "40 degC"]', '["-40 degC", "60 degC"]', '["20 degC", "200 degC"]')
CYCLES = (
    "",
    "sleeping = true",
    'sleeping = true\nwake_every = "10 min"\nawake_for = "5 s"',
    'sleeping = true\nwake_every = "10 h"\nawake_for = "1 ms"',
)
MORE = ("", 'wire = "3 m"', 'wire = "0 m"', 'wire = "100 m"', 'current = "0 A"', 'current = "50 A"', 'supply = "5 V"')


def unfit(shape: Any, where: str = "") -> list[str]:
    """Places in a JSON shape whose number is not finite, or whose text shows one that is not."""
    if isinstance(shape, dict):
        return [found for key, value in shape.items() for found in unfit(value, f"{where}.{key}")]
    if isinstance(shape, list | tuple):
        return [found for number, value in enumerate(shape) for found in unfit(value, f"{where}[{number}]")]
    if isinstance(shape, float) and not math.isfinite(shape):
        return [f"{where} = {shape}"]
    if isinstance(shape, str):
        words = shape.replace("(", " ").replace(")", " ").replace(",", " ").replace(";", " ").split()
        return [f"{where}: {shape}" for word in words if word in ("nan", "inf", "-inf", "nanV", "infinity")]
    return []


def planned(text: str) -> PlanResult | None:
    """The plan, or nothing where the reader refuses the brief."""
    try:
        file = parse_brief(text, "t.toml", catalogue())
    except InputError:
        return None
    return plan_job(prepare(file, catalogue(), time_limit_s=10))


@st.composite
def briefs(draw: st.DrawFn) -> str:
    """A brief of up to five parts on one board, with any supply."""
    text = ['title = "Invented"', "[board]", f'only = ["{draw(st.sampled_from(BOARDS))}"]', "[supply]", draw(st.sampled_from(SUPPLIES))]
    text += [
        "[use]",
        f"ambient = {draw(st.sampled_from(AMBIENTS))}",
        draw(st.sampled_from(CYCLES)),
        "[stock]",
        draw(st.sampled_from(STOCKS)),
    ]
    for number in range(draw(st.integers(1, 5))):
        text += ["[[part]]", f'name = "thing {number}"', f'kind = "{draw(st.sampled_from(KINDS))}"']
        text.append(draw(st.sampled_from(MORE)))
    return "\n".join(text)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)
@given(briefs())
def test_no_brief_makes_a_traceback_or_a_number_that_is_none(text: str) -> None:
    result = planned(text)
    if result is None:
        return
    shape = plan_shape(result)
    json.dumps(shape, allow_nan=False)
    assert unfit(shape) == []


@pytest.mark.parametrize("supply", SUPPLIES)
@pytest.mark.parametrize("board", ["raspberry-pi-pico", "atmega328p-32pin", "xiao-nrf52840"])
def test_every_supply_is_answered(supply: str, board: str) -> None:
    text = (
        f'title = "t"\n[board]\nonly = ["{board}"]\n[supply]\n{supply}\n[use]\nsleeping = true\n'
        + '[[part]]\nname = "l"\nkind = "led-red"\n'
    )
    result = planned(text)
    if result is not None:
        assert unfit(plan_shape(result)) == []


@pytest.mark.parametrize(
    "line",
    [
        'direction = "analog-in"\nsignal = "analog"\nhighest = "40 V"',
        'direction = "analog-in"\nsignal = "analog"\nhighest = "1 MV"',
        'direction = "in"\nsignal = "digital"\ngives_high_of = "0 V"\ngives_low_of = "9 V"',
        'direction = "out"\nsignal = "digital"\ncurrent = "0 A"',
        'direction = "out"\nsignal = "digital"\ncurrent = "1000 A"',
        'direction = "out"\nsignal = "digital"\ntakes_high_from = "1 MV"',
        'direction = "in"\nsignal = "digital"\npull = "up"\npull_resistor = "0 ohm"',
        'direction = "in"\nsignal = "digital"\npull = "up"\npull_resistor = "1 Gohm"',
        'direction = "in"\nsignal = "uart"\nrole = "RX"\nhighest = "12 V"',
    ],
)
def test_absurd_lines_are_answered(line: str) -> None:
    body = "\n".join(f"  {each}" for each in line.splitlines())
    head = 'title = "t"\n[board]\nonly = ["raspberry-pi-pico", "atmega328p-32pin"]\n[[part]]\nname = "x"\n'
    text = f'{head}  [[part.line]]\n  name = "L"\n{body}\n'
    result = planned(text)
    if result is not None:
        assert unfit(plan_shape(result)) == []


@pytest.mark.parametrize("ambient", ['["-300 degC", "40 degC"]', '["40 degC", "0 degC"]'])
def test_impossible_temperatures_are_refused_by_the_reader(ambient: str) -> None:
    # behaviour: nothing is colder than -273.15 °C, and the lowest comes first
    with pytest.raises(InputError):
        parse_brief(f'title = "t"\n[use]\nambient = {ambient}\n[[part]]\nname = "l"\nkind = "led-red"\n', "t.toml", catalogue())


@pytest.mark.slow
def test_the_review_refuses_none_of_our_plans() -> None:
    # property: 150 invented briefs, each on one board in turn; the supply may refuse a source the brief itself names too weak
    boards = sorted(catalogue().boards)
    planned_count, refused = 0, []
    for seed in range(150):
        text = random_brief_text(seed, 10, catalogue(), boards[seed % len(boards)])
        result = planned(text)
        assert result is not None
        for plan in result.ranking.boards:
            if not plan.feasible:
                continue
            planned_count += 1
            review = result.reviews[plan.view.board.id]
            refused += [
                f"{seed} {plan.view.board.id} {f.rule} {f.because}"
                for f in review.findings
                if f.severity == "refuse" and not f.rule.startswith("supply-")
            ]
            assert unfit(plan_shape(result)) == [], seed
    assert planned_count > 50
    assert refused == []


@pytest.mark.slow
def test_the_review_refuses_none_of_our_plans_with_any_part_of_the_catalogue() -> None:
    # property: 150 briefs of any kinds at 5 V or their own voltage, long wires and any supply; what the brief's own source cannot
    # carry may be refused (supply-...)
    rng = random.Random(7)
    kinds = sorted(part.id for part in catalogue().parts.values() if part.line)
    boards = sorted(catalogue().boards)
    planned_count, refused = 0, []
    for seed in range(150):
        text = ['title = "Invented"', "[board]", f'only = ["{rng.choice(boards)}"]', "[supply]", rng.choice(SUPPLIES)]
        text += ["[use]", rng.choice(CYCLES), "[stock]", rng.choice(STOCKS)]
        for number in range(rng.randint(1, 5)):
            text += ["[[part]]", f'name = "thing {number}"', f'kind = "{rng.choice(kinds)}"', rng.choice(MORE)]
        result = planned("\n".join(text))
        for plan in result.ranking.boards if result is not None else ():
            if plan.feasible:
                planned_count += 1
                review = result.reviews[plan.view.board.id]  # type: ignore[union-attr]
                refused += [
                    f"{seed}: {f.rule} {f.line} {f.because}" for f in review.findings if f.severity == "refuse" and f.rule[:7] != "supply-"
                ]
    assert planned_count > 75
    assert refused == []
