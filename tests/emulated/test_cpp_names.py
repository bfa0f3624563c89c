"""The plain C header, and what must hold of all written C and C++ whatever the names in the brief are.

Hostile names (``briefs_cpp/names.toml``, ``briefs/hostile.toml``) are also compiled and run by the two other modules; here the header goes
through a C11 and a C++ compiler with all warnings, and the texts are searched for what must never be in them.
"""

from __future__ import annotations

import os
import re
import subprocess
import unicodedata
from pathlib import Path

import cpp_plans
import host_rig
import pytest
from cpp_plans import Case

from pinwright.pack.firmware.c_header import HEADER, c_header
from pinwright.pack.firmware.cores import all_cores
from pinwright.pack.firmware.cpp import cpp_source

CASES = {case.name: case for case in cpp_plans.cases()} if not host_rig.missing_tools() else {}
FRAMES = """
#include "{name}"
#include "{name}"
{checks}
int main(void) {{ return 0; }}
"""


def test_the_tools_are_there():
    text = host_rig.missing_tools()
    if text and os.environ.get("CI", "").lower() == "true":
        pytest.fail(f"apt-get install {text}")
    if text:
        pytest.skip(f"apt-get install {text}")
    assert any("names/" in name for name in CASES)


def compiled(folder: Path, case: Case, compiler: str, *flags: str) -> str:
    """What a compiler says of the header, with each fact of the plan as an assertion of the language; empty: nothing."""
    (folder / HEADER).write_text(c_header(case.program), encoding="utf-8")
    checks = "\n".join(f'{_assert(flags)}({check}, "{number}");' for number, check in enumerate(facts(case)))
    source = folder / f"main{'.c' if compiler == 'gcc' else '.cpp'}"
    source.write_text(FRAMES.format(name=HEADER, checks=checks), encoding="utf-8")
    command = [compiler, *flags, "-Wall", "-Wextra", "-Werror", "-pedantic-errors", "-fsyntax-only", str(source)]
    return subprocess.run(command, capture_output=True, text=True, check=False).stderr


def _assert(flags: tuple[str, ...]) -> str:
    return "_Static_assert" if any("c11" in flag for flag in flags) else "static_assert"


def facts(case: Case) -> list[str]:
    """Pads, first levels and addresses of the placed lines as constant expressions; names found by the line's comment."""
    text = c_header(case.program)
    wanted = []
    for pin in case.program.pins:
        placed = next(placed for placed in case.plan.placed if placed.line.id in pin.lines)
        pad = placed.place.pad
        if isinstance(pad.gpio, int):
            wanted.append(f"PW_{pin.name}_GPIO == {pad.gpio}")
        elif match := re.fullmatch(r"P([A-K])(\d+)", pad.name):
            wanted.append(f"PW_{pin.name}_PORT == '{match[1]}' && PW_{pin.name}_BIT == {int(match[2])}")
        elif match := re.fullmatch(r"P(\d)\.(\d+)", pad.name):
            wanted.append(f"PW_{pin.name}_PORT == {match[1]} && PW_{pin.name}_BIT == {int(match[2])}")
        off = cpp_plans.off_level(placed)
        if off in ("low", "high"):
            wanted.append(f"PW_{pin.name}_FIRST_LEVEL == {int(off == 'high')}")
    for number in {address for bus in case.plan.candidates.nets.buses for address in bus.addresses.values()}:
        assert f" 0x{number:02X}\n" in text
    return wanted


SOME = [name for name in CASES if name.startswith(("names/", "hostile/", "oven-wall/", "loads/", "sensors/", "measuring/"))]


@pytest.mark.parametrize("name", [name for name in SOME if name.split("/")[1] in cpp_plans.ONE_OF_A_KIND or "atmega" in name])
def test_the_header_is_c11_and_cpp(name: str, tmp_path: Path):
    case = CASES[name]
    assert facts(case)
    assert compiled(tmp_path, case, "gcc", "-std=c11", "-trigraphs") == ""
    assert compiled(tmp_path, case, "g++", "-std=c++11") == ""


@pytest.mark.parametrize("name", CASES)
def test_nothing_hidden_and_nothing_of_the_names_gets_out(name: str):
    case = CASES[name]
    for text in (*case.files.values(), c_header(case.program)):
        shown = text.replace("\n", "")
        assert not [c for c in shown if unicodedata.category(c) in ("Cc", "Cf", "Zl", "Zp", "Co", "Cs")], "hidden characters"
        assert "??/" not in text
        for line in text.split("\n"):
            assert not line.endswith("\\"), "a line is continued"
            assert line == line.rstrip()
            code = re.sub(r'"(?:[^"\\]|\\.)*"', '""', line).split("//")[0]
            assert code.isascii(), f"not plain outside comments and strings: {line}"
            assert "/*" not in code or code.startswith("#endif"), line
        braces = re.sub(r'"(?:[^"\\]|\\.)*"|//[^\n]*|\'.\'', "", text)
        assert braces.count("{") == braces.count("}")


@pytest.mark.parametrize("name", [name for name in CASES if name.startswith(("names/", "bakery"))])
def test_the_same_plan_gives_the_same_bytes(name: str):
    case = CASES[name]
    assert cpp_source(case.program) == case.files
    assert c_header(case.program) == c_header(case.program)


def test_lines_are_of_readable_length():
    # our choice: 100 columns of code, as far as no text of the brief or literal is longer
    for case in CASES.values():
        long = [line for text in case.files.values() for line in text.split("\n") if len(line) > 130 and "F(" not in line]
        assert not long, (case.name, long[:3])


def test_every_core_has_a_source_and_belongs_to_something():
    cores = all_cores()
    assert len({core.id for core in cores}) == len(cores)
    for core in cores:
        assert core.src
        assert core.packages or core.chips or core.boards
        assert core.sleep or core.sleep_note
        assert core.pwm != "shared" or "pwm_write" in core.pwm_code
