"""Drivers and firmware: every part is accounted for, and what a runtime is said to bring is really in its stubs."""

from __future__ import annotations

import re
from functools import cache
from importlib import resources
from importlib.metadata import distribution, version
from pathlib import Path

import pytest

from pinwright.facts.loader import load_catalogue
from pinwright.facts.model import Chip, Driver, Firmware, Part

CATALOGUE = load_catalogue()
PARTS = sorted(CATALOGUE.parts.values(), key=lambda part: part.id)
CHIPS = sorted(CATALOGUE.chips.values(), key=lambda chip: chip.part)
DRIVEN = [part for part in PARTS if part.driver]
DRIVERS = [(part, driver) for part in PARTS for driver in part.driver]
BOARD_IN_WHERE = re.compile(r"^board (\w+)$")


CPP_CHIPS = frozenset(chip.part for chip in CHIPS if any(firmware.language == "cpp" for firmware in chip.firmware))


def chips_of(driver: Driver) -> frozenset[str]:
    """Chips a driver is offered for."""
    every = {chip.part for chip in CHIPS if runs(chip, driver.language)}
    return frozenset((set(driver.only) or every) - set(driver.not_on))


def ids(pair: tuple[Part, Driver]) -> str:
    return f"{pair[0].id}-{pair[1].language}-{pair[1].package}"


def runs(chip: Chip, language: str) -> bool:
    return any(firmware.language == language for firmware in chip.firmware)


def firmware_of(chip: Chip, language: str) -> list[Firmware]:
    return [firmware for firmware in chip.firmware if firmware.language == language]


# ------------------------------------------------------------------------------ every part


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.id)
def test_part_is_accounted_for(part: Part) -> None:
    # Behaviour: silence about software is no fact; the choice of board would take it for a gap.
    admitted = any(line.startswith("no driver confirmed for ") for line in part.unknown)
    assert part.needs_no_driver or part.driver or admitted, f"{part.id} says nothing about software"
    assert not (admitted and (part.driver or part.needs_no_driver)), f"{part.id} has a driver and denies it"


@pytest.mark.parametrize("part", DRIVEN, ids=lambda part: part.id)
def test_drivers_of_a_part_differ(part: Part) -> None:
    # Property: a package of the same name may be another thing on another chip, but not on the same one.
    for i, one in enumerate(part.driver):
        for other in part.driver[i + 1 :]:
            same = (one.language, one.package) == (other.language, other.package)
            apart = not chips_of(one) & chips_of(other)
            assert not same or apart or one.note != other.note, f"{part.id}: {one.package} twice"


def test_parts_on_a_bus_never_go_without() -> None:
    # Common practice, no source: registers behind I2C or SPI take a protocol of their own.  Steppers with step and
    # direction inputs carry their bus as an option only.
    for part in PARTS:
        needed = {line.signal for line in part.line if not line.optional}
        assert not (part.needs_no_driver and needed & {"i2c", "spi", "onewire", "i2s"}), part.id


# ------------------------------------------------------------------------------ every driver


@pytest.mark.parametrize("pair", DRIVERS, ids=ids)
def test_driver_names_its_evidence(pair: tuple[Part, Driver]) -> None:
    # Behaviour: src is an id of the part's file and where says what was read there.
    part, driver = pair
    source = {source.id: source for source in part.source}[driver.src]
    assert driver.where
    assert driver.seen != "read" or source.seen == "read"


@pytest.mark.parametrize("pair", [pair for pair in DRIVERS if pair[1].only or pair[1].not_on], ids=ids)
def test_driver_is_kept_to_chips_that_run_it(pair: tuple[Part, Driver]) -> None:
    # Property: a driver for a chip that does not run its language is none, and to leave such a chip out says nothing.
    _, driver = pair
    for name in driver.only + driver.not_on:
        assert name in CATALOGUE.chips, f"no chip is called {name}"
        assert runs(CATALOGUE.chips[name], driver.language), f"{name} does not run {driver.language}"
    assert len(set(driver.only)) == len(driver.only)
    assert len(set(driver.not_on)) == len(driver.not_on)
    assert not (driver.only and driver.not_on), "only already leaves out the rest"
    assert chips_of(driver)


@pytest.mark.parametrize("pair", [pair for pair in DRIVERS if pair[1].src == "pypi"], ids=ids)
def test_package_on_the_index_has_a_normal_name(pair: tuple[Part, Driver]) -> None:
    # Published: PEP 503, normalised names are lower case with single hyphens.
    _, driver = pair
    assert driver.package == re.sub(r"[-_.]+", "-", driver.package).lower()
    assert re.fullmatch(r"[a-z0-9]([a-z0-9-]*[a-z0-9])?", driver.package)
    assert not driver.builtin, "what has to be installed is not built in"


