"""The JSON shapes are what docs/json.md says: the document itself is read and compared with real output."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from pinwright import contract
from pinwright.cli.main import main
from pinwright.facts import loader
from pinwright.facts.loader import Catalogue

ROOT = Path(__file__).parent.parent
EXAMPLES = sorted((ROOT / "examples").glob("*.toml"))
CHIPS = ("ESP32", "ESP32-C3", "ESP32-S3", "ESP8266EX", "RP2040", "RP2350A", "ATmega328P", "ATtiny85")


@cache
def answer(*args: str) -> Any:
    result = CliRunner().invoke(main, [*args, "--json"])
    assert result.exit_code in (0, 1), result.output
    return json.loads(result.stdout)


# ------------------------------------------------------------------------------ the document


class Keys(dict[str, "Keys | None"]):
    """Keys of an object, in order, and of the objects below; ``None`` where there is a plain value."""


def documented(section: str) -> Keys:
    """Keys that docs/json.md lists in a section, read from its braces."""
    words = (ROOT / "docs" / "json.md").read_text(encoding="utf-8").split(f"## {section}\n")[1].split("\n## ")[0]
    text = re.sub(r"\],[ ]{2,}[a-z ]+\n", "],\n", words[words.index("{") :])  # an aside behind a key
    tokens = re.findall(r'"[^"]*"(?=\s*:)|"[^"]*"|[A-Za-z_]\w*|[{}\[\]:,|]', text)
    keys, _ = _object(tokens, 1)
    return keys


def _object(tokens: list[str], at: int) -> tuple[Keys, int]:
    """Keys from just behind an opening brace, and the place behind the closing one."""
    keys = Keys()
    while tokens[at] != "}":
        if tokens[at] == ",":
            at += 1
            continue
        name = tokens[at]
        at += 1
        keys[name] = None
        depth = 0
        while depth or tokens[at] not in (",", "}"):
            if tokens[at] == "{":
                keys[name], at = _object(tokens, at + 1)
                continue
            depth += {"[": 1, "]": -1}.get(tokens[at], 0)
            at += 1
    return keys, at + 1


def test_the_document_is_read_as_it_is_meant():
    assert documented("why --not PIN") == {
        "contract": None, "board": None, "line": None, "pin": None, "possible": None, "strikes": None,
        "costs": {"money": None, "components": None, "risk": None, "scarce": None, "spread": None},
        "moved": {"line": None, "from": None, "to": None}, "because": None,
    }  # fmt: skip
    assert documented("new") == {"contract": None, "written": None}


def assert_shape(value: Any, keys: Keys, where: str = "") -> None:
    """Every object has the documented keys and no other, in the documented order, at every depth."""
    if isinstance(value, list):
        for number, item in enumerate(value):
            assert_shape(item, keys, f"{where}[{number}]")
        return
    assert isinstance(value, dict), where
    if any(name.startswith('"') or name == "column" for name in keys):  # {"part.line": {…}}, {column: source}
        (below,) = keys.values()
        for name, item in value.items():
            if below:
                assert_shape(item, below, f"{where}.{name}")
        return
    assert list(value) == list(keys), where
    for name, below in keys.items():
        if below and value[name] is not None:
            assert_shape(value[name], below, f"{where}.{name}")


FINDINGS = documented("plan")["boards"]["findings"]  # type: ignore[index]
"""``check`` has 'findings as above'; their numbers are named by what they are."""


# ------------------------------------------------------------------------------ facts


@pytest.mark.parametrize("part", CHIPS)
def test_chip(part: str):
    shape = answer("facts", "show", part)
    assert_shape(shape, documented("facts show CHIP"), part)
    assert shape["contract"] == contract.CONTRACT == 1
    for pad in shape["pads"]:
        assert isinstance(pad["gpio"], int | str)
        assert type(pad["strap"]) is bool
        assert (pad["strap_levels"] is None) == (not pad["strap"])
        for name in ("input", "output", "pull_up", "pull_down", "open_drain", "interrupt", "console"):
            assert type(pad[name]) is bool
        assert pad["reserved"] in {None, "flash", "psram", "usb", "crystal", "debug", "reset", "power", "radio", "unbonded"}
        assert all(isinstance(name, str) for name in pad["functions"])


def pads(part: str) -> dict[Any, dict[str, Any]]:
    return {pad["gpio"]: pad for pad in answer("facts", "show", part)["pads"]}


def test_pads_of_chips_with_numbers():
    # published: ESP32 data sheet, pin list and strapping pins
    esp32 = pads("ESP32")
    assert esp32[25]["adc"] == {"unit": 2, "channel": 8}
    assert esp32[36]["adc"] == {"unit": 1, "channel": 0}
    assert {gpio for gpio, pad in esp32.items() if pad["strap"]} == {0, 2, 5, 12, 15}
    assert {gpio for gpio, pad in esp32.items() if pad["dac"]} == {25, 26}
    assert {gpio for gpio, pad in esp32.items() if pad["touch"]} == {0, 2, 4, 12, 13, 14, 15, 27, 32, 33}
    assert {gpio for gpio, pad in esp32.items() if pad["reserved"] == "flash"} == {6, 7, 8, 9, 10, 11}
    assert {gpio for gpio, pad in esp32.items() if pad["console"]} == {1, 3}
    assert {gpio for gpio, pad in esp32.items() if pad["input"] and not pad["output"]} == {34, 35, 36, 37, 38, 39}


def test_functions_of_rp2040():
    # published: RP2040 data sheet, table of GPIO functions
    rp2040 = pads("RP2040")
    assert {"SPI0_RX", "UART0_TX", "I2C0_SDA", "PWM0_A"} <= set(rp2040[0]["functions"])
    assert {"SPI0_CSN", "UART0_RX", "I2C0_SCL", "PWM0_B"} <= set(rp2040[1]["functions"])
    assert {"SPI0_SCK", "I2C1_SDA", "PWM1_A"} <= set(rp2040[2]["functions"])
    assert [rp2040[gpio]["adc"]["channel"] for gpio in (26, 27, 28)] == [0, 1, 2]
    assert not any(rp2040[gpio]["strap"] or rp2040[gpio]["dac"] or rp2040[gpio]["touch"] for gpio in range(30))


def test_pads_of_chips_without_numbers():
    # published: ATmega328P data sheet, pin configurations
    atmega = pads("ATmega328P")
    assert {"PB0", "PC5", "PD7"} <= set(atmega)
    assert atmega["PC3"]["adc"] == {"unit": 0, "channel": 3}
    assert "OC1A" in atmega["PB1"]["names"]


def test_boards_are_in_header_order(catalogue: Catalogue):
    for board in catalogue.boards:
        shape = answer("facts", "show", board)
        assert_shape(shape, documented("facts show BOARD"), board)
        rows: dict[str, list[int]] = {}
        for pin in shape["pins"]:
            rows.setdefault(pin["row"], []).append(pin["order"])
        assert [pin["row"] for pin in shape["pins"]] == [row for row, orders in rows.items() for _ in orders]
        for row, orders in rows.items():
            assert orders == sorted(set(orders)), f"{board} {row}"
        assert all((pin["gpio"] is None) == (pin["pad"] is None) for pin in shape["pins"])
    # published: pinout of the Raspberry Pi Pico
    pico = answer("facts", "show", "raspberry-pi-pico")["pins"]
    assert [pin["label"] for pin in pico[:5]] == ["GP0", "GP1", "GND", "GP2", "GP3"]
    assert [pin["gpio"] for pin in pico[:5]] == [0, 1, None, 2, 3]


def test_parts(catalogue: Catalogue):
    keys = documented("facts show PART")
    for part in catalogue.parts.values():
        shape = contract.part_shape(part)
        assert_shape(shape, keys, part.id)
        assert len(shape["lines"]) == len(part.line)
        assert shape["sources"] or not part.line


@pytest.mark.parametrize("args", [("list",), ("list", "chips"), ("search", "relay"), ("search", "xyzzy")])
def test_entries(args: tuple[str, ...]):
    shape = answer("facts", *args)
    assert_shape(shape, documented("facts list, facts search"))
    assert {entry["what"] for entry in shape["entries"]} <= {"chip", "board", "part"}


def test_faults(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    every = loader.fact_files
    monkeypatch.setattr(loader, "fact_files", lambda folders: (file for file in every(folders) if not file.shipped))
    (tmp_path / "parts").mkdir()
    (tmp_path / "parts" / "broken.toml").write_text("idd = 1\n", encoding="utf-8")
    shape = answer("facts", "check", "--catalogue", str(tmp_path))
    assert_shape(shape, documented("facts check"))
    assert shape["faults"]


# ------------------------------------------------------------------------------ plan, check, why, new


def assert_plain(value: Any) -> None:
    """Only what JSON has: no infinity, no not-a-number."""
    json.dumps(value, allow_nan=False)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_plan(path: Path):
    shape = answer("plan", str(path))
    assert_plain(shape)
    keys = documented("plan")
    assert list(shape) == list(keys)
    for board in shape["boards"]:
        if not board["feasible"]:
            assert board.pop("spare") == {}
            board = {name: board.get(name) for name in keys["boards"]}
        assert_shape(board, keys["boards"], board["board"])
        for finding in board["findings"]:
            assert all(isinstance(word, str) for pair in finding["numbers"].items() for word in pair)
    feasible = [board["feasible"] for board in shape["boards"]]
    assert feasible == sorted(feasible, reverse=True)  # those that cannot come last
    for board in shape["boards"]:
        if board["feasible"]:
            assert board["lines"]
            assert board["conflict"] == board["because"] == []
            assert board["gap"] is None or not board["proven_optimal"]
        else:
            assert board["because"]
            assert board["objective"] is None
            assert board["proven_optimal"] is False
        for finding in board["findings"]:
            assert finding["severity"] in {"refuse", "caution", "note"}


def test_check():
    shape = answer("check", str(ROOT / "examples" / "copied-wiring.toml"))
    assert list(shape) == list(documented("check"))
    assert shape["verdict"] == "refused"
    assert_shape(shape["findings"], FINDINGS, "findings")


def test_why():
    args = (str(ROOT / "examples" / "bakery-proofer.toml"), "heater.CTRL", "--board", "esp32-c6-devkitc-1")
    shape = answer("why", *args)
    assert_shape(shape, documented("why"), "why")
    (chosen,) = [pin for pin in shape["pins"] if pin["chosen"]]
    assert (chosen["pin"], chosen["gpio"]) == (shape["pin"], shape["gpio"])
    struck = next(pin["pin"] for pin in shape["pins"] if pin["strikes"])
    keys = documented("why --not PIN")
    keys["strikes"] = documented("why")["pins"]["strikes"]  # type: ignore[index]
    refused = answer("why", *args, "--not", struck)
    assert_shape(refused, keys, struck)
    assert (refused["pin"], refused["possible"]) == (struck, False)
    for pin in shape["pins"]:
        if not pin["strikes"]:
            other = answer("why", *args, "--not", pin["pin"])
            assert_shape(other, keys, pin["pin"])
            assert other["pin"] == pin["pin"]  # a label, as everywhere
            assert (other["costs"] is not None) == other["possible"]


def test_a_board_without_a_price_costs_null(tmp_path: Path):
    prices = tmp_path / "prices.toml"
    prices.write_text('currency = "EUR"\n[boards]\nraspberry-pi-pico = 4\n', encoding="utf-8")
    shape = answer("plan", str(ROOT / "examples" / "flour-silo.toml"), "--prices", str(prices))
    assert shape["money_unit"] == "EUR"
    assert_plain(shape)
    assert None in [board["objective"]["money"] for board in shape["boards"] if board["feasible"]]


def test_new(tmp_path: Path):
    assert_shape(answer("new", str(tmp_path / "brief.toml")), documented("new"))


def test_pack(tmp_path: Path):
    shape = answer("pack", str(ROOT / "examples" / "flour-silo.toml"), "--no-pdf", "-o", str(tmp_path / "silo"))
    assert_shape(shape, documented("pack"))
    assert shape["open_first"] in {file["path"] for file in shape["files"]}
    plan = json.loads((tmp_path / "silo" / "plan.json").read_text(encoding="utf-8"))
    assert list(plan) == list(documented("plan"))
    own = json.loads((tmp_path / "silo" / "pack.json").read_text(encoding="utf-8"))
    assert {file["path"]: file["sha256"] for file in own["files"]} == {file["path"]: file["sha256"] for file in shape["files"]}


def test_every_shape_is_public_and_described():
    for name in contract.__all__:
        thing: Callable[..., Any] | int = getattr(contract, name)
        assert not callable(thing) or thing.__doc__
