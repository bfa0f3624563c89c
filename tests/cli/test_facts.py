"""``pinwright facts``: list, search, show, check (behaviour)."""

from __future__ import annotations

import pytest

from pinwright.cli.show_facts import show_item
from pinwright.facts import loader


@pytest.mark.parametrize("what", ["chips", "boards", "parts"])
def test_list(what: str, run, run_json, assert_narrow):
    shown = run("facts", "list", what, code=0).stdout
    entries = run_json("facts", "list", what)["entries"]
    assert_narrow(shown)
    assert {entry["what"] for entry in entries} == {what[:-1]}
    assert shown.endswith(f"{len(entries)} entries\n")
    assert all(entry["name"] in shown for entry in entries)


def test_list_of_something_else(run):
    assert "'chips', 'boards', 'parts'" in run("facts", "list", "bords", code=2).stderr


def test_search(run, run_json):
    assert "soil-moisture-capacitive" in run("facts", "search", "soil moisture", code=0).stdout
    assert "bme280" in [entry["name"] for entry in run_json("facts", "search", "BME280")["entries"]]
    assert run("facts", "search", "xyzzy", code=1).stdout == "0 entries\n"
    assert run_json("facts", "search", "xyzzy", code=1)["entries"] == []


@pytest.mark.parametrize("name", ["ESP32", "RP2040", "ATmega328P", "raspberry-pi-pico", "esp32-wroom32-30pin", "bme280", "servo-hobby"])
def test_show(name: str, run, assert_narrow):
    shown = run("facts", "show", name, code=0).stdout
    assert_narrow(shown)
    assert shown.startswith(name)
    assert "Sources" in shown


def test_show_whatever_there_is(catalogue, capsys, assert_narrow):
    some_parts = list(catalogue.parts.values())[::5]  # each takes its time
    for item in (*catalogue.chips.values(), *catalogue.boards.values(), *some_parts):
        show_item(item, catalogue)
    assert_narrow(capsys.readouterr().out)


def test_show_names_only_sources_the_part_cites(run):
    shown = run("facts", "show", "bme280", code=0).stdout.split("Sources")[1]
    assert "BME280 data sheet" in shown
    assert "SSD1306" not in shown


def test_show_guesses(run):
    assert run("facts", "show", "bmee280", code=2).stderr.startswith(
        "There is no chip, board or part called 'bmee280'. Did you mean bme280"
    )


def test_check_of_a_broken_file(run, run_json, tmp_path, monkeypatch):
    (tmp_path / "chips").mkdir()
    (tmp_path / "chips" / "broken.toml").write_text("part = \x01", encoding="utf-8")
    every = loader.fact_files
    monkeypatch.setattr(loader, "fact_files", lambda folders: (file for file in every(folders) if not file.shipped))
    shown = run("facts", "check", "--catalogue", tmp_path, code=1).stdout
    assert "broken.toml" in shown
    assert shown.splitlines()[-1].startswith("1 file, ")
    (fault, *_) = run_json("facts", "check", "--catalogue", tmp_path, code=1)["faults"]
    assert set(fault) == {"file", "line", "key", "wrong", "right", "guess"}


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("ESP8266", "ESP8266EX"),
        ("esp32c3", "ESP32-C3"),
        ("RP2350", "RP2350A"),
        ("esp32", "ESP32"),
        ("raspberry pi pico", "raspberry-pi-pico"),
    ],
)
def test_show_takes_the_names_people_write(name: str, found: str, run):
    assert run("facts", "show", name).stdout.startswith(f"{found} ")


def test_show_a_value_with_its_source(run, run_json):
    # published: ESP32 data sheet, table of strapping pins; MTDI (GPIO12) low for 3.3 V flash
    shown = run("facts", "show", "ESP32", "GPIO12.strap", code=0).stdout
    assert "pad.GPIO12.strap  run low" in shown
    assert "Table 3 (read)" in " ".join(shown.split())
    assert shown.splitlines()[-1] == "1 value: 1 read, 0 recalled"
    (value,) = run_json("facts", "show", "ESP32", "GPIO12.strap")["values"]
    assert value["key"] == "pad.GPIO12.strap"
    assert "ESP32 Series Datasheet" in value["source"]
    assert (value["where"], value["seen"]) == ("Table 3", "read")


def test_show_every_value_of_anything_has_a_source(run_json, catalogue):
    for name in ("SAMD21G18", "raspberry-pi-pico", "bme280"):
        values = run_json("facts", "show", name, "--all")["values"]
        assert len(values) > 20
        assert all(value["source"] for value in values), name
    assert len(run_json("facts", "show", "ESP32", "--all")["values"]) > 10 * len(catalogue.chips["ESP32"].pad)


def test_show_a_value_nobody_knows(run):
    assert run("facts", "show", "ESP32", "GPOI12", code=2).stderr.startswith(
        "There is no value of ESP32 called 'GPOI12'. Did you mean GPIO12"
    )


def test_recalled_values_say_so(run, catalogue):
    chip = catalogue.chips["ESP32-C3"]
    recalled = [pad.name for pad in chip.pad if any(state.seen == "memory" for state in pad.boot)]
    words = run("facts", "show", "ESP32-C3", f"pad.{recalled[0]}.boot", code=0).stdout if recalled else "recalled, not looked up"
    assert "recalled, not looked up" in " ".join(words.split())


def test_sources(run, run_json):
    documents = run_json("facts", "sources")["documents"]
    assert len(documents) > 100
    assert all(document["values"] > 0 and document["entries"] for document in documents)
    shown = run("facts", "sources", "DS18B20", code=0).stdout
    assert "DS18B20 data sheet" in shown
    assert run("facts", "sources", "xyzzy", code=1).stdout == "0 documents\n"
