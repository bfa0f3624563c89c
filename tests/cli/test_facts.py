"""``pinwright facts``: list, search, show, check (behaviour)."""

from __future__ import annotations

import pytest

from pinwright.cli.show_facts import show_item
from pinwright.errors import nearest
from pinwright.facts import loader
from pinwright.facts.templates import template_text


@pytest.mark.parametrize("what", ["chips", "boards", "parts"])
def test_list(what: str, run, run_json, assert_narrow):
    shown = run("facts", "list", what, code=0).stdout
    entries = run_json("facts", "list", what)["entries"]
    assert_narrow(shown)
    assert {entry["what"] for entry in entries} == {what[:-1]}
    assert shown.endswith(f"{len(entries)} entries\n")
    assert all(entry["name"] in shown for entry in entries)


@pytest.mark.parametrize(
    ("command", "written", "known", "meant"),
    [
        ("list", "bords", "'chips', 'boards', 'parts'", "boards"),
        ("list", "chip", "'chips', 'boards', 'parts'", "chips"),
        ("template", "chp", "'chip', 'board', 'part'", "chip"),
    ],
)
def test_choice_among_words_knows_the_nearest(command: str, written: str, known: str, meant: str, run):
    said = run("facts", command, written, code=2).stderr
    assert known in said
    assert f"Did you mean {meant}?" in said


def test_choice_without_a_near_word_offers_none(run):
    assert "Did you mean" not in run("facts", "list", "xyzzy", code=2).stderr


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


@pytest.mark.parametrize(
    ("written", "first"), [("pico", "raspberry-pi-pico"), ("pico-2", "raspberry-pi-pico-2"), ("pico-w", "raspberry-pi-pico-w")]
)
def test_end_of_a_name_finds_the_name_that_ends_so(written: str, first: str, catalogue):
    assert nearest(written, catalogue.boards)[0] == first


def test_values_that_do_not_fit_the_line_hang_below_their_key(run, assert_narrow):
    shown = run("facts", "show", "ESP32", "--all", code=0).stdout
    assert_narrow(shown)
    at_the_edge = [line for line in shown.splitlines() if line and not line.startswith(" ")]
    # A key is one word; only the count below stands at the edge beside the keys.
    assert [line for line in at_the_edge[:-1] if "." not in line.split("  ")[0] and "  " not in line] == []
    assert any(line.startswith("    ") for line in shown.splitlines())


@pytest.mark.parametrize("name", ["raspberry-pi-pico", "RP2040"])
def test_letters_of_the_pads_are_explained_below_the_table(name: str, run):
    shown = run("facts", "show", name, code=0).stdout
    assert "D pull-down  ! interrupt" in shown.split("IOUD")[-1]


FOLDERS = {
    "singular": (["board/my-board.toml"], "This folder has no chips/, boards/ or parts/. Found: board/. Did you mean boards/?"),
    "capital": (["Boards/my-board.toml"], "Found: Boards/. Did you mean boards/?"),
    "loose": (["my-board.toml"], "Found: my-board.toml. Put a file of your own into chips/, boards/ or parts/."),
    "nothing": ([], "This folder has no chips/, boards/ or parts/. Nothing in it is read."),
    "one of two": (["parts/my-parts.toml", "board/my-board.toml"], "Nothing in board/ is read. Did you mean boards/?"),
    "beside": (["parts/my-parts.toml", "my-board.toml"], "A file outside the folders is not read. Put it into chips/, boards/ or parts/."),
    "too deep": (["boards/mine/my-board.toml"], "A folder in boards/ is not read. Put its files into boards/ itself."),
}


@pytest.mark.parametrize("case", FOLDERS)
def test_what_of_an_own_folder_is_not_read_is_said(case: str, run, tmp_path):
    files, words = FOLDERS[case]
    for name in files:
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(template_text("part" if "part" in name else "board"), encoding="utf-8")
    checked = run("facts", "check", "--catalogue", tmp_path, code=1).stdout
    assert words in checked
    assert checked.endswith(", 1 fault\n")
    listed = run("facts", "list", "chips", "--catalogue", tmp_path, code=0)
    assert "not read: " in listed.stderr
    assert words in listed.stderr


def test_brief_beside_the_folders_is_no_fault(run, tmp_path):
    (tmp_path / "parts").mkdir()
    (tmp_path / "parts" / "my-parts.toml").write_text(template_text("part"), encoding="utf-8")
    run("new", tmp_path / "brief.toml", code=0)
    assert run("facts", "list", "parts", "--catalogue", tmp_path, code=0).stderr == ""


def test_folder_one_too_low_is_said(run, tmp_path):
    path = tmp_path / "boards" / "my-board.toml"
    path.parent.mkdir()
    path.write_text(template_text("board"), encoding="utf-8")
    assert "the folder above?" in run("facts", "check", "--catalogue", path.parent, code=1).stdout
    assert run("facts", "list", "chips", "--catalogue", tmp_path, code=0).stderr == ""


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
