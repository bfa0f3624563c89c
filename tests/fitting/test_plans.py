"""Plans: invariance, fixed pins, spare lines, and the questions why and why not (kind: property and behaviour)."""

from __future__ import annotations

import random

import pytest
from briefs import random_brief, random_brief_text

from pinwright.brief.reader import parse_brief
from pinwright.facts.loader import Catalogue
from pinwright.fitting.candidates import candidates
from pinwright.fitting.places import view
from pinwright.fitting.plan import BoardPlan, fit
from pinwright.fitting.rank import Job, plan_board, prepare, rank
from pinwright.fitting.spare import SPARE_KINDS
from pinwright.fitting.why import find_line, why_not

BOARDS = ("esp32-wroom32-30pin", "raspberry-pi-pico-w", "atmega2560-54pin", "esp32-s3-devkitc-1-n8", "esp32-c3-devkitm-1")


def _plan(text: str, board: str, catalogue: Catalogue) -> tuple[Job, BoardPlan]:
    job = prepare(parse_brief(text, "brief.toml", catalogue), catalogue)
    return job, plan_board(job, catalogue.boards[board])


def _pins(plan: BoardPlan) -> dict[str, str]:
    return {placed.line.id: placed.place.label for placed in plan.placed}


@pytest.mark.parametrize("board", BOARDS)
def test_order_and_names_of_parts_change_nothing(board: str, catalogue: Catalogue) -> None:
    compared = 0
    for seed in range(12):
        text = random_brief_text(seed, 16, catalogue)
        head, *parts = text.split("[[part]]\n")
        _, plan = _plan(text, board, catalogue)
        shuffled = parts[:]
        random.Random(seed).shuffle(shuffled)
        _, other = _plan(head + "".join("[[part]]\n" + part.strip() + "\n" for part in shuffled), board, catalogue)
        renamed = text.replace('name = "thing', 'name = "zz other')
        _, third = _plan(renamed, board, catalogue)
        assert plan.feasible == other.feasible == third.feasible
        if plan.feasible:
            compared += 1
            assert plan.objective == other.objective == third.objective
            assert _pins(plan) == _pins(other)
            assert sorted(_pins(plan).values()) == sorted(_pins(third).values())
    assert compared > 3


def test_fixed_pins_are_honoured(catalogue: Catalogue) -> None:
    text = """title = "Fixed"
[[part]]
name = "key"
kind = "push-button-momentary"
pins = { SW = "GP13" }
[[part]]
name = "air"
kind = "bme280"
pins = { SDA = "GP18", SCL = "19" }
"""
    job, plan = _plan(text, "raspberry-pi-pico", catalogue)
    assert _pins(plan) == {"key.SW": "GP13", "air.SDA": "GP18", "air.SCL": "GP19"}
    assert "the brief fixes it there" in " ".join(plan.placed[0].because)
    assert job.nets.buses[0].kind == "i2c"


@pytest.mark.parametrize("board", BOARDS)
def test_a_random_fixed_pin_is_honoured_or_refused_with_a_reason(board: str, catalogue: Catalogue) -> None:
    labels = [place.label for place in view(catalogue.boards[board], catalogue).places]
    outcomes = set()
    for seed in range(20):
        label = random.Random(seed).choice(labels)
        text = f'title = "t"\n[[part]]\nname = "key"\nkind = "push-button-momentary"\npins = {{ SW = "{label}" }}\n'
        _, plan = _plan(text, board, catalogue)
        outcomes.add(plan.feasible)
        if plan.feasible:
            assert _pins(plan)["key.SW"] == label
        else:
            assert plan.conflict is not None
            assert {"line:key.SW", "lock:key.SW"} <= {wish for wish, _ in plan.conflict.wishes}
    assert True in outcomes


