"""Hold the formulas against published values.

python tests/published/run.py [FILE.toml ...]      without a file: all of tests/published/cases

Each ``[[check]]`` names a calculation (``calc``), its ``inputs``, what to ``expect`` and a tolerance (``rel_tol`` or ``abs_tol``).
The calculations are bound to formulas of the project in ``bind_*.py`` beside this file.
Exit code 0: everything agrees; 1: something differs, is bound to nothing, or cannot be read.
"""

from __future__ import annotations

import importlib.util
import math
import sys
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
for _folder in (HERE, HERE.parents[1] / "src"):
    if str(_folder) not in sys.path:
        sys.path.insert(0, str(_folder))

__all__ = ["Binding", "Case", "Unusable", "bindings", "faults", "main", "read_cases"]

Binding = Callable[[dict[str, Any]], dict[str, Any]]

_SLACK = 1e-12
"""Share by which "exactly" may miss: changing a prefix costs the last bit of a float, which is no disagreement."""


class Unusable(Exception):
    """A file of cases or of bindings that cannot be used; the text says why."""


@dataclass(frozen=True, slots=True)
class Case:
    """One published value."""

    id: str
    calc: str
    inputs: dict[str, Any]
    expect: dict[str, Any]
    rel_tol: float
    abs_tol: float
    source: str


def read_cases(path: Path) -> list[Case]:
    """All cases of a file.

    Raises
    ------
    Unusable : the file is not there, is no TOML, or a case lacks something.
    """
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise Unusable(f"{path}: cannot be read ({error.strerror or error}).") from None
    except UnicodeDecodeError:
        raise Unusable(f"{path}: is not a text in UTF-8.") from None
    except tomllib.TOMLDecodeError as error:
        raise Unusable(f"{path}: is not valid TOML. {error}.") from None
    checks = table.get("check")
    if not isinstance(checks, list) or not checks:
        raise Unusable(f"{path}: holds no [[check]].")
    return [_case(path, number, check) for number, check in enumerate(checks, 1)]


def _case(path: Path, number: int, check: Any) -> Case:
    if not isinstance(check, dict):
        raise Unusable(f"{path}: check {number} is not a table.")
    name = str(check.get("id", f"number {number}"))
    for key, kind in (("id", str), ("calc", str), ("inputs", dict), ("expect", dict)):
        if not isinstance(check.get(key), kind):
            raise Unusable(f"{path}: check {name} needs {key} ({'a text' if kind is str else 'a table'}).")
    if not check["expect"]:
        raise Unusable(f"{path}: check {name} expects nothing.")
    tolerances = {key: check.get(key, 0.0) for key in ("rel_tol", "abs_tol")}
    for key, value in tolerances.items():
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value < math.inf:
            raise Unusable(f"{path}: check {name}: {key} must be a number not below 0, not {value!r}.")
    source = ", ".join(str(check[key]) for key in ("source", "where") if check.get(key))
    return Case(name, check["calc"], check["inputs"], check["expect"], tolerances["rel_tol"], tolerances["abs_tol"], source)


def bindings(folder: Path = HERE) -> dict[str, Binding]:
    """What each calculation is bound to, from all ``bind_*.py`` of a folder.

    Raises
    ------
    Unusable : a file does not load, or two bind the same name.
    """
    merged: dict[str, Binding] = {}
    owner: dict[str, str] = {}
    for path in sorted(folder.glob("bind_*.py")):
        for name, binding in _load(path).items():
            if name in merged:
                raise Unusable(f"{name} is bound twice, in {owner[name]} and in {path.name}.")
            merged[name], owner[name] = binding, path.name
    return merged


