"""The programme model against the plan it was made from: examples on every board, whatever language the board runs."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from pinwright.circuits.pwm import bits_max
from pinwright.facts.loader import Catalogue, load_catalogue
from pinwright.fitting.plan import BoardPlan
from pinwright.pack.firmware.model import Program
from pinwright.pack.firmware.program import program_of
from pinwright.planning import open_job, plan_job

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))
Made = list[tuple[str, BoardPlan, Program]]


@pytest.fixture(scope="module")
def facts() -> Catalogue:
    return load_catalogue()


@pytest.fixture(scope="module")
def made(facts: Catalogue) -> Made:
    def all_of() -> Iterator[tuple[str, BoardPlan, Program]]:
        for path in EXAMPLES:
            result = plan_job(open_job(path, catalogue=facts))
            for plan in result.usable:
                yield f"{path.stem}/{plan.view.board.id}", plan, program_of(plan, result.ranking.job)

    return list(all_of())


def test_every_line_has_a_pin_and_every_pin_its_place(made: Made) -> None:
    assert len(made) > 60
    for name, plan, program in made:
        by_line = {line: pin for pin in program.pins for line in pin.lines}
        assert set(by_line) == {placed.line.id for placed in plan.placed}, name
        for placed in plan.placed:
            pin = by_line[placed.line.id]
            assert (pin.pad, pin.gpio, pin.label) == (placed.place.pad.name, placed.place.pad.gpio, placed.place.label), name
        names = [pin.name for pin in program.pins]
        assert len(set(names)) == len(names), name


def test_set_up_begins_with_what_must_stay_off(made: Made) -> None:
    for name, plan, program in made:
        assert sorted(pin.name for pin in program.set_up) == sorted(pin.name for pin in program.pins), name
        careful = {placed.line.id for placed in plan.placed if placed.line.asks.quiet == "must" and placed.line.asks.safe_level != "any"}
        first = program.set_up[: len(careful)]
        assert {line for pin in first for line in pin.lines} == careful, name
        driven = [pin.is_driven for pin in program.set_up]
        assert driven == sorted(driven, reverse=True), (name, "an input before an output")


def test_a_pin_is_off_at_first(made: Made) -> None:
    for name, plan, program in made:
        for placed in plan.placed:
            pin = next(pin for pin in program.pins if placed.line.id in pin.lines)
            wanted = {"low": 0, "high": 1, "released": 1}.get(placed.line.asks.safe_level)
            if pin.is_driven and wanted is not None:
                assert (pin.first_level, pin.active_level) == (wanted, 1 - wanted), (name, pin.words)


def test_duty_has_the_bits_the_clock_leaves(made: Made) -> None:
    """bits = floor(log2(f_clk / f)), at most the counter's  [ESP-IDF Programming Guide, LED Control]."""
    checked = 0
    for name, plan, program in made:
        pools = {pool.id: pool for pool in plan.view.chip.pwm}
        for pwm in program.pwms:
            pool = pools[pwm.pool]
            assert pwm.bits == bits_max(pool.clock_hz * plan.view.clock_scale, pwm.hz, pool.counter_bits), (name, pwm.pin.words)
            asks = next(placed for placed in plan.placed if placed.line.id in pwm.pin.lines).line.asks
            assert pwm.bits >= (asks.needs.pwm_bits or 1), (name, pwm.pin.words)
            checked += 1
    assert checked > 100


def test_buses_take_the_instance_the_plan_words(made: Made) -> None:
    checked = 0
    for name, plan, program in made:
        for bus in program.buses:
            lines = {line for _, pin in bus.pins for line in pin.lines}
            words = [because for placed in plan.placed if placed.line.id in lines for because in placed.because]
            assert any(f" of {bus.instance}" in because for because in words), (name, bus.words, bus.instance)
            addresses = [each.address for each in bus.devices if each.address is not None]
            assert len(set(addresses)) == len(addresses), name
            checked += 1
    assert checked > 60


def test_the_converter_takes_the_range_of_the_reading(made: Made, facts: Catalogue) -> None:
    checked = 0
    for name, plan, program in made:
        worth = plan.readings(plan.setting.bench)
        for analog in program.analogs:
            reads = worth.get(analog.pin.lines[0])
            if reads is not None:
                assert analog.range_name == reads.range_name, (name, analog.pin.words)
                checked += 1
            assert analog.ratio >= 1
            assert analog.points[0][0] < analog.points[1][0]
    assert checked > 20


def test_the_self_test_reaches_every_pin(made: Made) -> None:
    for name, _, program in made:
        steps = [step.name for step in program.steps]
        assert len(set(steps)) == len(steps), name
        reached = set(steps)
        for bus in program.buses:
            if bus.name in reached:
                reached |= {pin.name for _, pin in bus.pins} | {each.select.name for each in bus.devices if each.select}
        for echo in program.echoes:
            reached |= {echo.trigger.name, echo.echo.name} if echo.name in reached else set()
        for knob in program.encoders:
            reached |= {knob.a.name, knob.b.name} if knob.name in reached else set()
        assert {pin.name for pin in program.pins} <= reached, name


def test_the_self_test_follows_the_bench_sheet(made: Made) -> None:
    """Parts as planned, those with a load that must stay off last: as ``bench.walk`` orders lines (oracle: that function)."""
    from types import SimpleNamespace

    from pinwright.pack.bench.walk import walk

    for name, plan, program in made:
        lines = walk(SimpleNamespace(plan=plan))  # type: ignore[arg-type]
        at = {line: number for number, line in enumerate(lines)}
        single = {pin.name: at[pin.lines[0]] for pin in program.pins if len(pin.lines) == 1}
        order = [single[step.name] for step in program.steps if step.name in single]
        assert order == sorted(order), name


def test_no_plan_no_programme(made: Made) -> None:
    from dataclasses import replace

    with pytest.raises(ValueError, match="no plan"):
        program_of(replace(made[0][1], objective=None), None)  # type: ignore[arg-type]
