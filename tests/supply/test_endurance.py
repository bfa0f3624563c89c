"""How long a battery lasts, by hand, and what to change first.   Sources: conservation of charge."""

from __future__ import annotations

import math

import pytest
from supply_rig import LED, asleep, awake, found, known_catalogue, linear, supplied, way_in, words

from pinwright.circuits.ranges import Range
from pinwright.fitting.source import Source
from pinwright.supply.budget import Consumer, Draw
from pinwright.supply.endurance import endurance_of, life_words

CHIP = "chip data, currents by state"
CELLS = Source("test cells", "battery", Range(3.0, 4.5), 1.0, 0.5, capacity_ah=2.0, self_discharge=0.03)


def lasts(draw: Draw, every_s: float | None, awake_s: float | None, sleeping: bool = True):  # type: ignore[no-untyped-def]
    who = [Consumer("chip", "logic", 3.3, draw, CHIP)]
    life = endurance_of(CELLS, draw, who, [], sleeping, every_s, awake_s)
    assert life is not None
    return life


def test_a_life_by_hand() -> None:
    # 100 mA for 5 s and 20 µA for 595 s of every 600 s: 0.853 mA; 85 % of 2 Ah (common practice, no source) are 1.7 Ah
    life = lasts(Draw(20e-6, 0.1, 0.3), 600.0, 5.0)
    mean = (0.1 * 5 + 20e-6 * 595) / 600
    assert life.mean_a == pytest.approx(mean)
    plain_s = 1.7 / mean * 3600
    rate = -math.log(1 - 0.03) / (365.25 * 86400)
    assert life.life_s == pytest.approx(math.log(1 + rate * plain_s) / rate, rel=1e-3)
    assert life.life_s < plain_s
    assert life.words.startswith("about 2.7 months at 853 µA")


def test_longer_sleep_never_shortens_a_life() -> None:
    # property
    lives = [lasts(Draw(20e-6, 0.1, 0.3), every_s, 5.0).life_s for every_s in (5.0, 10.0, 60.0, 600.0, 3600.0, 86400.0)]
    assert lives == sorted(lives)
    assert lives[0] < lives[-1]


def test_longer_awake_never_lengthens_a_life() -> None:
    lives = [lasts(Draw(20e-6, 0.1, 0.3), 600.0, awake_s).life_s for awake_s in (0.1, 1.0, 5.0, 60.0, 600.0)]
    assert lives == sorted(lives, reverse=True)


def test_longer_sleep_in_a_brief_never_shortens_a_life() -> None:
    # property, the whole way from the brief
    facts = known_catalogue(
        "nano-33-iot", awake(0.02), asleep(10e-6), supply=(way_in("VIN", 3.0, 15.0),), regulator=(linear("VIN", "3V3", 3.3),)
    )
    head = '[supply]\nsource = "battery"\ncells = 4\n[use]\nsleeping = true\nawake_for = "2 s"\n'
    lives = []
    for every in ("10 s", "1 min", "10 min", "2 h"):
        life = supplied(f'{head}wake_every = "{every}"\n' + LED, "nano-33-iot", facts).endurance
        assert life is not None
        lives.append(life.life_s)
    assert lives == sorted(lives)


def test_a_cycle_nobody_gives_is_called_assumed() -> None:
    assert "assumed" in lasts(Draw(1e-5, 0.1, 0.1), None, None).words
    assert "assumed" not in lasts(Draw(1e-5, 0.1, 0.1), 60.0, 1.0).words
    assert "always awake" in lasts(Draw(0.1, 0.1, 0.1), None, None, sleeping=False).words


def test_what_is_not_emptied_has_no_life() -> None:
    assert endurance_of(Source("usb", "usb", Range(4.75, 5.25), 0.5, 0.0), Draw(0.1, 0.1, 0.1), [], [], False, None, None) is None
    assert endurance_of(CELLS, Draw(), [], [], False, None, None) is None


def test_a_divider_that_drains_more_than_the_chip_is_named_first() -> None:
    # 4.5 V over 20 kΩ are 225 µA all day; the chip sleeps at 5 µA
    chip, drain = Draw(5e-6, 0.01, 0.01), Draw(225e-6, 225e-6, 225e-6)
    who = [Consumer("chip", "logic", 3.3, chip, CHIP), Consumer("divider at x.V", "4.5 V", 4.5, drain, "V / R")]
    life = endurance_of(CELLS, chip + drain, who, [], True, 600.0, 1.0)
    assert life is not None
    assert life.shares[0][0] == "divider at x.V"
    assert "switch it off between readings" in life.advice
    assert life.shares[0][1] == pytest.approx(225e-6 / (225e-6 + (0.01 + 599 * 5e-6) / 600), rel=1e-3)
    assert sum(share for _, share in life.shares) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("draw", "sleeping", "said"),
    [
        (Draw(1e-6, 0.1, 0.1), True, "wake less often"),
        (Draw(0.1, 0.1, 0.1), False, "let it sleep"),
        (Draw(1e-3, 1e-3, 1e-3), True, "chip takes 100 %"),
    ],
)
def test_the_advice_fits_the_cycle(draw: Draw, sleeping: bool, said: str) -> None:
    assert said in lasts(draw, 600.0, 5.0, sleeping).advice


def test_a_part_that_idles_away_the_battery_is_a_caution() -> None:
    # behaviour: a lamp of 2 mA beside a chip that sleeps at 10 µA
    facts = known_catalogue(
        "nano-33-iot",
        awake(0.02),
        asleep(10e-6),
        supply=(way_in("VIN", 3.0, 15.0),),
        regulator=(linear("VIN", "3V3", 3.3, i_quiescent_a=0.0),),
    )
    head = '[supply]\nsource = "battery"\ncells = 4\n[use]\nsleeping = true\nwake_every = "1 h"\nawake_for = "1 s"\n'
    mine = '[[part]]\nname = "idler"\ncurrent = "2 mA"\nsupply = "3.3 V"\n'
    mine += '  [[part.line]]\n  name = "O"\n  direction = "in"\n  signal = "digital"\n'
    report = supplied(head + mine, "nano-33-iot", facts)
    cautions = [f for f in found(report, "supply-life") if f.severity == "caution"]
    assert len(cautions) == 1
    assert "idler takes" in words(cautions)
    assert "switch its supply off" in words(cautions)


@pytest.mark.parametrize(
    ("seconds", "said"), [(3600.0, "1 hours"), (86400.0 * 3, "3 days"), (86400.0 * 70, "2.3 months"), (1e9, "32 years")]
)
def test_lives_are_told_in_the_unit_people_use(seconds: float, said: str) -> None:
    assert life_words(seconds) == said