def test_pins_are_never_shared_between_nets(catalogue: Catalogue) -> None:
    for seed in range(25):
        job = prepare(random_brief(seed, 25, catalogue), catalogue)
        for board in BOARDS:
            plan = fit(candidates(view(catalogue.boards[board], catalogue), job.nets, job.setting), 0.0)
            if plan:
                pins = {placed.net.id: placed.place.pad.name for placed in plan.placed}
                assert len(set(pins.values())) == len(pins)


_SPARE_LINES = {
    "outputs": 'direction = "out"\nsignal = "digital"\n',
    "quiet_outputs": 'direction = "out"\nsignal = "digital"\noff_level = "low"\npower_up = "must stay off"\nfloats = "safe"\n',
    "holdable_outputs": 'direction = "out"\nsignal = "digital"\noff_level = "low"\npower_up = "must stay off"\nfloats = "unsafe"\n',
    "pulled_up_inputs": 'direction = "in"\nsignal = "digital"\npull = "up"\ninterrupt = "yes"\nrest = "high"\n',
    "analog_inputs": 'direction = "analog-in"\nsignal = "analog"\n',
    "pwm": 'direction = "out"\nsignal = "pwm"\npwm = ["400 Hz", "1100 Hz"]\n',
}


@pytest.mark.parametrize("kind", sorted(_SPARE_LINES))
@pytest.mark.parametrize("board", BOARDS)
def test_spare_lines_fit_and_one_more_does_not(board: str, kind: str, catalogue: Catalogue) -> None:
    """The count is honest: that many lines can be added with everything else staying put, and not one more."""
    assert set(_SPARE_LINES) == set(SPARE_KINDS)
    kinds = ("servo-hobby", "potentiometer-10k", "push-button-momentary", "temp-ds18b20", "relay-module-active-high")
    text = 'title = "t"\n' + "".join(f'[[part]]\nname = "thing {n}"\nkind = "{k}"\n' for n, k in enumerate(kinds))
    _, plan = _plan(text, board, catalogue)
    assert plan.feasible
    head, *parts = text.split("[[part]]\n")
    fixed = [_with_pins(part, plan) for part in parts]
    for extra in (plan.spare[kind], plan.spare[kind] + 1):
        more = [f'[[part]]\nname = "more {n}"\n[[part.line]]\nname = "X"\n{_SPARE_LINES[kind]}' for n in range(extra)]
        _, again = _plan(head + "".join(f"[[part]]\n{part}\n" for part in fixed) + "".join(more), board, catalogue)
        assert again.feasible == (extra == plan.spare[kind]), extra


def _with_pins(part: str, plan: BoardPlan) -> str:
    name = part.split('name = "')[1].split('"')[0]
    pins = ", ".join(f'"{p.line.name}" = "{p.place.label}"' for p in plan.placed if p.line.part == name)
    return part.strip() + f"\npins = {{ {pins} }}"


def test_why_not_shows_the_price_or_the_reason(catalogue: Catalogue) -> None:
    text = """title = "Pump and pot"
[use]
radio = "wifi"
[[part]]
name = "pump"
kind = "relay-module-active-high"
[[part]]
name = "pot"
kind = "potentiometer-10k"
"""
    job, plan = _plan(text, "esp32-wroom32-30pin", catalogue)
    pump, pot = find_line(plan, "pump.IN"), find_line(plan, "pot")
    out = why_not(job, plan, pump, "TX0")  # carries the log of the ROM at boot (ESP32 data sheet, UART0)
    assert out.plan is None
    assert "quiet-noisy" in {strike.rule for strike in out.strikes}
    # people tell of a burst that no document confirms: never chosen, but the maker may fix it
    assert {strike.rule for strike in why_not(job, plan, pump, "D15").strikes} == {"quiet-reported"}
    _, fixed = _plan(
        text.replace('relay-module-active-high"', 'relay-module-active-high"\npins = { IN = "D15" }'), "esp32-wroom32-30pin", catalogue
    )
    assert "quiet-reported" in {mark.rule for mark in find_line(fixed, "pump.IN").candidate.marks}
    # GPIO12 must be low at reset, and a load that is off while low keeps it there (ESP32 data sheet, strapping pins)
    assert why_not(job, plan, pump, "D12").plan is not None
    out = why_not(job, plan, pot, "D25")
    assert [strike.rule for strike in out.strikes] == ["adc-blocked"]
    elsewhere = next(p for p in ("D32", "D33") if p != pump.place.label)
    dearer = why_not(job, plan, pump, elsewhere)
    assert dearer.plan is not None
    assert dearer.plan.objective is not None
    assert plan.objective is not None
    assert dearer.plan.objective.scarce > plan.objective.scarce
    assert ("pump.IN", pump.place.name, dearer.pin) in dearer.moved


