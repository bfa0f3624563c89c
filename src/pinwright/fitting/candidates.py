"""Every net on every pin of a board: kept, with its circuit and cost, or struck out with the reasons.

``Candidates`` keeps both.  ``problem`` turns what is kept into the assignment problem; strikes that belong to a
wish can be lifted by giving that wish up, which is how conflicts are explained.
"""

from __future__ import annotations

import zlib
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field

from pinwright.fitting.choices import Choice, Chooser, Shared
from pinwright.fitting.interface import Circuit, circuits_for, joined, one_by_one, place_key, with_bus_pulls
from pinwright.fitting.judge import Mark, Strike, Verdict, judge_all, wakes_from_deep_sleep
from pinwright.fitting.lines import Asks
from pinwright.fitting.nets import Net, Nets
from pinwright.fitting.places import BoardView, Place
from pinwright.fitting.problem import Option, Problem
from pinwright.fitting.quiet import REPORTED, alike_at_power_up, quiet_verdict
from pinwright.fitting.setting import Setting
from pinwright.powerup.quiet import boot_states

__all__ = ["Candidate", "Candidates", "Choice", "candidates"]

NO_WISHES: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Candidate:
    """A net on a pin.  ``blocked`` lists the wishes in the way; ``strikes`` all reasons, ``choices`` the ways left."""

    net: int
    place: Place
    strikes: tuple[Strike, ...]
    marks: tuple[Mark, ...]
    circuit: Circuit
    line_circuits: tuple[Circuit, ...]
    choices: tuple[Choice, ...]
    blocked: frozenset[str]
    scarce: int

    @property
    def is_hopeless(self) -> bool:
        """Whether no wish could be given up to allow it."""
        return not self.choices or any(not strike.wish for strike in self.strikes)


@dataclass(slots=True)
class Candidates:
    """All candidates of one board and what they share."""

    board: BoardView
    nets: Nets
    found: list[list[Candidate]]
    capacity: dict[str, int] = field(default_factory=dict)
    timers: dict[str, int] = field(default_factory=dict)
    blocks: dict[str, str] = field(default_factory=dict)
    block_capacity: dict[str, int] = field(default_factory=dict)
    ways: list[list[tuple[Option, Candidate, Choice]]] = field(default_factory=list)

    def problem(
        self, given_up: Collection[str] = NO_WISHES, nets: Collection[int] | None = None
    ) -> tuple[Problem, list[tuple[Candidate, Choice]]]:
        """Assignment problem without the wishes ``given_up`` and only for ``nets``; also what each option stands for."""
        kept = tuple(net for net in range(len(self.nets.nets)) if nets is None or net in nets)
        free = frozenset(given_up)
        ways = [way for net in kept for way in self.ways[net] if way[1].blocked <= free and (not way[2].wish or way[2].wish in free)]
        problem = Problem(
            kept,
            tuple(option for option, _, _ in ways),
            self.capacity,
            self.timers,
            self._groups(kept),
            self.blocks,
            self.block_capacity,
            clusters := self._clusters(kept),
            {(number, zone): _zone_tie(number, zone) for number in range(len(clusters)) for zone in self._zones()},
        )
        return problem, [(candidate, choice) for _, candidate, choice in ways]

    def settle(self) -> None:
        """Work out the options of every candidate that is not hopeless, once."""
        for net, row in enumerate(self.found):
            self.ways.append([way for candidate in row if not candidate.is_hopeless for way in self._options(candidate, net)])

    def _options(self, candidate: Candidate, net: int) -> Iterator[tuple[Option, Candidate, Choice]]:
        components = candidate.circuit.components
        risk = sum(mark.weight for mark in candidate.marks)
        for choice in candidate.choices:
            yield self._option(candidate, choice, net, components, risk), candidate, choice

    def _option(self, candidate: Candidate, choice: Choice, net: int, components: int, risk: int) -> Option:
        place = candidate.place
        return Option(
            net=net,
            pin=place.pad.name,
            components=components,
            risk=risk + sum(mark.weight for mark in choice.marks),
            scarce=candidate.scarce,
            uses=choice.uses,
            instance=choice.instance,
            timer=choice.timer,
            modes=choice.modes,
            zone=place.zone,
            tie=_tie(net, place.pad.name, choice),
        )

    def _groups(self, kept: tuple[int, ...]) -> tuple[tuple[int, ...], ...]:
        groups = (tuple(net for net in bus.nets if net in kept) for bus in self.nets.buses)
        return tuple(group for group in groups if group)

    def _zones(self) -> list[str]:
        return list(dict.fromkeys(place.zone for place in self.board.places))

    def _clusters(self, kept: tuple[int, ...]) -> tuple[tuple[int, ...], ...]:
        """Nets that want to lie together: those of one bus, and the lines of one part that are not on a bus."""
        by_part: dict[str, list[int]] = {}
        for net in kept:
            item = self.nets.nets[net]
            key = f"\0bus {item.bus}" if item.bus >= 0 else item.lines[0].part
            by_part.setdefault(key, []).append(net)
        return tuple(tuple(members) for members in by_part.values() if len(members) > 1)