@pytest.mark.parametrize("pair", [pair for pair in DRIVERS if pair[1].src == "pypi"], ids=ids)
def test_package_on_the_index_is_maintained(pair: tuple[Part, Driver]) -> None:
    # Our rule for 'maintained': released within about four years.  where reads "<package> <version>, <month> <year>".
    _, driver = pair
    found = re.match(rf"{re.escape(driver.package)} \S+, (Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec) (20\d\d)\b", driver.where)
    assert found, driver.where
    assert int(found[2]) >= 2022


@pytest.mark.parametrize("pair", [pair for pair in DRIVERS if pair[1].language == "cpp" and pair[1].src == "cpp-libs"], ids=ids)
def test_library_keeps_to_the_architectures_it_names(pair: tuple[Part, Driver]) -> None:
    # Published: the architectures field of the library's own file, quoted in where.  Which chips a core builds for is
    # from memory: avr, esp32, esp8266, rp2040 (both chips of that maker), nrf52, samd.
    _, driver = pair
    if "every architecture" in driver.where:
        return
    named = {word.strip().lower() for word in driver.where.split("architectures ")[1].split(",")}
    prefixes = {"avr": "AT", "esp32": "ESP32", "esp8266": "ESP8266", "rp2040": "RP", "nrf52": "nRF52", "samd": "SAMD"}
    assert driver.only, "names architectures, so not every chip"
    for chip in driver.only:
        assert any(chip.startswith(prefixes[arch]) for arch in named & set(prefixes)), f"{chip} is of none of {sorted(named)}"


@pytest.mark.parametrize("pair", [pair for pair in DRIVERS if "every architecture" in pair[1].where and pair[1].only], ids=ids)
def test_library_of_every_architecture_says_why_it_leaves_chips_out(pair: tuple[Part, Driver]) -> None:
    # Behaviour: a list of chips goes stale when one joins the catalogue, not_on does not; whoever writes a list gives a reason.
    _, driver = pair
    assert driver.note, f"{driver.package} names every architecture: write not_on, or say in note why these chips only"
    assert set(driver.only) < CPP_CHIPS


def test_left_out_chip_is_the_one_without_buses() -> None:
    # Property: not_on stands for the chip whose core has no Wire or SPI of its own; a larger chip joins these drivers by itself.
    left_out = [driver for _, driver in DRIVERS if driver.not_on]
    assert len(left_out) > 50
    for driver in left_out:
        assert driver.not_on == ("ATtiny85",), driver.package
        assert chips_of(driver) == CPP_CHIPS - {"ATtiny85"}


def test_small_core_has_no_bus_of_its_own() -> None:
    # Property: no library built on Wire is offered to the chip whose core has no working one.
    for part in PARTS:
        for driver in part.driver:
            if part.i2c and driver.language == "cpp":
                assert "ATtiny85" not in chips_of(driver), part.id


# ------------------------------------------------------------------------------ what the CircuitPython runtime brings


@cache
def modules_of(board: str) -> frozenset[str]:
    """Modules a board includes, as the head of its stub says."""
    text = (resources.files("board_definitions") / board / "__init__.pyi").read_text(encoding="utf-8")
    found = re.search(r"Included modules: (.*)", text)
    assert found, board
    return frozenset(found[1].split(", "))


def witness_boards() -> dict[str, str]:
    """Board whose stub stands for each chip that runs CircuitPython, where the chip's firmware entry names one."""
    boards = {}
    for chip in CHIPS:
        for firmware in firmware_of(chip, "circuitpython"):
            if found := BOARD_IN_WHERE.match(firmware.where):
                boards[chip.part] = found[1]
    return boards


def test_stubs_are_those_that_were_read() -> None:
    # A newer set of stubs may bring another answer: read it again and name its version in the sources.
    named = {source.revision.split(",")[0] for part in PARTS for source in part.source if source.id == "cp-stubs"}
    assert named == {version("circuitpython-stubs")}


def test_witness_boards_carry_their_chip() -> None:
    # Oracle: the stubs.  A board of the espressif or raspberrypi port is named after its chip or its maker's board.
    boards = witness_boards()
    assert len(boards) >= 8
    ports = {"ESP32": "espressif", "RP": "raspberrypi", "nRF": "nordic"}
    for chip, board in boards.items():
        text = (resources.files("board_definitions") / board / "__init__.pyi").read_text(encoding="utf-8")
        port = next(port for prefix, port in ports.items() if chip.startswith(prefix))
        assert f"- port: {port}" in text, f"{board} is no {port} board"


