"""One number comes back as a plain float, an array as the array it is.

numpy answers a single number with a type of its own that prints and serialises differently.
"""

from __future__ import annotations

from typing import Any

import numpy as np

__all__ = ["plain"]


def plain(value: Any) -> Any:
    """A float for a single number, arrays unchanged.

    >>> plain(np.float64(2.5)), plain(np.array([1.0, 2.0])).tolist()
    (2.5, [1.0, 2.0])
    """
    return value if np.ndim(value) else float(value)
