"""Published values hold, and the runner says so only when they do."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import run
from units import UNITS, BadInputs, every, si

CASES = sorted((Path(run.HERE) / "cases").glob("*.toml"))
ALL = [(path.stem, case) for path in CASES for case in run.read_cases(path)]
BOUND = run.bindings()


@pytest.mark.parametrize(("group", "case"), ALL, ids=[f"{group}-{case.id}" for group, case in ALL])
def test_published(group: str, case: run.Case) -> None:
    # published or derived: the source stands in the case and is shown with every miss
    assert case.source, f"{case.id} in {group} names no source"
    assert case.calc in BOUND, f"{case.calc} is bound to nothing"
    assert run.faults(case, BOUND[case.calc]) == []


def test_every_bound_calculation_has_a_case() -> None:
    assert set(BOUND) == {case.calc for _, case in ALL}


def test_ids_are_unique() -> None:
    ids = [case.id for _, case in ALL]
    assert len(ids) == len(set(ids))


def ran(*arguments: object) -> tuple[int, str]:
    """The runner as a user starts it: from anywhere, without PYTHONPATH."""
    env = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    command = [sys.executable, str(Path(run.HERE) / "run.py"), *map(str, arguments)]
    done = subprocess.run(command, capture_output=True, encoding="utf-8", cwd=Path(run.HERE).anchor, env=env, check=False)
    assert done.stderr == ""
    return done.returncode, done.stdout


def written(folder: Path, *, expect: str, calc: str = "junction_temp", tolerance: str = "abs_tol = 0.01") -> Path:
    path = folder / "one.toml"
    path.write_text(
        f'[[check]]\nid = "one"\ncalc = "{calc}"\ninputs = {{ p_mw = 500, theta_k_w = 100, ta_c = 25 }}\n'
        f'expect = {{ {expect} }}\n{tolerance}\nsource = "a data sheet"\nwhere = "page 7"\n',
        encoding="utf-8",
    )
    return path


def test_a_case_that_holds(tmp_path: Path) -> None:
    assert ran(written(tmp_path, expect="rise_c = 50.0, tj_c = 75")) == (0, "1 passed, 0 failed\n")


def test_a_broken_case_fails_and_says_what_came(tmp_path: Path) -> None:
    code, text = ran(written(tmp_path, expect="rise_c = 50.0, tj_c = 76.0"))
    assert code == 1
    assert text == "one: tj_c: expected 76.0 within 0.01, came 75.0  [a data sheet, page 7]\n0 passed, 1 failed\n"


def test_the_tolerance_is_what_decides(tmp_path: Path) -> None:
    assert ran(written(tmp_path, expect="tj_c = 75.5", tolerance="rel_tol = 0.01"))[0] == 0
    assert ran(written(tmp_path, expect="tj_c = 75.5", tolerance="rel_tol = 0.001"))[0] == 1
    assert ran(written(tmp_path, expect="tj_c = 75.0000001", tolerance="abs_tol = 0.0"))[0] == 1
    assert ran(written(tmp_path, expect="tj_c = 75", tolerance=""))[0] == 0


def test_a_result_that_is_missing_or_of_another_kind_fails(tmp_path: Path) -> None:
    assert "tj_x: expected 1, came nothing" in ran(written(tmp_path, expect="tj_x = 1"))[1]
    assert "tj_c: expected 'hot', came 75.0" in ran(written(tmp_path, expect='tj_c = "hot"'))[1]
    assert "tj_c: expected true, came 75.0" in ran(written(tmp_path, expect="tj_c = true"))[1].replace("True", "true")
    assert "tj_c: expected [75], came 75.0" in ran(written(tmp_path, expect="tj_c = [75]"))[1]


def test_an_unbound_name_fails(tmp_path: Path) -> None:
    code, text = ran(written(tmp_path, expect="x = 1", calc="phase_of_the_moon"))
    assert (code, text) == (1, "unbound: phase_of_the_moon (one)\n0 passed, 1 failed\n")


def test_refused_input_is_told_in_words(tmp_path: Path) -> None:
    path = written(tmp_path, expect="tj_c = 75")
    path.write_text(path.read_text(encoding="utf-8").replace("theta_k_w = 100", "theta_k_w = -1"), encoding="utf-8")
    code, text = ran(path)
    assert code == 1
    assert text.startswith("one: cannot be computed: thermal resistance must be above 0, not -1.  [a data sheet")
    path.write_text(path.read_text(encoding="utf-8").replace("theta_k_w = -1", "theta = 1"), encoding="utf-8")
    assert "cannot be computed: no input theta_k_per_w, in any prefix" in ran(path)[1]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (b"[[check]\n", "is not valid TOML."),
        (b"\xff\xfe\x00", "is not a text in UTF-8."),
        (b"title = 'nothing'\n", "holds no [[check]]."),
        (b"check = [1]\n", "check 1 is not a table."),
        (b"[[check]]\nid = 'a'\ninputs = {}\nexpect = { x = 1 }\n", "check a needs calc (a text)."),
        (b"[[check]]\nid = 'a'\ncalc = 'elv'\ninputs = {}\nexpect = {}\n", "check a expects nothing."),
        (
            b"[[check]]\nid = 'a'\ncalc = 'elv'\ninputs = {}\nexpect = { x = 1 }\nrel_tol = -1\n",
            "rel_tol must be a number not below 0, not -1.",
        ),
    ],
)
def test_a_file_that_cannot_be_used_is_told_in_words(tmp_path: Path, text: bytes, words: str) -> None:
    path = tmp_path / "bad.toml"
    path.write_bytes(text)
    code, said = ran(path, written(tmp_path, expect="tj_c = 75"))
    assert code == 1
    assert words in said
    assert said.endswith("\n1 passed, 1 failed\n")  # the other file is still held
    assert "Traceback" not in said


def test_a_file_that_is_not_there() -> None:
    code, said = ran("nowhere.toml")
    assert (code, said) == (1, "nowhere.toml: cannot be read (No such file or directory).\n0 passed, 1 failed\n")


def test_all_cases_through_the_runner() -> None:
    code, said = ran(*CASES)
    assert (code, said) == (0, f"{len(ALL)} passed, 0 failed\n")


def bind(folder: Path, name: str, text: str) -> None:
    (folder / f"bind_{name}.py").write_text(text, encoding="utf-8")


def test_bindings_are_merged_and_a_name_bound_twice_is_refused(tmp_path: Path) -> None:
    bind(tmp_path, "one", "BINDINGS = {'a': lambda values: {'x': 1}}")
    bind(tmp_path, "two", "BINDINGS = {'b': lambda values: {'x': 2}}")
    assert set(run.bindings(tmp_path)) == {"a", "b"}
    bind(tmp_path, "three", "BINDINGS = {'a': lambda values: {'x': 3}}")
    with pytest.raises(run.Unusable, match=r"a is bound twice, in bind_one\.py and in bind_three\.py"):
        run.bindings(tmp_path)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("import no_such_module", "does not load: ModuleNotFoundError"),
        ("BINDINGS = {", "does not load: SyntaxError"),
        ("x = 1", "has no BINDINGS"),
    ],
)
def test_a_binding_file_that_does_not_load_is_named(tmp_path: Path, text: str, words: str) -> None:
    bind(tmp_path, "half", text)
    with pytest.raises(run.Unusable, match=rf"bind_half\.py {words}"):
        run.bindings(tmp_path)


def case_of(expect: dict[str, Any], **tolerance: float) -> run.Case:
    return run.Case("one", "calc", {}, expect, tolerance.get("rel_tol", 0.0), tolerance.get("abs_tol", 0.0), "")


def test_lists_are_compared_item_by_item() -> None:
    assert run.faults(case_of({"x": [1.0, 2.0]}, abs_tol=0.1), lambda _: {"x": (1.05, 1.95)}) == []
    assert run.faults(case_of({"x": [1.0, 2.0]}, abs_tol=0.1), lambda _: {"x": [1.0, 2.2]}) == ["x[1]: expected 2.0 within 0.1, came 2.2"]
    assert run.faults(case_of({"x": [1, 2]}), lambda _: {"x": [1]}) == ["x: expected [1, 2], came [1]"]
    assert run.faults(case_of({"x": ["a"]}, abs_tol=9), lambda _: {"x": ["b"]}) == ["x[0]: expected 'a', came 'b'"]


def test_truth_is_no_number() -> None:
    assert run.faults(case_of({"x": 1}), lambda _: {"x": True}) == ["x: expected 1, came True"]
    assert run.faults(case_of({"x": False}, abs_tol=9), lambda _: {"x": True}) == ["x: expected False, came True"]


def test_not_a_number_never_agrees() -> None:
    assert run.faults(case_of({"x": 1.0}, abs_tol=9), lambda _: {"x": float("nan")})


def test_the_last_bit_of_a_prefix_is_no_miss() -> None:
    assert run.faults(case_of({"x": 0.3}), lambda _: {"x": 0.1 + 0.2}) == []


def test_inputs_in_any_prefix() -> None:
    # definition of the prefixes
    in_si = {("x_mv", "v"): 2e-3, ("x_kohm", "ohm"): 2e3, ("x_mohm", "ohm"): 2e-3, ("x_h", "s"): 7200.0, ("x_mah", "ah"): 2e-3}
    for (key, unit), value in in_si.items():
        assert si({key: 2}, "x", unit) == value
    assert si({"x_pct": 5}, "x", "share") == 0.05
    assert si({"x_ma": [1, 2]}, "x", "a") == [1e-3, 2e-3]
    assert (si({"t_c": 25}, "t", "k"), si({"t_k": 298.15}, "t", "c")) == (298.15, 25.0)
    assert si({}, "x", "v", 7) == 7


def test_inputs_that_are_missing_double_or_no_numbers() -> None:
    with pytest.raises(BadInputs, match="no input x_v, in any prefix"):
        si({"y_v": 1}, "x", "v")
    with pytest.raises(BadInputs, match="x_v and x_mv say the same thing twice"):
        si({"x_v": 1, "x_mv": 1000}, "x", "v")
    with pytest.raises(BadInputs, match="x_v must be a number, not 'much'"):
        si({"x_v": "much"}, "x", "v")


@pytest.mark.parametrize("unit", UNITS)
def test_results_go_back_the_way_inputs_came(unit: str) -> None:
    # property: every ending round trips
    for key, value in every(unit, x=3.0).items():
        assert si({key: value}, "x", unit) == pytest.approx(3.0)


def test_names_and_numbers_as_people_write_them() -> None:
    # ASTM B258: 8.252 mm (1/0), 9.266 mm (2/0), from memory; UM10204: Sm, Fm, Fm+; DS18B20 table 1: 0191h is 25.0625 degC, from memory
    bound = run.bindings()
    for written, d_mm in (("0", 8.252), ("1/0", 8.252), ("2/0", 9.266), ("00", 9.266), ("24", 0.5106), (24, 0.5106)):
        assert bound["awg"]({"awg": written})["d_mm"] == pytest.approx(d_mm, rel=2e-3)
    for written, limit_hz in (("Sm", 100e3), ("Fm", 400e3), ("Fm+", 1e6), ("fast-mode plus", 1e6), ("standard mode", 100e3)):
        assert bound["i2c_mode_limits"]({"mode": written})["f_max_hz"] == limit_hz
    for word in (0x191, "0x0191", "0191h", "0b110010001"):
        assert bound["ds18b20_word"]({"word": word})["t_c"] == 25.0625


def test_a_word_that_is_missing_is_named() -> None:
    assert run.faults(case_of({"f_max_hz": 1}), run.bindings()["i2c_mode_limits"]) == ["cannot be computed: no input mode"]
