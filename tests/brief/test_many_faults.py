"""All faults of a brief in one go, in the order of the file; faults that only follow from others stay unsaid."""

from __future__ import annotations

from collections.abc import Callable

from pinwright.errors import Fault

Read = Callable[[str], list[Fault]]

TEN = """\
title = ""
radio = "wifi"

[use]
sleeping = "yes"
ambient = ["40 degC", "5 degC"]

[board]
only = ["raspberry-pi-picoo"]
budget = "twelve"

[[part]]
name = "air"
kind = "bme28"
wire = "2 mA"

[[part]]
name = "air"
kind = "bme280"
address = 0x40
connect = ["ALERT"]
"""


def test_ten_faults_of_shape_and_sense_give_ten(faults: Read) -> None:
    assert [(fault.line, fault.key) for fault in faults(TEN)] == [
        (1, "title"),
        (2, "radio"),
        (5, "use.sleeping"),
        (6, "use.ambient"),
        (9, "board.only[0]"),
        (10, "board.budget"),
        (14, "part[0].kind"),
        (15, "part[0].wire"),
        (18, "part[1].name"),
        (20, "part[1].address"),
        (21, "part[1].connect[0]"),
    ]


def test_faults_stand_in_the_order_of_the_file(faults: Read) -> None:
    lines = [fault.line or 0 for fault in faults(TEN)]
    assert lines == sorted(lines)


def test_shape_faults_of_all_parts_and_lines(faults: Read) -> None:
    text = "title = 'x'\n" + "".join(
        f"[[part]]\nname = {i}\nwire = {i}\n[[part.line]]\nname = 'A{i}'\ndirection = 'upward'\nsignal = 'digital'\n" for i in range(20)
    )
    found = faults(text)
    assert len(found) == 60
    assert [fault.key for fault in found[:3]] == ["part[0].name", "part[0].wire", "part[0].line[0].direction"]


def test_a_fault_in_one_place_hides_none_elsewhere(faults: Read) -> None:
    """Each of these parts has its fault of sense beside the same fault of shape, and both are told."""
    text = """title = "x"
[[part]]
name = "a"
kind = "bme280"
count = "2"
supply = "12 V"
[[part]]
name = "b"
count = "2"
address = 0x40
[[part.line]]
name = "SDA"
direction = "bidir"
signal = "i2c"
[[part.line]]
name = "SDA"
direction = "bidir"
signal = "i2c"
role = "SDA"
pwm_bits = 99
"""
    assert [(fault.line, fault.key) for fault in faults(text)] == [
        (5, "part[0].count"),
        (6, "part[0].supply"),
        (9, "part[1].count"),
        (11, "part[1].line[0].role"),
        (16, "part[1].line[1].name"),
        (20, "part[1].line[1].pwm_bits"),
    ]


def test_nothing_is_said_that_only_follows_from_another_fault(faults: Read) -> None:
    text = """title = "x"
[[part]]
name = "a"
adress = 0x40
boud = "9600 baud"
power_up = "must stay off"
[[part.line]]
name = "SDA"
direction = "bidir"
signal = "i2c"
rolle = "SDA"
off_level = "lo"
[[part]]
name = 7
kind = true
leave_out = ["X"]
[[part]]
name = 7
[[part.line]]
name = "T"
directoin = "out"
signal = "uart"
role = 5
"""
    assert [(fault.line, fault.key) for fault in faults(text)] == [
        (4, "part[0].adress"),
        (5, "part[0].boud"),
        (11, "part[0].line[0].rolle"),
        (12, "part[0].line[0].off_level"),
        (14, "part[1].name"),
        (15, "part[1].kind"),
        (17, "part[2].baud"),
        (18, "part[2].name"),
        (21, "part[2].line[0].directoin"),
        (23, "part[2].line[0].role"),
    ]


def test_fixing_the_faults_one_by_one_makes_them_fewer(faults: Read) -> None:
    """Kind: property.  Taking the first faulty line away never brings back a fault that was not told before."""
    rows = TEN.split("\n")
    before = faults(TEN)
    for line in sorted({fault.line or 0 for fault in before}, reverse=True):
        rows[line - 1] = ""
        left = faults("\n".join(rows))
        assert {
            (fault.line, fault.wrong)
            for fault in left
            if fault.line != line and "missing" not in fault.wrong and "neither" not in fault.wrong
        } <= {(fault.line, fault.wrong) for fault in before}


def test_a_heap_of_faults_is_cut_short(faults: Read) -> None:
    found = faults("title = 'x'\n" + "[[part]]\nname = 'a'\n" * 2000)
    assert len(found) == 501
    assert found[-1].wrong == "There are more faults than are shown here."
    assert found[-1].line is not None
