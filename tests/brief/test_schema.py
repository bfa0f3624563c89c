"""The JSON Schema for editors: valid itself, and of one mind with the reader."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable, Iterator
from typing import Any

import jsonschema
import pytest

from pinwright.brief.schema import brief_schema
from pinwright.brief.starter import STARTER
from pinwright.errors import Fault

Read = Callable[[str], list[Fault]]

PART = "title = 'x'\n[[part]]\nname = 'a'\nkind = 'bme280'\n"
OWN = "title = 'x'\n[[part]]\nname = 'a'\n"
LINE = "[[part.line]]\nname = 'L'\ndirection = 'out'\nsignal = 'pwm'\n"
I2C = "[[part.line]]\nname = 'L'\ndirection = 'out'\nsignal = 'i2c'\nrole = 'SDA'\n"


@pytest.fixture(scope="module")
def validator() -> Any:
    schema = brief_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def test_accepts_every_healthy_brief_oracle(validator: Any, healthy: dict[str, str]) -> None:
    for text in (*healthy.values(), STARTER):
        assert [error.message for error in validator.iter_errors(tomllib.loads(text))] == []


@pytest.mark.parametrize(
    "text",
    [
        "title = 'x'\nuse.radio = 'wifi'\n" + PART[12:],
        "title = 'x'\nuse.radio = 'none'\n" + PART[12:],
        "title = 'x'\nuse.radio = ['wifi', 'ble']\n" + PART[12:],
        "title = 'x'\nuse.radio = []\n" + PART[12:],
        "title = 'x'\nuse.ambient = ['5 degC', '40 degC']\n" + PART[12:],
        PART + "address = 0x76",
        PART + "address = '0x76'",
        PART + "address = '119'",
        OWN + "address = '0b1000000'\n" + I2C,
        OWN + LINE + "pwm = '1 kHz'",
        OWN + LINE + "pwm = ['1 kHz', '2 kHz']",
    ],
)
def test_both_forms_are_right_for_schema_and_reader(text: str, validator: Any, faults: Read) -> None:
    assert faults(text) == []
    assert validator.is_valid(tomllib.loads(text))


@pytest.mark.parametrize(
    "text",
    [
        "colour = 1\n" + PART,
        PART + "colour = 1",
        "title = 'x'\n[use]\ncolour = 1\n" + PART[12:],
        OWN + LINE + "colour = 1",
        PART + "[part.change.SDA]\ncolour = 1",
        PART[12:],
        "title = 'x'",
        "title = 'x'\npart = []",
        "title = ''\n" + PART[12:],
        f"title = '{'x' * 201}'\n" + PART[12:],
        "title = 'x'\nuse.radio = 'wfi'\n" + PART[12:],
        "title = 'x'\nuse.radio = ['none']\n" + PART[12:],
        "title = 'x'\nuse.ambient = ['5 degC']\n" + PART[12:],
        "title = 'x'\nuse.ambient = '5 degC'\n" + PART[12:],
        "title = 'x'\nboard.only = 'esp01s'\n" + PART[12:],
        PART + "address = 0x02",
        PART + "address = 0x78",
        PART + "address = 'seventy'",
        PART + "count = 0",
        PART + "count = '2'",
        PART + "wire = 2",
        PART + "pins = { SDA = 4 }",
        PART + "wires = { SDA = 65 }",
        PART + "power_up = 'maybe'",
        OWN + LINE + "pwm = ['1 kHz']",
        OWN + LINE + "pwm = 1000",
        OWN + LINE + "pwm_bits = 21",
        OWN + "[[part.line]]\nname = 'L'\nsignal = 'pwm'",
        OWN + "[part.line]\nname = 'L'",
    ],
)
def test_what_is_wrong_is_wrong_for_schema_and_reader(text: str, validator: Any, faults: Read) -> None:
    assert faults(text) != []
    assert not validator.is_valid(tomllib.loads(text))


def properties(schema: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for table in (schema, *schema["$defs"].values()):
        for key, value in table.get("properties", {}).items():
            yield f"{table['title']}.{key}", value


def test_every_key_is_described() -> None:
    assert [name for name, value in properties(brief_schema()) if not value.get("description")] == []


def test_no_null_where_toml_has_none() -> None:
    text = json.dumps(brief_schema())
    assert "null" not in text


def test_keys_are_those_of_the_file() -> None:
    keys = {name.rpartition(".")[2] for name, _ in properties(brief_schema())}
    assert {"wire", "voltage", "max_length", "pull_resistor", "takes_high_from"} <= keys
    assert not {key for key in keys if key.endswith(("_v", "_a", "_m", "_ohm", "_hz"))}


def test_same_schema_every_time() -> None:
    assert json.dumps(brief_schema()) == json.dumps(brief_schema())
