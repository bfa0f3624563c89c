"""Plans whose C++ is compiled and run, and what a pin must do by the plan alone: worked out from the placed lines."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from pinwright.facts.loader import load_catalogue
from pinwright.fitting.plan import BoardPlan, Placed
from pinwright.pack.firmware.cores import Core, core_of
from pinwright.pack.firmware.cpp import cpp_source
from pinwright.pack.firmware.model import Program
from pinwright.pack.firmware.program import program_of
from pinwright.planning import open_job, plan_job

__all__ = ["Case", "avr_cases", "cases", "host_cases", "off_level", "pull_at", "states_wanted"]

HERE = Path(__file__).parent
EXAMPLES = sorted((HERE.parents[1] / "examples").glob("*.toml"))
OWN = sorted((HERE / "briefs_cpp").glob("*.toml")) + sorted((HERE / "briefs").glob("*.toml"))
ONE_OF_A_KIND = {
    "esp32-devkitc-v4", "esp32-c3-devkitm-1", "esp32-s3-devkitc-1-n8", "esp32-c6-devkitc-1", "esp12f-30pin", "raspberry-pi-pico",
    "stm32f103c8-40pin", "stm32f411ce-40pin", "nano-33-iot", "nano-33-ble", "feather-nrf52840-express",
}  # fmt: skip
"""For briefs of the tests: one board for each core and way to sleep (other boards with the same chip differ in pin numbers only),
beside all AVR boards.  The examples are compiled for every board."""


@dataclass(frozen=True)
class Case:
    """One plan with its C++."""

    name: str
    board: str
    plan: BoardPlan
    program: Program
    core: Core
    files: dict[str, str]

    @property
    def is_avr(self) -> bool:
        """Whether it is run in the simulator of the chip."""
        return self.core.guard.endswith("_AVR")


@cache
def cases() -> tuple[Case, ...]:
    """Every plan whose C++ is compiled."""
    return tuple(_cases())


def _cases() -> Iterator[Case]:
    catalogue = load_catalogue()
    for brief in (*EXAMPLES, *OWN):
        result = plan_job(open_job(brief, catalogue=catalogue))
        for plan in result.usable:
            board = plan.view.board.id
            if brief in OWN and board not in ONE_OF_A_KIND and plan.view.chip.part[:2] != "AT":
                continue
            program = program_of(plan, result.ranking.job)
            core = core_of(program)
            assert (core is not None) == any(firmware.language == "cpp" for firmware in plan.view.chip.firmware), board
            if core is not None:
                yield Case(f"{brief.stem}/{board}", board, plan, program, core, cpp_source(program))


def avr_cases() -> list[Case]:
    """Those for the chips with a simulator."""
    return [case for case in cases() if case.is_avr]


def host_cases() -> list[Case]:
    """All others: compiled against declarations of our own and run on the host."""
    return [case for case in cases() if not case.is_avr]


# ------------------------------------------------------------------------------ what the plan says


def off_level(placed: Placed) -> str | None:
    """Level of the pin at which the part is off (``low``, ``high``, ``released``); ``None`` where the plan does not care.

    Nothing the plan puts between pin and part turns the level round: shifters do not, and transistor stages are told in the line's own
    terms (``safe_level`` of a gate is the gate's).
    """
    asks = placed.line.asks
    if asks.role == "CS" and asks.direction == "out":
        return "high"  # a select line is active low  [trade practice; every SPI part of the catalogue says so]
    if not asks.drives or placed.net.bus >= 0 or asks.signal in ("onewire", "analog", "i2c", "spi", "uart"):
        return None
    if asks.direction in ("open-drain", "bidir"):
        return "released" if asks.safe_level == "any" else asks.safe_level
    return None if asks.safe_level == "any" else asks.safe_level


def pull_at(placed: Placed) -> str:
    """Pull inside the chip the circuit counts on: ``up``, ``down`` or nothing."""
    element = placed.circuit.of("internal pull")
    if element is None or not element.words.startswith("internal pull-"):
        return ""  # none, or one that is fitted on the board
    return element.words.removeprefix("internal pull-").split()[0]


def states_wanted(case: Case) -> Iterator[tuple[Placed, set[str]]]:
    """Placed lines that are neither on a bus nor analog, each with the states its pin may have after set-up, nothing commanded."""
    pulls = {placed.candidate.net: pull_at(placed) for placed in case.plan.placed if pull_at(placed)}
    for placed in case.plan.placed:
        asks = placed.line.asks
        if asks.direction == "out" and (placed.net.bus < 0 or asks.role == "CS"):
            level = off_level(placed)
            yield placed, {level} if level in ("low", "high") else {"low", "high"}
        elif placed.net.bus < 0 and asks.direction == "in" and asks.signal not in ("analog", "touch", "i2s"):
            yield placed, {{"up": "pull-up", "down": "pull-down"}.get(pulls.get(placed.candidate.net, ""), "hi-Z")}