def _tie(number: int, pin: str, choice: Choice) -> int:
    """A fixed pseudo-random number that makes the best assignment unique, the same on every machine."""
    text = f"{number} {pin} {choice.instance} {choice.pool}"
    return zlib.crc32(text.encode()) >> 20


def _zone_tie(number: int, zone: str) -> int:
    """The same for the zone a cluster lies in: 0 to 15."""
    return zlib.crc32(f"{number} {zone}".encode()) >> 28


def candidates(board: BoardView, nets: Nets, setting: Setting) -> Candidates:
    """Judge every net on every pin of a board."""
    shared = Shared(board, nets, setting)
    result = Candidates(board, nets, [], shared.capacity, shared.timers, shared.blocks, shared.block_capacity)
    # Lines that ask for the same are judged once: one column of verdicts, in the order of the places.
    columns: dict[Asks, list[tuple[Verdict, Circuit]]] = {}
    keys = [place_key(place) for place in board.places]
    quiet_keys = alike_at_power_up(board)
    scarcity = [scarce_abilities(place, board, setting) for place in board.places]
    for number, net in enumerate(nets.nets):
        choices_of = Chooser(shared, net)
        wanted = _wanted_abilities(net.lines[0].asks)
        on_net = []
        for asks in dict.fromkeys(line.asks for line in net.lines):
            if asks not in columns:
                circuits = circuits_for(asks, board.places, board, setting.bench, keys)
                verdicts = _with_proofs(judge_all(asks, board.places, board, setting), asks, circuits, board, setting, quiet_keys)
                columns[asks] = list(zip(verdicts, circuits, strict=True))
            on_net.append(columns[asks])
        row = []
        for place, scarce, *judged in zip(board.places, scarcity, *on_net, strict=True):
            spent = sum(weight for ability, weight in scarce.items() if ability not in wanted)
            row.append(_candidate(number, net, place, judged, choices_of, spent, board, setting))
        result.found.append(row)
    result.settle()
    return result


def _candidate(
    number: int,
    net: Net,
    place: Place,
    judged: list[tuple[Verdict, Circuit]],
    choices_of: Chooser,
    scarce: int,
    board: BoardView,
    setting: Setting,
) -> Candidate:
    if len(judged) == 1:
        strikes, marks = list(judged[0][0].strikes), list(judged[0][0].marks)
    else:
        strikes = list(dict.fromkeys(strike for verdict, _ in judged for strike in verdict.strikes))
        marks = list(dict.fromkeys(mark for verdict, _ in judged for mark in verdict.marks))
    circuit, line_circuits = _circuits(net, place, [circuit for _, circuit in judged], choices_of, board, setting)
    lock = net.lock
    if lock and place.is_called(lock):
        # The maker has chosen; what nobody confirms is then a warning.
        marks += [Mark(strike.rule, strike.words, 4, strike.cite) for strike in strikes if strike.rule == REPORTED]
        strikes = [strike for strike in strikes if strike.rule != REPORTED]
    if circuit.fails:
        strikes.append(Strike("no-circuit", f"no circuit makes it work here: {circuit.fails}"))
    marks += [Mark("tight", f"{check.what}: {check.words}", 2) for check in circuit.tight]
    blocked = {f"{strike.wish}:{net.id}" if strike.wish == "quiet" else strike.wish for strike in strikes if strike.wish}
    if lock and not place.is_called(lock):
        strikes.append(Strike("locked-elsewhere", f"the brief fixes this line to {lock}", "lock"))
        blocked.add(f"lock:{net.id}")
    choices, missing = choices_of.ways(place)
    strikes += missing
    blocked |= {strike.wish for strike in missing if strike.wish}
    marks += choices_of.current_marks
    return Candidate(number, place, tuple(strikes), tuple(marks), circuit, line_circuits, tuple(choices), frozenset(blocked), scarce)


