"""Behaviour: the catalogue is kept between runs, notices every change, and survives whatever a maker's folder holds.

Reading all shipped files takes seconds, so these tests see three of them.
"""

from __future__ import annotations

import re
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from pinwright.errors import UnknownName
from pinwright.facts import loader
from pinwright.facts.loader import Catalogue, FactsFile, fact_files, load_catalogue, read_files

FEW = {"esp32.toml", "esp32-wroom32-30pin.toml", "switches.toml"}
"""The shipped files these tests see."""


def few_fact_files(extra: Sequence[Path] = ()) -> Iterator[FactsFile]:
    return (file for file in fact_files(extra) if not file.shipped or file.path.name in FEW)


OWN_PART = """\
schema = 1

[family]
id = "own"
title = "Own parts"

[[source]]
id = "mine"
title = "Measured on my bench"
seen = "read"

[[part]]
id = "own-button"
kind = "button"
title = "Button of my own"
supply_v = { src = "mine", seen = "read" }

[[part.line]]
name = "SW"
direction = "in"
signal = "digital"
src = "mine"
seen = "read"
"""

OWN_BOARD = """\
schema = 1
id = "own-board"
name = "Board of my own"
chip = "ESP32"
cost_class = 1
logic_v = 3.3
usb = "none"
order_from = "top"
usb_end = "none"
supply = []
header = [{ row = "left", order = 1, label = "4", pad = "GPIO4" }]

[[source]]
id = "mine"
title = "My board"
seen = "read"

[provenance]
header = { src = "mine", seen = "read" }
"""


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Empty place for kept copies, and few shipped files; returns the folder the copies land in."""
    monkeypatch.setattr(loader, "fact_files", few_fact_files)
    monkeypatch.setenv("PINWRIGHT_CACHE", str(tmp_path / "cache"))
    return tmp_path / "cache" / "pinwright"


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """Folder of a maker's own with one good part."""
    folder = tmp_path / "own"
    for kind in ("chips", "boards", "parts"):
        (folder / kind).mkdir(parents=True)
    (folder / "parts" / "own.toml").write_text(OWN_PART, encoding="utf-8")
    return folder


def copies(cache: Path) -> set[Path]:
    return set(cache.glob("facts-*.msgpack"))


def fingerprint(catalogue: Catalogue) -> tuple[set[str], set[str], set[str]]:
    return set(catalogue.chips), set(catalogue.boards), set(catalogue.parts)


# ------------------------------------------------------------------------------ the kept copy


