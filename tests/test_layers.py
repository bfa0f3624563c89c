"""Imports only point back along the flow, importing the package is light, and no chip is named in the code."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

SOURCE = Path(__file__).parent.parent / "src"
PACKAGE = SOURCE / "pinwright"
MODULES = sorted(PACKAGE.rglob("*.py"))

BASE = {"errors", "fault_place", "files", "quantities", "reporter", "toml_lines"}
"""Single modules everybody may use; they use only each other."""

FLOW: dict[str, set[str]] = {
    "facts": set(),
    "brief": {"facts"},
    "circuits": set(),
    "powerup": {"facts", "circuits"},
    "fitting": {"facts", "brief", "circuits", "powerup"},
    "review": {"facts", "brief", "circuits", "powerup", "fitting"},
    "supply": {"facts", "brief", "circuits", "fitting", "review"},
    "planning": {"facts", "brief", "fitting", "review", "supply"},
    "contract": {"facts", "circuits", "fitting", "review", "supply", "planning"},
    "pack": {"facts", "brief", "circuits", "powerup", "fitting", "review", "supply", "planning", "contract"},
    "cli": {"facts", "brief", "circuits", "fitting", "review", "supply", "planning", "contract", "pack"},
}
"""What each package may import beside itself and the base modules."""

HEAVY = ("numpy", "highspy", "pydantic", "click", "rich", "msgspec")
CHIP_NAME = re.compile(r"esp(?:32|8266|[-_]|\d)|rp2\d|atmega|attiny|stm32|nrf5|samd\d", re.IGNORECASE)


def name_of(path: Path) -> str:
    parts = path.relative_to(SOURCE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imports(path: Path) -> Iterator[str]:
    """Every module of ours a file imports, wherever in the file, types included; ``a.b`` for ``from a import b``."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            found = [f"{node.module}.{alias.name}" for alias in node.names]
        else:
            continue
        yield from (name for name in found if name.split(".")[0] == "pinwright")


def package_of(module: str) -> str:
    """``fitting`` of ``pinwright.fitting.plan.BoardPlan``; empty for the package itself."""
    return [*module.split("."), ""][1]


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_imports_point_back_along_the_flow(path: Path):
    own = package_of(name_of(path))
    for module in imports(path):
        to = package_of(module)
        if own == "":  # the package itself offers planning and the catalogue
            assert to in {"facts", "planning"}
        elif own in BASE:
            assert to in BASE, f"{own} imports {module}"
        elif to == "__version__":
            assert own in {"cli", "pack"}
        else:
            assert to in BASE or to == own or to in FLOW[own], f"{own} imports {module}"


def test_every_package_has_its_place_in_the_flow():
    assert {package_of(name_of(path)) for path in MODULES} - {""} == BASE | set(FLOW)


def test_circuits_are_pure():
    for path in (PACKAGE / "circuits").glob("*.py"):
        assert {package_of(module) for module in imports(path)} <= {"errors", "circuits"}


def test_the_review_does_not_know_how_a_plan_was_found():
    for path in (PACKAGE / "review").glob("*.py"):
        seen = {".".join(module.split(".")[1:3]) for module in imports(path)}
        if path.name != "wirings.py":  # which turns plans and briefs into wirings
            assert not seen & {
                f"fitting.{name}" for name in ("solver", "problem", "candidates", "choices", "judge", "plan", "rank", "conflict")
            }
        assert not seen & {"fitting.solver", "fitting.candidates", "fitting.judge"}


def test_only_two_modules_load_the_solver():
    for path in MODULES:
        text = path.read_text(encoding="utf-8")
        if re.search(r"^\s*(?:import|from) highspy", text, re.MULTILINE):
            assert name_of(path) in {"pinwright.fitting.solver", "pinwright.fitting.crowd"}


def test_importing_the_package_is_light():
    code = f"import pinwright, sys; print([name for name in {HEAVY} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], env={"PYTHONPATH": str(SOURCE)}, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_no_chip_or_board_is_named_in_the_code(path: Path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    prose = {id(text) for text in docstrings(tree)}
    named = [
        f"{path.name}:{node.lineno}: {node.value!r}"
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in prose and CHIP_NAME.search(node.value)
    ]
    assert not named


def docstrings(tree: ast.Module) -> Iterator[ast.Constant]:
    """Texts that stand alone: docstrings, also those below a constant."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            yield node.value