def test_taking_a_pin_away_never_makes_a_plan_cheaper(catalogue: Catalogue) -> None:
    import dataclasses

    job = prepare(random_brief(4, 12, catalogue), catalogue)
    board = view(catalogue.boards["raspberry-pi-pico"], catalogue)
    full = fit(candidates(board, job.nets, job.setting), 0.0)
    assert full is not None
    assert full.solution is not None
    for index in range(0, len(board.places), 3):
        fewer = dataclasses.replace(board, places=board.places[:index] + board.places[index + 1 :])
        plan = fit(candidates(fewer, job.nets, job.setting), 0.0)
        assert plan is None or (plan.solution is not None and plan.solution.cost[:4] >= full.solution.cost[:4])


def test_boards_the_brief_rules_out_say_why(catalogue: Catalogue) -> None:
    text = """title = "Small"
[use]
radio = "wifi"
[board]
avoid = ["esp01s"]
max_width = "26 mm"
own = ["raspberry-pi-pico-w"]
[[part]]
name = "key"
kind = "push-button-momentary"
"""
    ranking = rank(prepare(parse_brief(text, "small.toml", catalogue), catalogue))
    by_id = {plan.view.board.id: plan for plan in ranking.boards}
    assert "esp01s" not in by_id
    assert ranking.best is not None
    assert ranking.best.view.board.id == "raspberry-pi-pico-w"
    assert ranking.best.objective is not None
    assert ranking.best.objective.money == 0
    pico = by_id["raspberry-pi-pico"].conflict
    assert pico is not None
    assert pico.chain == ("The brief wants Wi-Fi (small.toml:3).", "The Raspberry Pi Pico has no radio.")
    wide = by_id["esp32-devkitc-v4"].conflict
    assert wide is not None
    assert wide.wishes[0][0] == "max_width"


def test_a_weak_pull_cannot_switch_a_part_that_needs_current(catalogue: Catalogue) -> None:
    # RP2040 pads pull down (50 to 80 kOhm) until the firmware runs: 66 uA at most, while the module's opto-coupler needs
    # 2.5 mA (figures of the catalogue).  A bare gate needs no current, so for it the pull counts, and a resistor must beat it:
    # 50 kOhm down and R up leave the gate within 0.3 V of the lowest rail up to R = 50 k * 0.3 / 3.1 = 4.9 kOhm (Kirchhoff).
    # Its high of 2.8 V is no sure off for a module at 5 V: a level shifter stands between, whose open input must be held.
    text = 'title = "t"\n[[part]]\nname = "relay"\nkind = "relay-module-opto-active-low"\n'
    _, plan = _plan(text, "raspberry-pi-pico", catalogue)
    assert plan.feasible
    assert all(placed.circuit.of("level shifter") and placed.circuit.of("pull-up") for placed in plan.placed)
    text = (
        'title = "t"\n[[part]]\nname = "gate"\n[[part.line]]\nname = "G"\ndirection = "out"\nsignal = "digital"\n'
        'off_level = "high"\npower_up = "must stay off"\n'
    )
    _, plan = _plan(text, "raspberry-pi-pico", catalogue)
    (placed,) = plan.placed
    pull = placed.circuit.of("pull-up")
    assert pull is not None
    assert 0 < pull.ohm <= 4900


