"""Expand the parts of a brief into lines: single conductors, each with everything it asks of its pin."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from pinwright.brief.fitted import FittedPiece, parse_accuracy, parse_fitted
from pinwright.facts.model import Curve, Level, Load, Needs, PartLine, PullFitted

if TYPE_CHECKING:
    from pinwright.brief.model import BriefLine, BriefPart, LineWish
    from pinwright.brief.reader import BriefFile
    from pinwright.facts.loader import Catalogue
    from pinwright.facts.model import I2cFacts, Part

__all__ = ["Asks", "BusNeeds", "Device", "Line", "Rail", "expand"]

LONG_WIRE_M = 0.5
"""Beyond this length an internal pull is too weak against noise (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Rail:
    """Supply range of a part [V]; ``fixed_v`` where the maker has said what feeds it; ``strong``: it takes so much that it
    belongs on the rail its data names as usual, not on the board's own regulator.
    """

    min_v: float | None = None
    typ_v: float | None = None
    max_v: float | None = None
    fixed_v: float | None = None
    strong: bool = False

    def at(self, logic_v: float) -> float:
        """Voltage [V] the part runs at beside a board of ``logic_v``: the board's own if it can."""
        if self.fixed_v is not None:
            return self.fixed_v
        low, high = self.min_v or 0.0, self.max_v if self.max_v is not None else 1e9
        if self.strong and self.typ_v is not None:
            return self.typ_v
        for rail in (logic_v, 5.0, 3.3):
            if low <= rail <= high:
                return rail
        return self.typ_v or high


@dataclass(frozen=True, slots=True)
class Asks:
    """Everything a line asks of its pin; equal asks can be judged once.

    ``accuracy``: largest error its reading may have, in the unit of ``curve``.  ``pwm_channel``: number finished firmware gives it.
    """

    direction: str
    signal: str
    role: str
    needs: Needs
    rest: str = ""
    safe_level: str = "any"
    quiet: str = "no"
    floats: str = ""
    pull_fitted: PullFitted | None = None
    i_in_a: float = 0.0
    vil: Level | None = None
    vih: Level | None = None
    vol: Level | None = None
    voh: Level | None = None
    v_max: Level | None = None
    rail: Rail = Rail()
    long_wire: bool = False
    wire_m: float = 0.0
    r_in_ohm: float | None = None
    c_in_f: float | None = None
    i_sink_a: float | None = None
    load: Load | None = None
    curve: Curve | None = None
    accuracy: float | None = None
    pwm_channel: int | None = None

    @property
    def reads(self) -> bool:
        """Whether the board listens on this line."""
        return self.direction in ("in", "bidir", "open-drain")

    @property
    def drives(self) -> bool:
        """Whether the board drives this line."""
        return self.direction in ("out", "bidir", "open-drain")


@dataclass(frozen=True, slots=True)
class BusNeeds:
    """What a part wants of the bus it hangs on: addresses it can take, clock or rate [Hz], sharing.

    ``starts_at``: address it answers at after every start, for parts that take others by command.
    """

    addresses: tuple[int, ...] = ()
    max_hz: float = 0.0
    shares: bool = True
    starts_at: int | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """One conductor.  ``id`` is ``part.line``; ``place`` says where in the brief it comes from.

    ``fitted``: what the maker says is between pin and part, from the pin to the part; ``None`` where nobody says.
    """

    id: str
    part: str
    name: str
    title: str
    place: str
    asks: Asks
    lock: str = ""
    fitted: tuple[FittedPiece, ...] | None = None


@dataclass(frozen=True, slots=True)
class Device:
    """One part of the brief with its lines; ``bus`` by signal (i2c, spi, uart, i2s).

    ``switched``: its supply is off while the device sleeps.  ``ports``: use of an expander's ports, ``in`` or ``out``.
    """

    name: str
    kind: str
    title: str
    place: str
    lines: tuple[Line, ...]
    bus: dict[str, BusNeeds]
    switched: bool = False
    ports: tuple[tuple[str, str], ...] = ()


def expand(file: BriefFile, catalogue: Catalogue) -> list[Device]:
    """All parts of a brief as devices with lines, in the order of the brief."""
    devices = []
    for index, wish in enumerate(file.brief.part):
        place = file.place("part", index, "name")
        known = catalogue.part(wish.kind) if wish.kind is not None else None
        for number in range(1, wish.count + 1):
            name = wish.name if wish.count == 1 else f"{wish.name} {number}"
            devices.append(_device(wish, known, name, place))
    return devices


def _device(wish: BriefPart, known: Part | None, name: str, place: str) -> Device:
    title = known.title if known else "part of your own"
    rail = _rail(wish, known)
    lines = []
    for line_name, asks in _catalogue_asks(wish, known, rail) if known else _own_asks(wish, rail):
        lock = wish.pins.get(line_name, "")
        fitted = tuple(map(parse_fitted, wish.fitted[line_name])) if line_name in wish.fitted else None
        lines.append(Line(f"{name}.{line_name}", name, line_name, title, place, asks, lock, fitted))
    return Device(
        name, wish.kind or "", title, place, tuple(lines), _bus_needs(wish, known, lines), wish.switched, tuple(wish.ports.items())
    )


STRONG_A = 0.2
"""From here on a part is fed at its usual voltage rather than from the board's regulator [A] (common practice, no source)."""


def _rail(wish: BriefPart, known: Part | None) -> Rail:
    if known is None:
        return Rail(fixed_v=wish.supply_v)
    supply = known.supply_v
    active = known.current_a.active
    amps = max((v for v in (active.value, active.max, active.typ) if v is not None), default=0.0) if active else 0.0
    return Rail(supply.min, supply.typ, supply.max, wish.supply_v, amps >= STRONG_A)


def _bus_needs(wish: BriefPart, known: Part | None, lines: list[Line]) -> dict[str, BusNeeds]:
    needs: dict[str, BusNeeds] = {}
    if known is None:
        speed = wish.speed_hz or 100_000.0
        needs["i2c"] = BusNeeds((wish.address,) if wish.address is not None else (), speed)
        needs["spi"] = BusNeeds(max_hz=wish.speed_hz or 1_000_000.0)
        needs["uart"] = BusNeeds(max_hz=wish.baud or 9600.0)
        return needs
    if known.i2c:
        needs["i2c"] = _i2c_needs(wish, known, known.i2c, lines)
    if known.spi:
        needs["spi"] = BusNeeds(max_hz=known.spi.max_hz, shares=known.spi.shares)
    if known.uart:
        needs["uart"] = BusNeeds(max_hz=wish.baud or known.uart.baud)
    return needs


_LAST_ADDRESS = 0x77
"""Highest address a part may have   [UM10204, 3.1.12, from memory]."""


def _i2c_needs(wish: BriefPart, known: Part, facts: I2cFacts, lines: list[Line]) -> BusNeeds:
    """Addresses of a part: by pins or jumper; any, for one that can be held off the bus while others get theirs by command."""
    starts_at = facts.default if facts.hold_off else None
    if wish.address is not None:
        return BusNeeds((wish.address,), facts.max_hz, starts_at=starts_at)
    addresses = facts.addresses
    if facts.hold_off and any(line.name == facts.hold_off for line in lines):
        addresses = (*addresses, *range(facts.default + 1, _LAST_ADDRESS + 1))
    return BusNeeds(addresses, facts.max_hz, starts_at=starts_at)


# ------------------------------------------------------------------------------ catalogue parts


def _catalogue_asks(wish: BriefPart, known: Part, rail: Rail) -> Iterable[tuple[str, Asks]]:
    pull = PullFitted(direction="up", ohm=known.module_pull_up.value) if known.module_pull_up else None
    for line in known.line:
        if line.name in wish.leave_out or (line.optional and not _wanted(line, wish)):
            continue
        count = wish.wires.get(line.name, line.count)
        for number in range(1, count + 1):
            name = line.name if line.count == 1 else f"{line.name}{number}"
            fitted = line.pull_fitted or (pull if line.signal == "i2c" else None)
            asks = _changed(_line_asks(line, rail, fitted, wish), wish.change.get(line.name), wish)
            yield name, asks


def _wanted(line: PartLine, wish: BriefPart) -> bool:
    """An optional line is wired when the brief mentions it."""
    return line.name in wish.connect or line.name in wish.pins or line.name in wish.change or line.name in wish.wires


def _line_asks(line: PartLine, rail: Rail, fitted: PullFitted | None, wish: BriefPart) -> Asks:
    return Asks(
        direction=line.direction,
        signal=line.signal,
        role=line.role,
        needs=line.needs,
        rest=line.rest,
        safe_level=line.safe_level,
        quiet=line.quiet,
        floats=line.floats,
        pull_fitted=fitted,
        i_in_a=line.i_in_a or 0.0,
        vil=_figures(line.vil),
        vih=_figures(line.vih),
        vol=_figures(line.vol),
        voh=_figures(line.voh),
        v_max=_figures(line.v_max),
        rail=rail,
        long_wire=(wish.wire_m or 0.0) > LONG_WIRE_M,
        wire_m=wish.wire_m or 0.0,
        r_in_ohm=line.r_in_ohm,
        c_in_f=line.c_in_f,
        i_sink_a=line.i_sink_a,
        load=_load(line.load, wish),
        curve=line.curve,
    )


def _load(load: Load | None, wish: BriefPart) -> Load | None:
    """What a stage switches, with the current and the supply the brief names for the part."""
    if load is None or load.stage == "pin" or load.kind == "input":
        return load
    amps = load.i_a if wish.current_a is None else max(wish.current_a, 1e-6)
    volts = load.v_v if wish.supply_v is None else wish.supply_v
    inrush = load.inrush_a * amps / load.i_a if load.inrush_a else None
    return replace(load, i_a=amps, v_v=volts, inrush_a=inrush)


def _figures(level: Level | None) -> Level | None:
    """A level without its citation, so that equal levels compare equal."""
    return None if level is None else Level(v=level.v, frac=level.frac, of=level.of)


def _changed(asks: Asks, change: LineWish | None, wish: BriefPart) -> Asks:
    asks = _with_power_up(asks, wish.power_up, None)
    return asks if change is None else _with_wish(asks, change)


def _with_wish(asks: Asks, wish: LineWish) -> Asks:
    """Apply what the brief says about one line."""
    needs = asks.needs
    given: dict[str, Any] = {
        "interrupt": wish.interrupt,
        "wake": wish.wake,
        "pull": wish.pull,
        "pull_ohm": wish.pull_resistor_ohm,
        "external_pull": True if wish.pull_resistor_ohm is not None else None,
        "pwm_min_hz": wish.pwm[0] if wish.pwm else None,
        "pwm_max_hz": wish.pwm[1] if wish.pwm else None,
        "pwm_bits": wish.pwm_bits,
        "adc_bits": wish.adc_bits,
        "exact_pulses": wish.exact_pulses,
        "count_pulses": wish.count_pulses,
    }
    needs = replace(needs, **{key: value for key, value in given.items() if value is not None})
    signal = "pwm" if wish.pwm and asks.signal == "digital" else asks.signal
    current = asks.i_in_a if wish.current_a is None else wish.current_a
    source = asks.r_in_ohm if wish.source_resistance_ohm is None else wish.source_resistance_ohm
    accuracy = asks.accuracy if wish.accuracy is None else parse_accuracy(wish.accuracy)[0]
    if asks.direction == "in" and wish.pull in ("up", "down") and asks.needs.pull not in ("none", wish.pull):
        # A contact turned round: it rests where its resistor leads, and closes to the other rail.
        asks = replace(asks, rest={"high": "low", "low": "high"}.get(asks.rest, asks.rest))
    asks = replace(asks, needs=needs, signal=signal, i_in_a=current, r_in_ohm=source, accuracy=accuracy, pwm_channel=wish.pwm_channel)
    return _with_power_up(asks, wish.power_up, wish.off_level)


def _with_power_up(asks: Asks, power_up: str | None, off_level: str | None) -> Asks:
    if off_level is not None:
        asks = replace(asks, safe_level=off_level)
    if power_up == "must stay off" and asks.safe_level != "any" and asks.drives:
        return replace(asks, quiet="must")
    if power_up == "may twitch":
        return replace(asks, quiet="prefer" if asks.safe_level != "any" else "no")
    if power_up == "any":
        return replace(asks, quiet="no")
    return asks


# ------------------------------------------------------------------------------ parts of the maker's own


def _own_asks(wish: BriefPart, rail: Rail) -> Iterable[tuple[str, Asks]]:
    for line in wish.line:
        if line.name not in wish.leave_out:
            yield line.name, _own_line(line, wish, rail)


def _only_pulls_low(line: BriefLine) -> bool:
    """Whether nothing says that the part ever makes a high itself."""
    return line.gives_high_of_v is None and line.highest_v is None


def _own_line(line: BriefLine, wish: BriefPart, rail: Rail) -> Asks:
    needs = Needs()
    if line.signal == "onewire":
        needs = Needs(pull="up", pull_ohm=4700.0, external_pull=True)
    elif line.direction == "in" and line.rest == "released" and line.signal != "analog" and _only_pulls_low(line):
        needs = Needs(pull="up")  # an open collector: somebody must make the high
    asks = Asks(
        direction=line.direction,
        signal=line.signal,
        role=line.role,
        needs=needs,
        rest=line.rest,
        safe_level=line.off_level or "any",
        floats=line.floats,
        vil=_fixed(line.takes_low_up_to_v),
        vih=_fixed(line.takes_high_from_v),
        vol=_fixed(line.gives_low_of_v),
        voh=_fixed(line.gives_high_of_v),
        v_max=_fixed(line.highest_v if line.highest_v is not None else line.gives_high_of_v),
        rail=rail,
        long_wire=(wish.wire_m or 0.0) > LONG_WIRE_M,
        wire_m=wish.wire_m or 0.0,
    )
    return _with_stage(_with_wish(_with_power_up(asks, wish.power_up, line.off_level), line), wish)


BIG_LOAD_A = 0.05
"""No pin gives this much [A]: a stage must stand between (common practice, no source)."""


def _with_stage(asks: Asks, wish: BriefPart) -> Asks:
    """A load of the maker's own that no pin can feed hangs behind a transistor; what it is nobody says, so it gets a diode."""
    if asks.direction != "out" or asks.i_in_a < BIG_LOAD_A or asks.safe_level == "high" or asks.needs.driver_components:
        return asks
    load = Load(kind="coil", v_v=wish.supply_v or 5.0, i_a=asks.i_in_a, note="a load of your own")
    needs = replace(asks.needs, driver="transistor to ground with its base or gate resistor, diode across the load", driver_components=3)
    return replace(asks, needs=needs, load=load, i_in_a=0.0)


def _fixed(volts: float | None) -> Level | None:
    return None if volts is None else Level(v=volts)
