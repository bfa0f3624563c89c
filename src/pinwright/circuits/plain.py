"""One number comes back as a plain float, an array as the array it is.

numpy answers a single number with a type of its own that prints and serialises differently [definition].
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from pinwright.errors import OutOfRange

__all__ = ["computed", "plain"]


def plain(value: Any) -> Any:
    """A float for a single number, arrays unchanged.   [definition]

    Parameters
    ----------
    value : result of numpy [-]

    Returns
    -------
    value : the same [-]

    Raises
    ------
    OutOfRange : it is not finite.

    >>> plain(np.float64(2.5)), plain(np.array([1.0, 2.0])).tolist()
    (2.5, [1.0, 2.0])
    """
    if not np.all(np.isfinite(value)):
        raise OutOfRange("The values lead to no finite result.")
    return value if np.ndim(value) else float(value)


def computed(formula: Callable[[], Any]) -> Any:
    """Result of a formula; what overflows or divides by nothing on the way is refused in words.   [definition]

    Parameters
    ----------
    formula : without arguments [-]

    Returns
    -------
    value : as ``plain`` gives it [-]

    Raises
    ------
    OutOfRange : there is no finite result.

    >>> computed(lambda: np.exp(1000.0))
    Traceback (most recent call last):
    pinwright.errors.OutOfRange: The values lead to no finite result.
    """
    try:
        with np.errstate(all="ignore"):
            return plain(formula())
    except (OverflowError, ZeroDivisionError):
        raise OutOfRange("The values lead to no finite result.") from None
