"""Ways to use a pin for a net: which bus instance, which PWM pool at which frequencies, which pulse engine."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from pinwright.facts.model import BusInstance, PwmPool
from pinwright.fitting.interface import Circuit, pin_current_max, sinks
from pinwright.fitting.judge import Mark, Strike
from pinwright.fitting.lines import Asks
from pinwright.fitting.nets import Net, Nets
from pinwright.fitting.places import BoardView, Place
from pinwright.fitting.setting import Setting

__all__ = ["Choice", "Chooser", "Shared", "pool_frequencies", "pwm_bits"]

USUAL_HZ = 1000.0
"""PWM frequency to prefer where a range is allowed: smooth for lamps, slow for switches (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One way to use a pin for a net: bus instance, PWM pool and channel, or nothing special.

    ``wish``: the wish that must be given up to use it, if any.
    """

    instance: str = ""
    wish: str = ""
    pool: str = ""
    timer: str = ""
    modes: tuple[str, ...] = ()
    uses: tuple[tuple[str, int], ...] = ()
    marks: tuple[Mark, ...] = ()


_PLAIN = Choice()
_LEADS = {"i2c": "SCL", "spi": "SCK", "uart": "TX", "i2s": "BCLK"}
"""The wire of a bus that stands for the whole of it: what an instance takes is taken once."""


class Shared:
    """Works out, once a board, which bus instances, PWM pools and pulse engines its nets may take.

    What they share is gathered on the way: ``capacity`` of resources, modes of ``timers``, ``blocks`` behind instances.
    """

    def __init__(self, board: BoardView, nets: Nets, setting: Setting) -> None:
        self.board, self.nets = board, nets
        self.capacity: dict[str, int] = {}
        self.timers: dict[str, int] = {}
        self.blocks: dict[str, str] = {}
        self.block_capacity: dict[str, int] = {}
        self.keeps_console = setting.keep_console and board.console_matters
        self.console_blocks = {instance.block or instance.id for instance in board.chip.bus if instance.console}
        self.taken = {name for reserve in board.board.reserve for name in reserve.blocks}
        self.instances: dict[str, list[tuple[str, BusInstance]]] = {}
        for kind in {bus.kind for bus in nets.buses}:
            self.instances[kind] = self._classes(kind)
        self.hz_wanted = sorted(_wanted_frequencies(nets))
        self.never_inputs = self._never_inputs()
        self._limit_currents()

    def _classes(self, kind: str) -> list[tuple[str, BusInstance]]:
        """Instances of a kind; interchangeable ones count as one with a larger capacity."""
        merged: dict[tuple[object, ...], list[BusInstance]] = {}
        for instance in self.board.chip.bus:
            if instance.kind != kind or {instance.id, instance.block} & self.taken:
                continue
            alone = instance.wiring == "fixed" or bool(instance.block)
            key = (instance.id,) if alone else (instance.wiring, instance.console, instance.max_hz, tuple(sorted(instance.roles)))
            merged.setdefault(key, []).append(instance)
        classes = []
        for members in merged.values():
            name = "/".join(member.id for member in members)
            block = members[0].block or name
            self.blocks[name] = block
            self.block_capacity[block] = sum(member.count for member in members)
            classes.append((name, members[0]))
        return classes

    def _never_inputs(self) -> dict[int | str, str]:
        """Pads that must not read while a bus works, each with the resource that bus and input would share."""
        found: dict[int | str, str] = {}
        for classes in self.instances.values():
            for name, instance in classes:
                for gpio in instance.never_inputs:
                    found[gpio] = self.beside(name)
                    self.capacity[found[gpio]] = len(instance.never_inputs)
        return found

    @staticmethod
    def beside(instance: str) -> str:
        """Resource that is either an instance at work or an input on a pad it forbids."""
        return f"input beside {instance}"

    def _limit_currents(self) -> None:
        electrical = self.board.chip.electrical
        if electrical.i_total_max_a and electrical.i_total_max_a.value:
            self.capacity["current"] = round(electrical.i_total_max_a.value * 1e6)
        for group in self.board.chip.group:
            for side, limit in (("source", group.sum_source_max_a), ("sink", group.sum_sink_max_a)):
                if limit is not None:
                    self.capacity[f"{side} {group.id}"] = round(limit * 1e6)

    def currents(self, net: Net, place: Place) -> Iterator[tuple[str, int]]:
        """Shares of the current limits this net takes on this pin, in µA."""
        for line in net.lines:
            asks = line.asks
            if not asks.drives or not asks.i_in_a or asks.needs.driver or asks.i_in_a > pin_current_max(asks, self.board, place):
                continue
            amount = math.ceil(asks.i_in_a * 1e6)
            side = "sink" if sinks(asks) else "source"
            if "current" in self.capacity:
                yield "current", amount
            for group in self.board.chip.group:
                if place.pad.gpio in group.pads and f"{side} {group.id}" in self.capacity:
                    yield f"{side} {group.id}", amount


class Chooser:
    """Ways to use a pin for one net."""

    def __init__(self, shared: Shared, net: Net) -> None:
        self.shared, self.net = shared, net
        self.asks = net.lines[0].asks
        self.bus = shared.nets.buses[net.bus] if net.bus >= 0 else None
        self.engines = list(_engines(shared, self.asks))
        self.current_marks = tuple(_current_marks(net, shared.board))
        self.takes_current = any(line.asks.drives and line.asks.i_in_a for line in net.lines)
        self.circuits: dict[tuple[object, ...], tuple[Circuit, tuple[Circuit, ...]]] = {}
        self.pool_modes: dict[tuple[str, float | None], tuple[str, ...]] = {}

    def ways(self, place: Place) -> tuple[list[Choice], list[Strike]]:
        """Choices on this pin; if there are none, the strikes that say why."""
        base = Choice(uses=tuple(self.shared.currents(self.net, place))) if self.takes_current else _PLAIN
        if place.pad.interrupt_line and (self.asks.needs.interrupt == "yes" or self.asks.needs.count_pulses):
            name = f"interrupt line {place.pad.interrupt_line}"
            self.shared.capacity[name] = 1
            base = replace(base, uses=(*base.uses, (name, 1)))
        if place.pad.gpio in self.shared.never_inputs and self.asks.direction != "out":
            base = replace(base, uses=(*base.uses, (self.shared.never_inputs[place.pad.gpio], 1)))
        if self.bus is not None:
            return self._on_bus(place, base)
        if self.asks.signal == "pwm":
            return self._on_pwm(place, base)
        if self.engines:
            return [replace(base, uses=(*base.uses, *uses), marks=marks) for uses, marks in self.engines], []
        if self.asks.needs.exact_pulses and self.asks.signal == "pulse":
            return [], [Strike("no-pulse-engine", f"{self.shared.board.chip.part} cannot make or catch pulses this exact")]
        return [base], []

    # -- buses --------------------------------------------------------------

    def _on_bus(self, place: Place, base: Choice) -> tuple[list[Choice], list[Strike]]:
        assert self.bus is not None
        choices = []
        kind, role = self.bus.kind, self.net.role
        setting_marks = {"software": 2 if kind == "uart" else 1}
        classes = self.shared.instances[kind]
        for name, instance in classes:
            if kind == "uart" and self.bus.max_hz > instance.max_hz:
                continue
            if not self._reaches(instance, place, role):
                continue
            marks = []
            if instance.wiring == "software" and any(other.wiring != "software" and not other.console for _, other in classes):
                marks.append(
                    Mark(
                        "software-bus",
                        f"the {kind.upper()} runs in software here",
                        setting_marks["software"],
                        self.shared.board.chip_cite(instance),
                    )
                )
            is_console = (instance.block or instance.id) in self.shared.console_blocks
            wish = "console" if is_console and self.shared.keeps_console else ""
            keeps_free = ((self.shared.beside(name), len(instance.never_inputs)),) if instance.never_inputs and role == _LEADS[kind] else ()
            choices.append(replace(base, instance=name, wish=wish, marks=tuple(marks), uses=(*base.uses, *keeps_free)))
        if choices:
            if all(choice.wish for choice in choices):
                taken = f"carries only the {kind.upper()} {role} that serves as console, and the brief keeps the console"
                return choices, [Strike("console-port-kept", taken, "console")]
            return choices, []
        fastest = max((instance.max_hz for _, instance in classes if self._reaches(instance, place, role)), default=0.0)
        if kind == "uart" and fastest:
            words = f"carries no UART {role} fast enough: {self.bus.max_hz:g} Bd wanted, {fastest:g} Bd at most"
            return [], [Strike("slow-bus", words, cite=self.shared.board.column_cite("functions", place.pad))]
        return [], [Strike("no-bus", f"carries no {kind.upper()} {role}", cite=self.shared.board.column_cite("functions", place.pad))]

    def _reaches(self, instance: BusInstance, place: Place, role: str) -> bool:
        if instance.wiring == "fixed":
            return role in instance.roles and instance.roles[role] in place.pad.functions
        if instance.roles and role not in instance.roles:
            return False
        return not (instance.wiring == "software" and self.asks.reads and instance.kind == "uart" and not place.pad.interrupt)

    # -- pwm ----------------------------------------------------------------

    def _on_pwm(self, place: Place, base: Choice) -> tuple[list[Choice], list[Strike]]:
        choices = []
        pools = {pool.id: pool for pool in self.shared.board.chip.pwm}
        for use in place.pad.pwm:
            pool = pools[use.pool]
            modes = self._modes(pool, None if place.pad.slow_for_radio else place.pad.max_hz)
            if not modes:
                continue
            uses = [*base.uses]
            capacity = self.shared.capacity
            if use.channel:
                capacity[f"PWM {pool.id} {use.channel}"] = 1
                uses.append((f"PWM {pool.id} {use.channel}", 1))
            else:
                capacity[f"PWM {pool.id}"] = pool.channels
                uses.append((f"PWM {pool.id}", 1))
            timer = pool.timer_id or pool.id
            self.shared.timers[timer] = pool.timers
            marks = (
                (Mark("software-pwm", f"PWM is made in software here ({pool.note or 'it jitters'})", 2, self.shared.board.chip_cite(pool)),)
                if pool.kind == "software"
                else ()
            )
            choices.append(replace(base, pool=pool.id, timer=timer, modes=modes, uses=tuple(uses), marks=marks))
        if choices:
            return choices, []
        needs = self.asks.needs
        low, high = needs.pwm_min_hz or 0, needs.pwm_max_hz or 0
        wanted = f"at {low:g} Hz" if low == high else f"between {low:g} and {high:g} Hz"
        what = f"cannot make PWM {wanted}" if place.pad.pwm else "has no PWM"
        pad = place.pad
        return [], [Strike("no-pwm", what, cite=self.shared.board.column_cite("pwm", pad))]

    def _modes(self, pool: PwmPool, most_hz: float | None) -> tuple[str, ...]:
        if (pool.id, most_hz) not in self.pool_modes:
            found = pool_frequencies(pool, self.asks, self.shared.hz_wanted, self.shared.board.clock_scale)
            ways = f" {pool.id}" if pool.timer_id else ""
            self.pool_modes[pool.id, most_hz] = tuple(f"{hz:g} Hz{ways}" for hz in found if hz <= (most_hz or math.inf))
        return self.pool_modes[pool.id, most_hz]


def _wanted_frequencies(nets: Nets) -> set[float]:
    """Frequencies worth considering: the ends of every range, and 1 kHz where it lies inside (smooth and quiet)."""
    wanted: set[float] = set()
    for net in nets.nets:
        needs = net.lines[0].asks.needs
        if net.lines[0].asks.signal == "pwm":
            low, high = needs.pwm_min_hz or 1.0, needs.pwm_max_hz or 1e9
            wanted.update((low, _nice_hz(low, high)))
    return wanted


def pool_frequencies(pool: PwmPool, asks: Asks, wanted: Iterable[float], clock_scale: float = 1.0) -> list[float]:
    """Frequencies [Hz] this pool can make that suit the line, from those worth considering."""
    needs = asks.needs
    if pool.square_only and not needs.square_wave:
        return []
    low, high = needs.pwm_min_hz or 0.0, needs.pwm_max_hz or float("inf")
    clock = pool.clock_hz * clock_scale
    if pool.fixed_hz is not None:
        choices = [pool.fixed_hz * clock_scale]
    elif pool.hz_choices:
        choices = [hz * clock_scale for hz in pool.hz_choices]
    else:
        slowest = (pool.hz_min_hz or clock / (pool.divider_max * 2**pool.counter_bits)) * (
            clock_scale if pool.hz_min_hz and pool.kind == "hardware" else 1
        )
        fastest = pool.hz_max_hz or clock / 2
        choices = [hz for hz in wanted if slowest <= hz <= fastest]
    fitting = [hz for hz in choices if low * 0.999 <= hz <= high * 1.001 and pwm_bits(pool, hz, clock_scale) >= (needs.pwm_bits or 1)]
    nice = _nice_hz(low or 1.0, min(high, 1e9))
    return sorted(fitting, key=lambda hz: abs(math.log(hz / nice)))


def _nice_hz(low: float, high: float) -> float:
    """Frequency [Hz] to aim at inside a range: the usual one if it lies there, else the middle (by ratio)."""
    return USUAL_HZ if low <= USUAL_HZ <= high else math.sqrt(low * high)


def pwm_bits(pool: PwmPool, hz: float, clock_scale: float = 1.0) -> int:
    """Duty resolution a pool reaches at a frequency: floor(log2(clock / f)), at most its counter's bits."""
    return min(pool.counter_bits, math.floor(math.log2(pool.clock_hz * clock_scale / hz) + 1e-9))


def _engines(shared: Shared, asks: Asks) -> Iterator[tuple[tuple[tuple[str, int], ...], tuple[Mark, ...]]]:
    """Pulse engines that serve the line, with what they use up and what speaks against them."""
    if not (asks.needs.exact_pulses and asks.signal == "pulse"):
        return
    wanted = {"pulse-out"} if asks.direction == "out" else {"pulse-in"} if asks.direction == "in" else {"pulse-out", "pulse-in"}
    serving = [engine for engine in shared.board.chip.engine if wanted <= set(engine.gives)]
    if not serving and len(wanted) == 2:  # one wire both ways: two engines of one kind may share it
        serving = [engine for engine in shared.board.chip.engine if wanted & set(engine.gives)]
    for engine in serving:
        name = f"pulse engine {engine.id}"
        shared.capacity[name] = engine.count
        marks: tuple[Mark, ...] = ()
        if engine.kind == "software":
            marks = (
                Mark(
                    "software-pulses",
                    f"pulses are made in software here ({engine.note or 'interrupts stretch them'})",
                    2,
                    shared.board.chip_cite(engine),
                ),
            )
        yield ((name, 1),), marks


def _current_marks(net: Net, board: BoardView) -> Iterator[Mark]:
    design = board.chip.electrical.i_pin_design_a
    for line in net.lines:
        current = line.asks.i_in_a
        if line.asks.drives and not line.asks.needs.driver and current > (design.value or 0):
            words = f"takes {current * 1e3:.3g} mA, more than the {(design.value or 0) * 1e3:.3g} mA to plan with"
            yield Mark("current", words, 2, board.chip_cite(design))