@pytest.mark.parametrize("pair", [pair for pair in DRIVERS if pair[1].language == "circuitpython" and pair[1].builtin], ids=ids)
def test_builtin_module_is_where_it_is_said_to_be(pair: tuple[Part, Driver]) -> None:
    # Oracle: the installed stubs, board by board.
    _, driver = pair
    installed = {Path(str(file)).parts[0].removesuffix("-stubs") for file in distribution("circuitpython-stubs").files or ()}
    assert driver.package in installed
    found = re.match(r"module ([\w.]+);", driver.where)
    assert found, driver.where
    module = found[1]
    assert module.split(".")[0] == driver.package
    for chip, board in witness_boards().items():
        claimed = chip in chips_of(driver)
        assert claimed == (module in modules_of(board)), f"{module} on {chip}: the stub of {board} says otherwise"


def test_known_gaps_of_the_runtime() -> None:
    # Published: ports/espressif/mpconfigport.mk of the runtime: no pulse counter on the ESP32-C3, no room for I2S on the ESP32-C6.
    parts = CATALOGUE.parts
    encoder = next(d for d in parts["rotary-encoder-incremental"].driver if d.package == "rotaryio")
    amplifier = next(d for d in parts["audio-i2s-max98357a"].driver if d.package == "audiobusio")
    assert "ESP32-C3" not in encoder.only
    assert "ESP32-C6" in encoder.only
    assert "ESP32-C6" not in amplifier.only
    assert "ESP32-C3" in amplifier.only


# ------------------------------------------------------------------------------ firmware


@pytest.mark.parametrize("chip", CHIPS, ids=lambda chip: chip.part)
def test_chip_runs_a_language(chip: Chip) -> None:
    # Behaviour: a chip nobody can program is no choice.
    assert chip.firmware
    assert runs(chip, "cpp"), "every chip of the catalogue has a core with the common pin interface"
    known = {source.id: source for source in chip.source}
    for firmware in chip.firmware:
        assert known[firmware.src].seen == "read" or firmware.seen == "memory"
        assert firmware.where


@pytest.mark.parametrize("name", ["ATmega328P", "ATmega2560", "ATmega32U4", "ATtiny85"])
def test_small_chips_run_no_python(name: str) -> None:
    # Common practice, no source: 2 to 8 KiB of RAM hold no interpreter; neither runtime has a port for them.
    assert {firmware.language for firmware in CATALOGUE.chips[name].firmware} == {"cpp"}


def test_circuitpython_left_the_esp8266() -> None:
    # Published: no board of the stubs carries that chip; the runtime dropped it years ago (memory).
    names = {
        Path(str(file)).parts[1] for file in distribution("circuitpython-stubs").files or () if str(file).startswith("board_definitions/")
    }
    assert len(names) > 500
    assert not [name for name in names if "8266" in name]
    assert not runs(CATALOGUE.chips["ESP8266EX"], "circuitpython")
    assert runs(CATALOGUE.chips["ESP8266EX"], "micropython")


# ------------------------------------------------------------------------------ spot checks


@pytest.mark.parametrize(
    ("part", "language", "package"),
    [
        # Published: files frozen into the runtime, listed in micropython-esp32-stubs 1.29.0.post1.
        ("climate-dht22", "micropython", "dht"),
        ("temp-ds18b20", "micropython", "ds18x20"),
        ("led-ws2812b", "micropython", "neopixel"),
        # Published: the package index, summaries of these packages.
        ("scd41", "circuitpython", "adafruit-circuitpython-scd4x"),
        ("radio-nrf24l01plus", "circuitpython", "circuitpython-nrf24l01"),
        # Published: name field of the libraries' own library.properties.
        ("bme280", "cpp", "Adafruit BME280 Library"),
        ("temp-ds18b20", "cpp", "DallasTemperature"),
    ],
)
def test_driver_is_listed(part: str, language: str, package: str) -> None:
    assert (language, package) in {(driver.language, driver.package) for driver in CATALOGUE.parts[part].driver}


def test_screen_buffer_does_not_go_on_the_smallest_chip() -> None:
    # Property: 128 x 64 points at one bit are 1024 bytes, more than the RAM of any chip the driver is not offered for.
    driver = next(d for d in CATALOGUE.parts["ssd1306-oled-i2c"].driver if d.package == "Adafruit SSD1306")
    needed = 128 * 64 // 8
    for chip in CHIPS:
        if runs(chip, "cpp") and chip.ram_bytes <= needed:
            assert chip.part not in chips_of(driver), f"{chip.part} has {chip.ram_bytes} bytes"


@pytest.mark.parametrize(
    "part", ["push-button-momentary", "led-red", "relay-module-active-high", "ntc-10k-b3950", "mosfet-ao3400a", "cell-18650"]
)
def test_plain_parts_need_no_driver(part: str) -> None:
    # Common practice, no source: one digital or analog line, or none.
    assert CATALOGUE.parts[part].needs_no_driver
