"""Plain floats out of numpy."""

from __future__ import annotations

import numpy as np
import pytest

from pinwright.circuits.plain import computed, plain
from pinwright.errors import OutOfRange


def test_one_number_becomes_a_float_and_an_array_stays():
    assert type(plain(np.float64(1.5))) is float
    assert type(plain(np.array(2.0))) is float
    assert plain(3) == 3.0
    values = np.array([1.0, 2.0])
    assert plain(values) is values


def test_what_is_not_finite_is_refused_in_words():
    for bad in (lambda: np.exp(1000.0), lambda: 1.0 / 0.0, lambda: 10.0**400, lambda: np.array([1.0]) / 0.0):
        with pytest.raises(OutOfRange, match=r"The values lead to no finite result\."):
            computed(bad)
    with pytest.raises(OutOfRange, match="no finite result"):
        plain(float("nan"))
    assert computed(lambda: np.float64(2.0)) == 2.0