def test_second_load_takes_the_kept_copy(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = load_catalogue()
    assert len(copies(cache)) == 1
    monkeypatch.setattr(loader, "read_files", lambda _: pytest.fail("files were read again"))
    assert load_catalogue() == first


def test_one_changed_byte_of_an_own_file_makes_a_new_copy(cache: Path, own: Path) -> None:
    assert load_catalogue([own]).parts["own-button"].title == "Button of my own"
    before = copies(cache)
    (own / "parts" / "own.toml").write_text(OWN_PART.replace("Button of my own", "Button of my owm"), encoding="utf-8")
    assert load_catalogue([own]).parts["own-button"].title == "Button of my owm"
    assert len(copies(cache) - before) == 1


def test_own_folder_and_none_have_copies_of_their_own(cache: Path, own: Path) -> None:
    assert "own-button" in load_catalogue([own]).parts
    assert "own-button" not in load_catalogue().parts
    assert len(copies(cache)) == 2


@pytest.mark.parametrize("rubbish", [b"", b"not msgpack", b"\x80", b"\xc0"], ids=["empty", "text", "empty map", "nil"])
def test_broken_copy_is_ignored_and_made_anew(cache: Path, rubbish: bytes) -> None:
    first = load_catalogue()
    (copy,) = copies(cache)
    good = copy.read_bytes()
    copy.write_bytes(rubbish)
    assert load_catalogue() == first
    assert copy.read_bytes() == good


def test_copy_cut_short_is_ignored(cache: Path) -> None:
    first = load_catalogue()
    (copy,) = copies(cache)
    copy.write_bytes(copy.read_bytes()[:1000])
    assert load_catalogue() == first


def test_place_that_cannot_be_written_does_no_harm(cache: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("in the way", encoding="utf-8")  # a file where a folder should be: fails for root, too
    monkeypatch.setenv("PINWRIGHT_CACHE", str(tmp_path / "file"))
    assert load_catalogue().boards
    assert (tmp_path / "file").read_text(encoding="utf-8") == "in the way"


def test_old_copies_do_not_pile_up(cache: Path, own: Path) -> None:
    for number in range(7):
        (own / "parts" / "own.toml").write_text(OWN_PART + f"# {number}\n", encoding="utf-8")
        load_catalogue([own])
    assert len(copies(cache)) == 4
    assert {path.suffix for path in cache.iterdir()} == {".msgpack"}  # no temporary files left


# ------------------------------------------------------------------------------ the maker's own folder


def test_own_entry_replaces_the_shipped_one(cache: Path, own: Path) -> None:
    shipped = load_catalogue()
    board = next(iter(shipped.boards.values()))
    text = OWN_BOARD.replace("own-board", board.id)
    (own / "boards" / f"{board.id}.toml").write_text(text, encoding="utf-8")
    catalogue = load_catalogue([own])
    assert catalogue.boards[board.id].name == "Board of my own"
    assert set(catalogue.boards) == set(shipped.boards)


def test_missing_own_folder_is_an_empty_one(cache: Path, tmp_path: Path) -> None:
    assert fingerprint(load_catalogue([tmp_path / "nowhere"])) == fingerprint(load_catalogue())


BROKEN = {
    "not TOML": ("parts", "own.toml", OWN_PART.replace("schema = 1", "schema ="), "This is not valid TOML"),
    "unknown key": ("parts", "own.toml", OWN_PART.replace("kind =", "knd ="), "Nobody knows this key."),
    "no sense": ("parts", "own.toml", OWN_PART.replace('"digital"', '"i2c"'), "is not a role on i2c."),
    "wrong name": ("boards", "other.toml", OWN_BOARD, "Call it own-board.toml."),
}


@pytest.mark.parametrize("case", BROKEN)
def test_broken_own_file_is_left_out_and_listed(case: str, cache: Path, own: Path) -> None:
    kind, name, text, words = BROKEN[case]
    (own / "parts" / "own.toml").unlink()
    (own / kind / name).write_text(text, encoding="utf-8")
    catalogue = load_catalogue([own])
    assert fingerprint(catalogue) == fingerprint(load_catalogue())
    assert any(words in str(fault) for fault in catalogue.faults)


def test_good_own_file_beside_a_broken_one_still_counts(cache: Path, own: Path) -> None:
    (own / "parts" / "worse.toml").write_text("schema =", encoding="utf-8")
    catalogue = load_catalogue([own])
    assert "own-button" in catalogue.parts
    assert len(catalogue.faults) == 1


def test_catalogue_with_faults_is_never_kept(cache: Path, own: Path) -> None:
    (own / "parts" / "own.toml").write_text("schema =", encoding="utf-8")
    for _ in range(2):
        assert len(load_catalogue([own]).faults) == 1
    assert copies(cache) == set()


@pytest.mark.parametrize(
    ("kind", "name", "text", "words"),
    [
        ("boards", "own-board.toml", OWN_BOARD.replace('"ESP32"', '"ESP33"'), "No chip is called 'ESP33'."),
        ("boards", "own-board.toml", OWN_BOARD.replace("GPIO4", "GPIO99"), "ESP32 has no pad 'GPIO99'."),
        ("parts", "own.toml", OWN_PART.replace("[[part.line]]", 'see = "nothing"\n\n[[part.line]]'), "No part is called 'nothing'."),
    ],
    ids=["unknown chip", "unknown pad", "unknown part"],
)
def test_own_file_that_points_nowhere_is_left_out_and_listed(kind: str, name: str, text: str, words: str, cache: Path, own: Path) -> None:
    (own / "parts" / "own.toml").unlink()
    (own / kind / name).write_text(text, encoding="utf-8")
    catalogue = load_catalogue([own])
    assert fingerprint(catalogue) == fingerprint(load_catalogue())
    assert any(words in str(fault) for fault in catalogue.faults)


def test_faults_between_files_have_their_line(cache: Path, own: Path) -> None:
    text = OWN_BOARD.replace("GPIO4", "GPIO99")
    (own / "boards" / "own-board.toml").write_text(text, encoding="utf-8")
    (fault,) = load_catalogue([own]).faults
    assert (fault.file, fault.key) == ("boards/own-board.toml", "header[0].pad")
    assert text.splitlines()[(fault.line or 0) - 1].startswith("header = ")


@pytest.mark.parametrize("figure", ["nan", "inf", "0.0", "-3.3", "48.0"])
def test_own_board_at_an_impossible_voltage_is_left_out_and_listed(figure: str, cache: Path, own: Path) -> None:
    (own / "boards" / "own-board.toml").write_text(OWN_BOARD.replace("logic_v = 3.3", f"logic_v = {figure}"), encoding="utf-8")
    catalogue = load_catalogue([own])
    assert "own-board" not in catalogue.boards
    assert [(fault.key, fault.line) for fault in catalogue.faults] == [("logic_v", 6)]


def test_own_chip_that_a_shipped_board_cannot_run_is_left_out(cache: Path, own: Path) -> None:
    shipped = next(file for file in few_fact_files() if file.path.name == "esp32.toml").text
    text = re.sub(r"(vdd_(?:min|typ|max)_v = \{ value = )[\d.]+", r"\g<1>5.0", shipped)
    text = re.sub(r"(pull|vi[lh]|vo[lh])(\w+ = \{ )frac = [\d.]+, v = [\d.]+", r"\1\2frac = 0.5", text)
    assert text != shipped
    (own / "chips" / "esp32.toml").write_text(text, encoding="utf-8")
    catalogue = load_catalogue([own])
    assert catalogue.chips["ESP32"].electrical.vdd_typ_v.value != 5.0
    assert "esp32-wroom32-30pin" in catalogue.boards
    assert any("ESP32 runs at 5 V to 5 V, not at 3.3 V." in fault.wrong for fault in catalogue.faults)


def test_all_shipped_files_are_read_and_checked_quickly() -> None:
    # Ours: a plan with a broken file of one's own reads everything each time.  About 0.5 s; the bound is generous.
    files = list(fact_files())
    read_files(files)  # the first time builds the readers of the model
    before = time.process_time()
    read_files(files)
    assert time.process_time() - before < 3.0


def test_own_file_that_is_not_text_is_left_out_and_listed(cache: Path, own: Path) -> None:
    (own / "parts" / "own.toml").write_bytes(b"schema = 1 # \xff\xfe")
    catalogue = load_catalogue([own])
    assert fingerprint(catalogue) == fingerprint(load_catalogue())
    assert len(catalogue.faults) == 1


def test_folder_called_like_a_file_is_left_out_and_listed(cache: Path, own: Path) -> None:
    (own / "parts" / "folder.toml").mkdir()
    assert "own-button" in load_catalogue([own]).parts


# ------------------------------------------------------------------------------ names


def test_names_are_found_whatever_their_case() -> None:
    catalogue = load_catalogue()
    assert catalogue.chip("esp32") is catalogue.chips["ESP32"]
    assert catalogue.board("ESP32-DevKitC-V4") is catalogue.boards["esp32-devkitc-v4"]


def test_unknown_name_gets_the_nearest_ones() -> None:
    catalogue = load_catalogue()
    with pytest.raises(UnknownName, match=r"There is no chip called 'ESP23'\. Did you mean ESP32"):
        catalogue.chip("ESP23")
    with pytest.raises(UnknownName, match=r"There is no board called 'xyzzy'\.$"):
        catalogue.board("xyzzy")
