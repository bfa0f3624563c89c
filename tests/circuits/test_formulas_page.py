"""The page of formulas says all the docstrings say; the docstrings of the supply formulas are complete."""

from __future__ import annotations

import importlib.util
import re
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]
CIRCUITS = ROOT / "src" / "pinwright" / "circuits"
SUPPLY = ("ampacity", "batteries", "cells", "fuses", "heat", "holdup", "regulators", "touch_voltage", "usb_power", "wires")
UNITS = {
    "v": "V", "a": "A", "ohm": "ohm", "f": "F", "s": "s", "w": "W", "m": "m", "m2": "m2", "c": "degC", "k": "K", "ah": "Ah", "h": "H",
    "k_per_w": "K/W", "ohm_per_m": "ohm/m",
}  # fmt: skip


def load() -> ModuleType:
    spec = importlib.util.spec_from_file_location("formulas_page_under_test", ROOT / "docs" / "formulas_page.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # dataclasses look their module up
    spec.loader.exec_module(module)
    return module


PAGE = load()
FORMULAS = [(module, formula) for module in PAGE.modules() if module.name in SUPPLY for formula in module.formulas]


def unit_of(name: str) -> str | None:
    return next((unit for ending, unit in sorted(UNITS.items(), key=lambda pair: -len(pair[0])) if name.endswith(f"_{ending}")), None)


def test_the_page_is_the_same_every_time_and_reaches_every_function():
    text = PAGE.formulas_page()
    assert text == PAGE.formulas_page()
    anchors = {line.removeprefix("### ").replace(".", "") for line in text.splitlines() if line.startswith("### ")}
    links = set(re.findall(r"\]\(#([^)]+)\)", text))
    assert anchors <= links
    for module, formula in FORMULAS:
        assert f"### {module.name}.{formula.name}\n" in text


def test_nothing_of_a_module_text_becomes_a_heading(tmp_path: Path):
    (tmp_path / "one.py").write_text(
        '"""Title.\n\nSources\n-------\nA: a | b.\n"""\n__all__ = ["f"]\n\n\n'
        'def f(a_v: float) -> float:\n    """What * it is.   [A]\n\n    Parameters\n    ----------\n'
        "    a_v : one thing\n        and more of it [V]\n\n    Returns\n    -------\n    b_v : another | one [V]\n\n"
        '    >>> f(1.0)\n    1.0\n    """\n    return a_v\n\n\ndef _hidden() -> None:\n    """Not shown."""\n',
        encoding="utf-8",
    )
    (module,) = PAGE.modules(tmp_path)
    (formula,) = module.formulas
    assert formula.parameters == (PAGE.Entry("a_v", "one thing and more of it", "V"),)
    assert formula.sources == ("A",)
    assert PAGE._section(module, formula)[4] == r"What \* it is."
    assert r"| gives | `b_v` | another \| one | V |" in PAGE._section(module, formula)
    assert PAGE._prose(module.about) == "Sources:  \nA: a | b."


@pytest.mark.parametrize(("module", "formula"), FORMULAS, ids=lambda item: item.name)
def test_docstrings_are_complete(module: object, formula: object):
    assert tuple(entry.name for entry in formula.parameters) == formula.arguments  # type: ignore[attr-defined]
    for entry in (*formula.parameters, *formula.returns):  # type: ignore[attr-defined]
        for name in entry.name.split(", "):
            assert entry.unit, f"{name} has no unit"
            assert entry.unit == (unit_of(name) or entry.unit), f"{name} in {entry.unit}"


@pytest.mark.parametrize("name", SUPPLY)
def test_every_source_tag_is_explained(name: str):
    module = next(module for module in PAGE.modules() if module.name == name)
    about = " ".join(module.about.split())
    for formula in module.formulas:
        for tag in formula.sources:
            for one in re.split(r", (?=[A-Z])", tag):
                word = one.split(",")[0].split(" (")[0]
                assert word in about, f"{formula.name} cites {one}, which {name} does not explain"
