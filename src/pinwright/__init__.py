"""Pinwright: from a wish list to a microcontroller board with a proven pin for every wire.

    >>> import pinwright
    >>> catalogue = pinwright.load_catalogue()
    >>> catalogue.board("raspberry-pi-pico").chip
    'RP2040'

``plan`` and ``check`` do the whole job for a brief; see ``pinwright.planning``.
Importing the package loads nothing heavy: each name below is fetched when it is first used.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pinwright.facts.loader import Catalogue, load_catalogue
    from pinwright.planning import CheckResult, PlanResult, check, open_job, plan, plan_job

__version__ = "0.1.0"
__all__ = ["Catalogue", "CheckResult", "PlanResult", "__version__", "check", "load_catalogue", "open_job", "plan", "plan_job"]

_HOMES = dict.fromkeys(("Catalogue", "load_catalogue"), "pinwright.facts.loader")


def __getattr__(name: str) -> Any:
    """Fetch a public name from the module it lives in."""
    from importlib import import_module

    if name not in __all__:
        raise AttributeError(f"module 'pinwright' has no attribute {name!r}")
    return getattr(import_module(_HOMES.get(name, "pinwright.planning")), name)
