"""Progress of long work.  The methods are empty; a face that wants to show something overrides them."""

from __future__ import annotations

__all__ = ["Reporter"]


class Reporter:
    """Hears what the work is doing."""

    def step(self, what: str, done: int, total: int) -> None:
        """Work on ``what`` begins, after ``done`` of ``total`` pieces."""

    def stopped(self, done: int, total: int) -> None:
        """The maker stopped the work after ``done`` of ``total`` pieces."""

    def done(self) -> None:
        """The work is over."""
