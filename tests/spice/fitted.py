"""Interface circuits as a plan really fits them: tiny briefs on several boards, and the ends their values may lie at."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from pinwright.brief.reader import parse_brief
from pinwright.circuits.ranges import Range
from pinwright.facts.loader import Catalogue, load_catalogue
from pinwright.fitting.interface.pieces import Circuit, Element, Piece
from pinwright.fitting.interface.rails import board_rail, pin_receiver
from pinwright.fitting.places import BoardView
from pinwright.fitting.plan import Placed
from pinwright.fitting.rank import plan_board, prepare
from pinwright.fitting.setting import Bench
from pinwright.powerup.phases import leak_of_pin

__all__ = ["BOARDS", "VOLTS", "Fitted", "around", "close", "ends", "fitted", "part", "short"]

BOARDS = ("esp32-wroom32-30pin", "atmega328p-narrow-30pin", "raspberry-pi-pico-w", "esp12f-30pin", "xiao-nrf52840")
"""Boards of 3.3 V and of 5 V, by five makers of chips."""
VOLTS = 0.005
TIMES = 0.02


def part(kind: str, name: str = "x", more: str = "") -> str:
    """A part of the catalogue in a brief."""
    return f'[[part]]\nname = "{name}"\nkind = "{kind}"\n{more}\n'


def short(value: object) -> str | None:
    """Name of a case in the report: the kind of a part instead of its brief."""
    found = re.search(r'(?:kind|signal) = "([^"]+)"', str(value))
    return found.group(1) if found else None


@lru_cache(maxsize=1)
def _catalogue() -> Catalogue:
    return load_catalogue()


@dataclass(frozen=True)
class Fitted:
    """One line as planned, with what the facts say about the board."""

    placed: Placed
    view: BoardView
    bench: Bench

    @property
    def circuit(self) -> Circuit:
        return self.placed.circuit

    @property
    def rail(self) -> Range:
        """The board's logic supply over its tolerance [V]."""
        return board_rail(self.view)

    @property
    def leak_a(self) -> float:
        """Leakage of the pin [A]."""
        return leak_of_pin(self.view.chip)

    def tolerance(self, role: str) -> float:
        """Tolerance the piece is bought with, as a share; the bench's where it does not say."""
        rating = self.piece(role).rating
        return float(rating.removesuffix(" %")) / 100 if rating.endswith(" %") else self.bench.tolerance

    def vih_v(self, rail_v: float) -> float:
        """Level from which the pin reads high [V]."""
        return pin_receiver(self.view.chip).vih.fraction * rail_v + pin_receiver(self.view.chip).vih.offset_v

    def vil_v(self, rail_v: float) -> float:
        """Level up to which the pin reads low [V]."""
        return pin_receiver(self.view.chip).vil.fraction * rail_v + pin_receiver(self.view.chip).vil.offset_v

    def element(self, kind: str) -> Element:
        """The element of a kind; the test that asks for it means it to be there."""
        found = self.circuit.of(kind)
        assert found is not None, f"{self.view.board.name}: no {kind} in {self.circuit.words!r}"
        return found

    def piece(self, role: str) -> Piece:
        """The component in a place of the circuit."""
        found = [piece for element in self.circuit.elements for piece in element.pieces if piece.role == role]
        assert found, f"{self.view.board.name}: nothing {role} in {self.circuit.words!r}"
        return found[0]

    def ohm(self, role: str) -> float:
        """Value of a component [ohm]."""
        value = self.piece(role).value
        assert value is not None
        return value


@lru_cache(maxsize=256)
def fitted(board: str, body: str, line: str = "") -> Fitted:
    """The first line of a brief (or the one named), planned on a board."""
    catalogue = _catalogue()
    job = prepare(parse_brief('title = "spice"\n' + body, "spice.toml", catalogue), catalogue)
    plan = plan_board(job, catalogue.boards[board])
    assert plan.feasible, plan.conflict
    placed = next(one for one in plan.placed if not line or one.line.id == line)
    return Fitted(placed, plan.view, job.setting.bench)


def around(value: float, tolerance: float) -> tuple[float, float]:
    """Both ends of a value with a tolerance (a share)."""
    return value * (1 - tolerance), value * (1 + tolerance)


def ends(*ranges: Sequence[float]) -> Iterator[tuple[float, ...]]:
    """Every corner of a box."""
    return itertools.product(*ranges)


def close(found: float, claimed: float, share: float, floor: float = 0.0) -> bool:
    """Whether two figures agree within a share of the claimed one (or within ``floor``)."""
    return abs(found - claimed) <= max(share * abs(claimed), floor)
