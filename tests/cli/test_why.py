"""``pinwright why`` and ``why --not`` (behaviour)."""

from __future__ import annotations

BAKERY = ("examples/bakery-proofer.toml", "heater.CTRL", "--board", "raspberry-pi-pico-w")


def test_why_tells_reasons_and_every_pin(run, run_json, assert_narrow):
    shown = run("why", *BAKERY, code=0).stdout
    assert_narrow(shown)
    assert shown.startswith("heater.CTRL is on GP")
    assert "* chosen   o possible   x struck out" in shown
    found = run_json("why", *BAKERY)
    assert [pin["chosen"] for pin in found["pins"]].count(True) == 1
    assert len(found["pins"]) == 26  # header of the Pico W: GP0 to GP22 and GP26 to GP28 (published: its data sheet)


def test_why_takes_a_part_with_one_line_and_any_case(run):
    assert run("why", BAKERY[0], "HEATER", *BAKERY[2:], code=0).stdout == run("why", *BAKERY, code=0).stdout


def test_why_guesses_the_line(run):
    wrong = run("why", BAKERY[0], "heater.CTLR", *BAKERY[2:], code=2)
    assert wrong.stderr == "There is no line called 'heater.CTLR'. Did you mean heater.CTRL?\n"
    several = run("why", BAKERY[0], "screen", *BAKERY[2:], code=2)
    assert "screen.SDA" in several.stderr
    assert "screen.SCL" in several.stderr


def test_why_not_a_pin_that_is_struck_out(run, run_json, assert_narrow):
    args = ("why", "examples/bakery-proofer.toml", "heater.CTRL", "--board", "esp32-c6-devkitc-1", "--not", "9")
    shown = run(*args, code=1).stdout
    assert_narrow(shown)
    assert shown.startswith("heater.CTRL cannot be on 9 (GPIO9):")
    found = run_json(*args, code=1)
    assert found["possible"] is False
    assert found["strikes"]
    assert found["costs"] is None


def test_why_not_a_pin_that_is_possible_tells_the_cost(run, run_json):
    pin = next(
        found
        for pin in run_json("why", *BAKERY)["pins"]
        if not pin["strikes"] and not pin["chosen"] and any((found := run_json("why", *BAKERY, "--not", pin["pin"]))["costs"].values())
    )
    assert pin["possible"] is True
    assert next(value for value in pin["costs"].values() if value) > 0  # otherwise the plan was not the best (property)
    shown = run("why", *BAKERY, "--not", pin["pin"], code=0).stdout
    assert f"heater.CTRL on {pin['pin']} (GPIO{pin['pin'][2:]}) is possible, and this is what it changes:" in shown
    assert "less is better" in shown


def test_why_not_the_pin_it_has(run, run_json):
    pin = run_json("why", *BAKERY)["pin"]
    found = run_json("why", *BAKERY, "--not", pin)
    assert not any(found["costs"].values())
    if not found["moved"]:
        assert "is on " in run("why", *BAKERY, "--not", pin, code=0).stdout


def test_why_not_a_pin_nobody_knows(run):
    wrong = run("why", *BAKERY, "--not", "GP99", code=2)
    assert "There is no pin on the Raspberry Pi Pico W called 'GP99'. Did you mean GP" in wrong.stderr


def test_why_without_any_plan(run, run_json):
    shown = run("why", "examples/tasting-bench.toml", "start", code=1).stdout
    assert "No board in question can do this job." in shown
    found = run_json("why", "examples/tasting-bench.toml", "start", code=1)
    assert not any(board["feasible"] for board in found["boards"])
