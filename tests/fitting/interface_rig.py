"""Short ways to one circuit on one pin, for the tests of the circuit synthesis."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from pinwright.brief.reader import parse_brief
from pinwright.facts.loader import Catalogue, load_catalogue
from pinwright.facts.model import Fact
from pinwright.fitting.interface import Circuit, Piece, circuit_for
from pinwright.fitting.lines import Asks
from pinwright.fitting.places import BoardView, Place, view
from pinwright.fitting.plan import BoardPlan
from pinwright.fitting.rank import Job, plan_board, prepare
from pinwright.fitting.setting import Bench

E24 = (1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1)
"""The series of IEC 60063 (from memory)."""


@lru_cache(maxsize=1)
def catalogue() -> Catalogue:
    return load_catalogue()


def job_of(body: str) -> Job:
    return prepare(parse_brief('title = "t"\n' + body, "t.toml", catalogue()), catalogue())


def part(kind: str, more: str = "", name: str = "x") -> str:
    return f'[[part]]\nname = "{name}"\nkind = "{kind}"\n{more}\n'


def asks_of(body: str, line: str = "") -> Asks:
    """What the first line (or the one called ``line``) of a brief asks."""
    lines = [each for device in job_of(body).nets.devices for each in device.lines]
    return next(each.asks for each in lines if not line or each.name == line)


def board(name: str) -> BoardView:
    return view(catalogue().boards[name], catalogue())


def spot(seen: BoardView, wanted: Callable[[Place], bool] | None = None) -> Place:
    """First pin with nothing on it that a test can use."""
    free = (place for place in seen.places if not place.onboard and place.reserve is None)
    return next(place for place in free if wanted is None or wanted(place))


def measures(place: Place) -> bool:
    return place.pad.adc is not None


def bench_like(**changes: object) -> Bench:
    """The transistors of the catalogue, and what a test changes."""
    switches = job_of(part("led-red")).setting.bench.switches
    return Bench(**{"switches": switches, **changes})  # type: ignore[arg-type]


def circuit(asks: Asks, place: Place, seen: BoardView, bench: Bench | None = None) -> Circuit:
    return circuit_for(asks, place, seen, bench or bench_like())


def planned(body: str, name: str) -> tuple[Job, BoardPlan]:
    job = job_of(body)
    return job, plan_board(job, catalogue().boards[name])


def piece(found: Circuit, role: str) -> Piece:
    return next(each for element in found.elements for each in element.pieces if each.role == role)


def number(fact: Fact | None, otherwise: float = 0.0) -> float:
    """Worst figure of a fact."""
    if fact is None:
        return otherwise
    return next((v for v in (fact.value, fact.max, fact.typ, fact.min) if v is not None), otherwise)


def is_e24(ohm: float) -> bool:
    while ohm >= 10:
        ohm /= 10
    return any(abs(ohm - value) < 1e-6 for value in E24)
