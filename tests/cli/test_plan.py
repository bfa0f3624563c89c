"""``pinwright plan``: tables, reasons, options, exit codes (behaviour)."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from pinwright.cli.show_plan import show_plan
from pinwright.planning import PlanResult, open_job, plan_job
from pinwright.review.model import Finding, Review

ROOT = Path(__file__).parent.parent.parent
KEY = '[[part]]\nname = "key"\nkind = "push-button-momentary"\n'
OWN_PART = """\
schema = 1
[family]
id = "mine"
title = "Parts of mine (invented)"
[[source]]
id = "me"
title = "Measured on my bench"
seen = "read"
[[part]]
id = "doorbell-of-mine"
kind = "switch"
title = "My bell [red]push[/red]"
supply_v = { note = "a bare contact", src = "me" }
[[part.line]]
name = "SW"
direction = "in"
signal = "digital"
needs = { pull = "up", pull_ohm = 10000 }
rest = "high"
floating = "reads noise"
floats = "undefined"
src = "me"
"""


def test_plan_shows_boards_plan_proof_spare_review_and_what_next(run, assert_narrow):
    shown = run("plan", "examples/bakery-proofer.toml", "--top", 2, code=0).stdout
    assert_narrow(shown)
    for words in (
        "Proofing cabinet",
        "9 parts, 14 lines, ",
        "Boards that can, best first",
        "more (--top ",
        "cost: class 1 (cheapest) to 5, indicative only",
        "The plan: ",
        "heater.CTRL",
        "I2C bus 1 at up to 400 kHz: screen 0x3C, air 0x76",
        "Proved: no other choice of pins on this board is better.",
        "Still free beside this",
        "Review: 0 refused, ",
        "Ask about any line: pinwright why examples/bakery-proofer.toml heater.CTRL",
        "Boards that cannot",
        "Wi-Fi on while the device works",
    ):
        assert words in shown


def test_plan_board_list_is_as_long_as_top_says(run):
    shown = run("plan", "examples/bakery-proofer.toml", "--top", 3, code=0).stdout
    listed = shown.split("Boards that can, best first")[1].split("and ")[0]
    assert [line.split()[0] for line in listed.splitlines() if line[:1].isdigit()] == ["1", "2", "3"]


@pytest.mark.parametrize("name", sorted(path.name for path in (ROOT / "examples").glob("*.toml")))
def test_plan_every_example(name: str, run, assert_narrow):
    few = ("--board", "raspberry-pi-pico", "--board", "attiny85-dip8") if name == "oven-wall.toml" else ()  # a slow one
    result = run("plan", f"examples/{name}", *few)
    assert_narrow(result.stdout)
    assert result.exit_code == (1 if name in ("tasting-bench.toml", "copied-wiring.toml") else 0)
    assert result.stderr == ""


def test_plan_without_an_answer_gives_reasons_and_ways_out(run):
    shown = run("plan", "examples/tasting-bench.toml", code=1).stdout
    assert "No board in question can do this job." in shown
    assert "The brief wants Wi-Fi (tasting-bench.toml:5)." in shown
    assert "Giving this up resolves it: Wi-Fi on while the device works." in " ".join(shown.split())
    assert "Giving up any one of these resolves it: " in " ".join(shown.split())


def test_boards_with_the_same_conflict_share_one_explanation(run):
    shown = run("plan", "examples/tasting-bench.toml", "--top", 50, code=1).stdout
    assert shown.count("The brief wants Wi-Fi") == 1
    for board in ("atmega328p-32pin", "raspberry-pi-pico-2", "attiny85-dip8"):
        assert board in shown


def test_plan_on_named_boards_only(run, run_json, starter: Path):
    found = run_json("plan", starter, "--board", "raspberry-pi-pico", "--board", "ESP32-C6-DevKitC-1")
    assert {board["board"] for board in found["boards"]} == {"raspberry-pi-pico", "esp32-c6-devkitc-1"}
    wrong = run("plan", starter, "--board", "raspbery-pi-pico", code=2)
    assert wrong.stderr.startswith("There is no board called 'raspbery-pi-pico'. Did you mean raspberry-pi-pico")


def test_one_board_is_told_in_the_singular(run, brief):
    shown = run("plan", brief(f'title = "Bell"\n{KEY}'), "--board", "raspberry-pi-pico", code=0).stdout
    assert "1 part, 1 line, 1 board looked at" in shown


def test_plan_with_prices(run, run_json, starter: Path, tmp_path: Path, assert_narrow):
    prices = tmp_path / "prices.toml"
    prices.write_text('currency = "USD"\n[boards]\nesp32-c6-devkitc-1 = 9.5\nraspberry-pi-pico = 4\n', encoding="utf-8")
    shown = run("plan", starter, "--prices", prices, code=0).stdout
    assert_narrow(shown)
    assert "USD" in shown
    assert "no price" in shown
    assert "cost class" not in shown
    found = run_json("plan", starter, "--prices", prices)
    assert found["money_unit"] == "USD"
    assert [board["objective"]["money"] for board in found["boards"] if board["feasible"]][:3] == [4.0, 9.5, None]


def test_plan_with_prices_in_another_currency_than_the_budget(run, brief, tmp_path: Path):
    prices = tmp_path / "prices.toml"
    prices.write_text('currency = "USD"\n[boards]\nraspberry-pi-pico = 4\n', encoding="utf-8")
    path = brief(f'title = "Bell"\n[board]\nbudget = "5 EUR"\n{KEY}')
    assert "The budget is in EUR, the prices in USD." in run("plan", path, "--prices", prices, code=2).stderr
    assert "A budget needs your prices." in run("plan", path, code=2).stderr


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ('currency = "US"\n', "is no currency"),
        ("[boards]\nraspberry-pi-pico = 4\n", "The currency is missing."),
        ('currency = "EUR"\n[boards]\nraspbery-pi-pico = 4\n', "Did you mean raspberry-pi-pico"),
        ('currency = "EUR"\n[boards]\nraspberry-pi-pico = nan\n', "is not a price"),
        ("", "The currency is missing."),
    ],
)
def test_plan_with_faulty_prices(words: str, message: str, run, starter: Path, tmp_path: Path):
    prices = tmp_path / "prices.toml"
    prices.write_text(words, encoding="utf-8")
    assert message in run("plan", starter, "--prices", prices, code=2).stderr


def test_plan_with_a_catalogue_of_ones_own(run, run_json, brief, tmp_path: Path):
    own = tmp_path / "own"
    (own / "parts").mkdir(parents=True)
    (own / "parts" / "mine.toml").write_text(
        OWN_PART,
        encoding="utf-8",
    )
    listed = run("facts", "list", "parts", "--catalogue", own, code=0)
    found = {entry["name"]: entry for entry in run_json("facts", "list", "parts", "--catalogue", own)["entries"]}
    assert "doorbell-of-mine" in found, listed.stderr
    assert "My bell [red]push[/red]" in listed.stdout
    path = brief('title = "Bell"\n[[part]]\nname = "bell"\nkind = "doorbell-of-mine"\n')
    run("plan", path, "--board", "raspberry-pi-pico", "--catalogue", own, code=0)
    assert "doorbell-of-mine" in run("plan", path, code=2).stderr


def test_a_faulty_catalogue_of_ones_own_is_told_and_left_out(run, starter: Path, tmp_path: Path):
    (tmp_path / "parts").mkdir()
    (tmp_path / "parts" / "broken.toml").write_text("[[part]]\nidd = 3\n", encoding="utf-8")
    for args in (("plan", starter, "--board", "raspberry-pi-pico"), ("facts", "list"), ("facts", "show", "bme280")):
        result = run(*args, "--catalogue", tmp_path, code=0)
        assert result.stderr.startswith("left out: ")
        assert "broken.toml" in result.stderr


def test_plan_within_a_time_limit(run):
    run("plan", "examples/bakery-proofer.toml", "--time-limit", "30", "--board", "raspberry-pi-pico-w", code=0)
    shown = run("plan", "examples/oven-wall.toml", "--time-limit", "0.01", "--board", "raspberry-pi-pico").stdout
    assert "Proved" in shown or "time limit" in shown or "--time-limit" in shown


@pytest.mark.parametrize("limit", ["0", "-1", "nan", "inf", "soon"])
def test_plan_with_a_time_limit_that_is_none(limit: str, run, starter: Path):
    assert "--time-limit" in run("plan", starter, "--time-limit", limit, code=2).stderr


def test_a_board_whose_plan_the_review_refuses_is_told(starter: Path, capsys: pytest.CaptureFixture[str]):
    job = open_job(starter)
    board = job.file.brief.board.model_copy(update={"only": ("raspberry-pi-pico",)})
    job = dataclasses.replace(job, file=dataclasses.replace(job.file, brief=job.file.brief.model_copy(update={"board": board})))
    finding = Finding("invented", "refuse", "pump.IN", "GP0", ("this is an invented reason",))
    result = PlanResult(plan_job(job).ranking, {"raspberry-pi-pico": Review((finding,))}, {})
    show_plan(result, 6, starter)
    shown = capsys.readouterr().out
    assert "No board in question can do this job." in shown
    assert "the review refuses the wiring" in shown
    assert "pump.IN on GP0: this is an invented reason." in shown


def test_the_same_brief_gives_the_same_answer(process):
    first, second = (process("plan", "examples/bakery-proofer.toml", "--board", "esp32-c6-devkitc-1", "--json") for _ in range(2))
    assert first.stdout == second.stdout