def _load(path: Path) -> dict[str, Binding]:
    spec = importlib.util.spec_from_file_location(f"published_{path.stem}", path)
    if spec is None or spec.loader is None:
        raise Unusable(f"{path.name} cannot be loaded.")
    module = importlib.util.module_from_spec(spec)
    try:
        spec.loader.exec_module(module)
    except Exception as error:  # whatever a half-written file does, say which file it was
        raise Unusable(f"{path.name} does not load: {_worded(error)}") from None
    found = getattr(module, "BINDINGS", None)
    if not isinstance(found, dict):
        raise Unusable(f"{path.name} has no BINDINGS.")
    return found


def faults(case: Case, binding: Binding) -> list[str]:
    """Everything in which a formula's answer differs from the published one; empty if it agrees."""
    try:
        given: Any = binding(case.inputs)
    except KeyError as error:
        return [f"cannot be computed: no input {error.args[0] if error.args else ''}".rstrip()]
    except Exception as error:  # a fault of one case must not hide the others
        return [f"cannot be computed: {_worded(error)}"]
    if not isinstance(given, dict):
        return [f"the binding gave no table but {given!r}"]
    return [fault for key, wanted in case.expect.items() for fault in _differ(key, wanted, given.get(key), case)]


def _differ(key: str, wanted: Any, given: Any, case: Case) -> Iterator[str]:
    given = given.tolist() if hasattr(given, "tolist") else list(given) if isinstance(given, tuple) else given
    if isinstance(wanted, dict) and isinstance(given, dict):
        for name, value in wanted.items():
            yield from _differ(f"{key}.{name}", value, given.get(name), case)
    elif isinstance(wanted, list) and isinstance(given, list) and len(wanted) == len(given):
        for number, (one, other) in enumerate(zip(wanted, given, strict=True)):
            yield from _differ(f"{key}[{number}]", one, other, case)
    elif _is_number(wanted) and _is_number(given):
        if not math.isclose(wanted, given, rel_tol=max(case.rel_tol, _SLACK), abs_tol=case.abs_tol):
            within = f"{case.rel_tol:g} of it" if case.rel_tol else f"{case.abs_tol:g}"
            yield f"{key}: expected {wanted!r} within {within}, came {given!r}"
    elif type(wanted) is not type(given) or wanted != given:
        yield f"{key}: expected {wanted!r}, came {'nothing' if given is None else repr(given)}"


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _worded(error: Exception) -> str:
    """The error in one line; its kind too, where the text alone says little."""
    text = " ".join(str(error).split())
    return text if isinstance(error, ValueError) and text else f"{type(error).__name__}: {text}"


def main(arguments: list[str]) -> int:
    """Evaluate files, print what differs, return the exit code."""
    if any(argument in ("-h", "--help") for argument in arguments):
        sys.stdout.write(f"{(__doc__ or '').strip()}\n")
        return 0
    paths = [Path(argument) for argument in arguments] or sorted((HERE / "cases").glob("*.toml"))
    passed = failed = 0
    unbound: dict[str, list[str]] = {}
    try:
        bound = bindings()
    except Unusable as error:
        sys.stdout.write(f"{error}\n0 passed, 1 failed\n")
        return 1
    for path in paths:
        try:
            cases = read_cases(path)
        except Unusable as error:
            sys.stdout.write(f"{error}\n")
            failed += 1
            continue
        for case in cases:
            if case.calc not in bound:
                unbound.setdefault(case.calc, []).append(case.id)
                failed += 1
                continue
            wrong = faults(case, bound[case.calc])
            failed += bool(wrong)
            passed += not wrong
            sys.stdout.writelines(f"{case.id}: {fault}  [{case.source or 'no source'}]\n" for fault in wrong)
    sys.stdout.writelines(f"unbound: {name} ({', '.join(ids)})\n" for name, ids in sorted(unbound.items()))
    sys.stdout.write(f"{passed} passed, {failed} failed\n")
    return 0 if not failed else 1


if __name__ == "__main__":
    for _stream in (sys.stdout, sys.stderr):
        _stream.reconfigure(encoding="utf-8", errors="backslashreplace")  # type: ignore[union-attr]
    sys.exit(main(sys.argv[1:]))
