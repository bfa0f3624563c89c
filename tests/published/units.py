"""Read the inputs of a published case in SI, whatever prefix its keys end in, and hand results back the same way.

The last part of a key is its unit: ``cb_pf`` is farads times 1e-12, ``life_h`` seconds times 3600.
``mohm`` is milliohm, because series resistances and cables need it; a megaohm is written ``megohm``.
"""

from __future__ import annotations

from typing import Any

__all__ = ["UNITS", "BadInputs", "every", "key_of", "si"]


def _prefixed(unit: str, **prefixes: float) -> dict[str, float]:
    return {unit: 1.0} | prefixes


UNITS: dict[str, dict[str, float]] = {
    "v": _prefixed("v", mv=1e-3, uv=1e-6, kv=1e3),
    "a": _prefixed("a", ma=1e-3, ua=1e-6, na=1e-9),
    "ohm": _prefixed("ohm", kohm=1e3, megohm=1e6, mohm=1e-3),
    "f": _prefixed("f", mf=1e-3, uf=1e-6, nf=1e-9, pf=1e-12),
    "s": _prefixed("s", ms=1e-3, us=1e-6, ns=1e-9, min=60.0, h=3600.0, hours=3600.0, days=86400.0, weeks=604800.0, years=31557600.0),
    "hz": _prefixed("hz", khz=1e3, mhz=1e6, ghz=1e9),
    "w": _prefixed("w", mw=1e-3, uw=1e-6, kw=1e3),
    "m": _prefixed("m", mm=1e-3, cm=1e-2, um=1e-6, km=1e3, ft=0.3048, kft=304.8, **{"in": 0.0254}),
    "m2": _prefixed("m2", mm2=1e-6, cm2=1e-4),
    "ah": _prefixed("ah", mah=1e-3, uah=1e-6),
    "wh": _prefixed("wh", mwh=1e-3, kwh=1e3),
    "henry": {"henry": 1.0, "h": 1.0, "mh": 1e-3, "uh": 1e-6, "nh": 1e-9},
    "coulomb": {"coulomb": 1.0, "mc": 1e-3, "uc": 1e-6, "nc": 1e-9, "pc": 1e-12},
    "j": _prefixed("j", mj=1e-3, uj=1e-6, nj=1e-9, kj=1e3),
    "share": {"share": 1.0, "frac": 1.0, "fraction": 1.0, "ratio": 1.0, "tol": 1.0, "pct": 1e-2, "percent": 1e-2, "ppm": 1e-6},
    "bits": {"bits": 1.0, "bit": 1.0},
    "baud": {"baud": 1.0, "kbaud": 1e3, "bps": 1.0, "kbps": 1e3},
    "db": {"db": 1.0},
    "k": {"k": 1.0, "c": 1.0},
    "c": {"c": 1.0, "k": 1.0},
    "delta_k": {"k": 1.0, "c": 1.0, "mk": 1e-3},
    "k_per_w": {"c_w": 1.0, "k_w": 1.0, "c_per_w": 1.0, "k_per_w": 1.0},
    "ohm_per_m": {"ohm_per_m": 1.0, "ohm_per_km": 1e-3, "mohm_per_m": 1e-3, "ohm_per_kft": 1 / 304.8, "ohm_per_ft": 1 / 0.3048},
    "a_per_m": {"a_per_m": 1.0, "ma_per_m": 1e-3},
    "w_per_m": {"w_per_m": 1.0},
    "ah_per_day": {"ah_per_day": 1.0, "mah_per_day": 1e-3, "uah_per_day": 1e-6},
}
"""Endings of each SI unit and what to multiply with. ``k`` and ``c`` differ by an offset, ``delta_k`` is a difference."""

_ZERO_C_IN_K = 273.15
_NOTHING = object()


class BadInputs(ValueError):
    """The inputs of a case lack a value, give one twice, or give no number."""


def key_of(inputs: dict[str, Any], stem: str, unit: str) -> str | None:
    """The key ``<stem>_<ending>`` of the inputs that carries a unit, or None.

    >>> key_of({"cb_pf": 200, "c_adc_pf": 8}, "cb", "f")
    'cb_pf'
    """
    found = [f"{stem}_{ending}" for ending in UNITS[unit] if f"{stem}_{ending}" in inputs]
    if len(found) > 1:
        raise BadInputs(f"{' and '.join(found)} say the same thing twice")
    return found[0] if found else None


def si(inputs: dict[str, Any], stem: str, unit: str, default: Any = _NOTHING) -> Any:
    """The value of ``<stem>_<prefix and unit>`` in SI; lists stay lists.

    Parameters
    ----------
    inputs : the table of a case
    stem : what stands before the unit
    unit : a key of ``UNITS``
    default : what to return when the key is absent; without it a missing key is an error

    >>> si({"cb_pf": 200}, "cb", "f") == 200e-12, si({"limit_pct": 2}, "limit", "share"), si({"t_c": 25}, "t", "k")
    (True, 0.02, 298.15)
    """
    key = key_of(inputs, stem, unit)
    if key is None:
        if default is not _NOTHING:
            return default
        raise BadInputs(f"no input {stem}_{unit}, in any prefix")
    scale = UNITS[unit][key.removeprefix(f"{stem}_")]
    offset = 0.0
    if unit == "k" and key.endswith("_c"):
        offset = _ZERO_C_IN_K
    if unit == "c" and key.endswith("_k"):
        offset = -_ZERO_C_IN_K
    return _scaled(inputs[key], scale, offset, key)


def every(unit: str, **values: Any) -> dict[str, Any]:
    """Results under every ending of their unit, so that a case may ask for any prefix.

    >>> every("a", i_avg=0.5)["i_avg_ma"]
    500.0
    """
    table: dict[str, Any] = {}
    for stem, value in values.items():
        for ending, scale in UNITS[unit].items():
            offset = 0.0
            if unit == "k" and ending == "c":
                offset = -_ZERO_C_IN_K
            if unit == "c" and ending == "k":
                offset = _ZERO_C_IN_K
            table[f"{stem}_{ending}"] = None if value is None else value / scale + offset
    return table


def _scaled(value: Any, scale: float, offset: float, key: str) -> Any:
    if isinstance(value, list):
        return [_scaled(each, scale, offset, key) for each in value]
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BadInputs(f"{key} must be a number, not {value!r}")
    return value * scale + offset if offset else value * scale