def _with_proofs(
    verdicts: list[Verdict], asks: Asks, circuits: list[Circuit], board: BoardView, setting: Setting, quiet_keys: list[int]
) -> list[Verdict]:
    """Verdicts with what happens at power-up; pins alike in that share the work."""
    if asks.quiet == "no" or asks.safe_level == "any" or not asks.drives:
        return verdicts
    found = []
    known: dict[tuple[object, ...], tuple[tuple[Strike, ...], tuple[Mark, ...]]] = {}
    for verdict, place, circuit, alike in zip(verdicts, board.places, circuits, quiet_keys, strict=True):
        key = (alike, id(circuit))
        if key not in known:
            moved = list(quiet_verdict(asks, place, board, setting, circuit))
            known[key] = (tuple(s for s in moved if isinstance(s, Strike)), tuple(m for m in moved if isinstance(m, Mark)))
        strikes, marks = known[key]
        found.append(Verdict((*verdict.strikes, *strikes), (*verdict.marks, *marks)) if strikes or marks else verdict)
    return found


def _circuits(
    net: Net, place: Place, judged: list[Circuit], choices_of: Chooser, board: BoardView, setting: Setting
) -> tuple[Circuit, tuple[Circuit, ...]]:
    """Circuit of the whole net and of each of its lines.  A bus wire has pull-ups of its own; equal pins share the work."""
    if net.lines[0].asks.signal != "i2c" and len(net.lines) == 1:
        return judged[0], (judged[0],)
    on_board = place.fitted("pull-up")
    key = (*map(id, judged), on_board and on_board.ohm)
    if key not in choices_of.circuits:
        by_asks = dict(zip(dict.fromkeys(line.asks for line in net.lines), judged, strict=True))
        max_hz = choices_of.bus.max_hz if choices_of.bus else 0.0
        on_lines = with_bus_pulls(net.lines, [by_asks[line.asks] for line in net.lines], place, board, setting.bench, max_hz)
        choices_of.circuits[key] = joined(on_lines), one_by_one(on_lines)
    return choices_of.circuits[key]


# ------------------------------------------------------------------------------ scarce abilities


def scarce_abilities(place: Place, board: BoardView, setting: Setting) -> dict[str, int]:
    """What would be spent if a line that does not need it sat here: ability and weight."""
    pad, abilities = place.pad, {}
    if pad.adc is not None:
        unit = next(unit for unit in board.chip.adc if unit.unit == pad.adc.unit)
        abilities["adc"] = 1 if set(unit.blocked_by) & set(setting.radio) else 3
    if pad.dac:
        abilities["dac"] = 3
    if pad.touch:
        abilities["touch"] = 1
    if setting.sleeping and wakes_from_deep_sleep(place):
        abilities["wake"] = 1
    if pad.output and set(boot_states(place)) <= {"float", "low", "pull-down"}:
        abilities["quiet"] = 2
    if pad.output and not pad.analog_only:
        abilities["output"] = 1
    return abilities


def _wanted_abilities(asks: Asks) -> frozenset[str]:
    """Abilities a line uses when its pin has them."""
    uses = {
        "adc": asks.direction == "analog-in",
        "dac": asks.direction == "analog-out",
        "touch": asks.signal == "touch",
        "wake": asks.needs.wake,
        "quiet": asks.quiet != "no" and asks.safe_level != "any",
        "output": asks.drives,
    }
    return frozenset(ability for ability, used in uses.items() if used)
