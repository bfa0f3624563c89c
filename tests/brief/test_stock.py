"""What is in the drawer, as people write it (kind: unit)."""

from __future__ import annotations

import pytest

from pinwright.brief.reader import parse_brief
from pinwright.errors import InputError
from pinwright.facts.loader import Catalogue

_BRIEF = 'title = "t"\n[stock]\nresistors = {}\n[[part]]\nname = "a"\nkind = "push-button-momentary"\n'


@pytest.mark.parametrize(
    "written", ['["330", "4k7", "10 kohm", "1R5"]', '[330, "4700", "10k", 1.5]', '["330 ohm", 4700, "0.01 Mohm", "1.5"]']
)
def test_a_bare_number_of_resistors_is_in_ohms(written: str, catalogue: Catalogue) -> None:
    stock = parse_brief(_BRIEF.format(written), "b.toml", catalogue).brief.stock
    assert stock.resistors == pytest.approx((330.0, 4700.0, 10000.0, 1.5))


@pytest.mark.parametrize("written", ['["330 V"]', '["2,2"]', "[true]", '["many"]', "[-3]", "[1e30]", "[nan]"])
def test_what_is_no_resistor_is_refused_with_its_place(written: str, catalogue: Catalogue) -> None:
    with pytest.raises(InputError) as caught:
        parse_brief(_BRIEF.format(written), "b.toml", catalogue)
    (fault,) = caught.value.faults
    assert (fault.line, fault.key) == (3, "stock.resistors[0]")


def test_a_divider_is_not_asked_to_measure_more_than_it_is_made_for(catalogue: Catalogue) -> None:
    brief = 'title = "t"\n[[part]]\nname = "cell"\nkind = "battery-voltage-sense"\nsupply = "{}"\n'
    assert parse_brief(brief.format("4.2 V"), "b.toml", catalogue)
    with pytest.raises(InputError) as caught:
        parse_brief(brief.format("24 V"), "b.toml", catalogue)
    (fault,) = caught.value.faults
    assert (fault.line, fault.key) == (5, "part[0].supply")
    assert "up to 4.2 V, not 24 V" in fault.wrong