def test_a_bare_chip_on_cells_is_planned_at_their_voltage(catalogue: Catalogue) -> None:
    # two fresh alkaline cells give 3.2 V, and this board works from 2.7 V (figures of the catalogue); on an adapter it has 5 V.
    # Ohm: the resistor of a lamp shrinks with the voltage left over it.
    body = '[[part]]\nname = "lamp"\nkind = "led-dimmed"\n'
    ohms = []
    for supply in ('source = "battery"\ncells = 2\n', 'source = "adapter"\nvoltage = "5 V"\n'):
        _, plan = _plan(f'title = "t"\n[supply]\n{supply}{body}', "attiny85-dip8", catalogue)
        (placed,) = plan.placed
        ohms.append(next(element.ohm for element in placed.circuit.elements if element.ohm))
        logic_v, rail = plan.view.board.logic_v, plan.view.rail
        if "battery" in supply:
            assert rail is not None
            assert (rail.low, rail.high) == pytest.approx((2.7, 3.2))
            assert rail.low <= logic_v <= rail.high
        else:
            assert (rail, logic_v) == (None, 5)
    assert ohms[0] < ohms[1] / 2


def test_a_board_with_a_regulator_stays_as_its_maker_plans_it(catalogue: Catalogue) -> None:
    body = '[[part]]\nname = "lamp"\nkind = "led-dimmed"\n'
    _, plan = _plan(f'title = "t"\n[supply]\nsource = "battery"\ncells = 3\n{body}', "raspberry-pi-pico", catalogue)
    assert (plan.view.rail, plan.view.board.logic_v) == (None, 3.3)


def test_a_divider_ends_at_the_top_of_the_converters_range(catalogue: Catalogue) -> None:
    # ESP32: the widest range reads up to 2.45 V (ESP Hardware Design Guidelines); RP2040: up to its supply
    body = '[[part]]\nname = "p"\n[[part.line]]\nname = "OUT"\ndirection = "analog-in"\nsignal = "analog"\nhighest = "40 V"\n'
    for board, top_v in (("esp32-devkitc-v4", 2.45), ("raspberry-pi-pico", 3.3)):
        _, plan = _plan(f'title = "t"\n{body}', board, catalogue)
        divider = plan.placed[0].circuit.of("divider")
        assert divider is not None
        upper, lower = (piece.value or 0.0 for piece in divider.pieces)
        assert 0.8 * top_v < 40 * lower / (upper + lower) <= top_v


def test_a_contact_turned_round_rests_at_the_other_level(catalogue: Catalogue) -> None:
    body = '[[part]]\nname = "k"\nkind = "push-button-momentary"\n[part.change.SW]\npull = "{}"\n'
    for pull, rest in (("up", "high"), ("down", "low")):
        _, plan = _plan(f'title = "t"\n{body.format(pull)}', "raspberry-pi-pico", catalogue)
        assert plan.placed[0].line.asks.rest == rest


def test_no_input_sits_where_it_would_stop_the_bus(catalogue: Catalogue) -> None:
    # ATmega328P data sheet, section 23: SS (PB2, printed 10) must not be an input that goes low while the chip is controller
    probe = '[[part]]\nname = "probe"\nkind = "thermocouple-max31855"\n'
    key = '[[part]]\nname = "key"\nkind = "push-button-momentary"\npins = { SW = "10" }\n'
    _, alone = _plan(f'title = "x"\n{key}', "atmega328p-32pin", catalogue)
    assert alone.feasible
    _, both = _plan(f'title = "x"\n{probe}{key}', "atmega328p-32pin", catalogue)
    assert not both.feasible
    assert both.conflict is not None
    assert any("key" in words for _, words in both.conflict.wishes)
    assert any("nothing may be read there" in step for step in both.conflict.chain)
    many = '[[part]]\nname = "key"\nkind = "push-button-momentary"\ncount = 15\n'
    _, full = _plan(f'title = "x"\n{probe}{many}', "atmega328p-32pin", catalogue)
    if full.feasible:
        assert not any(placed.place.label == "10" and placed.line.part != "probe" for placed in full.placed)
