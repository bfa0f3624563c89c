"""Colours of insulation as they look: the codes of IEC 60757 with a paint each and their names in words."""

from __future__ import annotations

__all__ = ["NAMES", "paint"]

NAMES = {
    "BK": "black", "BN": "brown", "RD": "red", "OG": "orange", "YE": "yellow", "GN": "green", "BU": "blue", "VT": "violet", "GY": "grey",
    "WH": "white", "PK": "pink", "TQ": "turquoise", "GD": "gold", "SR": "silver",
}  # fmt: skip
"""Code → colour in words  [IEC 60757:2021, table 1; from memory]."""

_PAINTS = {
    "BK": "#15181c", "BN": "#7a4a22", "RD": "#c62828", "OG": "#ee7a12", "YE": "#f2c811", "GN": "#2e8b3d", "BU": "#1f62c4", "VT": "#7d3fa8",
    "GY": "#8b929a", "WH": "#ffffff", "PK": "#ee8fb4", "TQ": "#18a6a0", "GD": "#b8932f", "SR": "#c3c8cd",
}  # fmt: skip


def paint(code: str) -> str:
    """Paint of a code; grey where nobody knows the code.

    Parameters
    ----------
    code : of IEC 60757 [-]

    >>> paint("RD"), paint("??") == paint("GY")
    ('#c62828', True)
    """
    return _PAINTS.get(code, _PAINTS["GY"])
