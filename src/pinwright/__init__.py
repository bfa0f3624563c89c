"""Pinwright: from a wish list to a microcontroller board with a proven pin for every wire.

    >>> import pinwright
    >>> catalogue = pinwright.load_catalogue()
    >>> catalogue.board("raspberry-pi-pico").chip
    'RP2040'

``plan`` and ``check`` do the whole job for a brief; see ``pinwright.planning``.
Importing the package loads neither the solver nor anything else that is heavy.
"""

from pinwright.facts.loader import Catalogue, load_catalogue
from pinwright.planning import CheckResult, PlanResult, check, open_job, plan, plan_job

__version__ = "0.1.0"
__all__ = ["Catalogue", "CheckResult", "PlanResult", "__version__", "check", "load_catalogue", "open_job", "plan", "plan_job"]
