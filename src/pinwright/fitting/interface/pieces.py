"""What an interface circuit is made of: elements, the components in them, and the checks it passed.

An element is what a maker would name (a divider, a transistor stage); its pieces are what must be bought, each with
the window its value may lie in, what sets each end, and the formula behind it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from pinwright.circuits.window import Window, shown

__all__ = ["Check", "Circuit", "Element", "Piece", "joined", "one_by_one"]

_SHARED = ("pull-up", "pull-down", "internal pull", "level shifter")
_PULLS = ("pull-up", "pull-down", "internal pull")


@dataclass(frozen=True, slots=True)
class Piece:
    """One component: ``role`` is its place in the circuit (upper, base, gate, flyback, ...), ``value`` in SI units of ``unit``.

    ``rating`` says what it must stand, ``part`` names the catalogue's entry, ``origin`` is the stock or the series it is from,
    ``why`` says why this value; ``formula`` names the function that gave the window.
    """

    what: str
    role: str = ""
    value: float | None = None
    unit: str = "Ω"
    rating: str = ""
    part: str = ""
    window: Window | None = None
    origin: str = ""
    why: str = ""
    formula: str = ""

    @property
    def words(self) -> str:
        """Name for lists: ``resistor 4.7 kΩ (upper)``."""
        value = f" {shown(self.value, self.unit)}" if self.value is not None else ""
        role = f" ({self.role})" if self.role else ""
        return f"{self.what}{value}{role}"

    @property
    def margin(self) -> str:
        """How far the value lies from the nearer end of its window, as a factor; empty without a window."""
        if self.window is None or self.value is None or self.window.is_empty:
            return ""
        if self.value not in self.window:
            return f"outside its window, {self.window.words}"
        above = self.value / self.window.low.value if self.window.low.value > 0 else float("inf")
        below = self.window.high.value / self.value
        end, factor = (self.window.low, above) if above < below else (self.window.high, below)
        return f"a factor of {factor:.3g} from {shown(end.value, self.window.unit)}, where {end.because}"


@dataclass(frozen=True, slots=True)
class Check:
    """An inequality that holds: ``words`` with its numbers, ``margin`` in ``unit``, and the ``formula`` behind it.

    ``holds`` is false where it does not, but nothing can be fitted that would help and the line works in the usual case.
    """

    what: str
    words: str
    margin: float
    unit: str
    formula: str
    holds: bool = True


@dataclass(frozen=True, slots=True)
class Element:
    """One element of an interface circuit; ``components`` counts what must be bought.  ``why`` names the need.

    ``ohm`` is the resistance that matters to the wire (the pull, the upper resistor of a divider).
    ``to_v``: rail a pull-up leads to where that is not the board's logic supply [V]; ``off_ohm``: pull-ups of modules to take off [ohm].
    """

    kind: str
    words: str
    components: int
    why: str
    ohm: float | None = None
    pieces: tuple[Piece, ...] = ()
    to_v: float | None = None
    off_ohm: tuple[float, ...] = ()


@dataclass(frozen=True)
class Circuit:
    """Everything between one pin and the lines on it, in the order from the pin to the part, and the checks it passed.

    ``fails``: no circuit we know makes this line work on this pin, and why (empty: it works).
    """

    elements: tuple[Element, ...] = ()
    checks: tuple[Check, ...] = ()
    fails: str = ""

    @cached_property
    def components(self) -> int:
        """How many components must be bought [-]."""
        return sum(element.components for element in self.elements)

    @cached_property
    def tight(self) -> tuple[Check, ...]:
        """Checks that do not hold."""
        return tuple(check for check in self.checks if not check.holds)

    @property
    def words(self) -> str:
        """Name for tables: ``direct`` or the elements."""
        return " + ".join(element.words for element in self.elements) or "direct"

    @property
    def short(self) -> str:
        """The same for narrow tables: a driver stage by its name only."""
        return " + ".join(e.kind if e.kind in ("driver", "level shifter") else e.words for e in self.elements) or "direct"

    def of(self, *kinds: str) -> Element | None:
        """First element of one of these kinds."""
        return next((element for element in self.elements if element.kind in kinds), None)


def joined(circuits: list[Circuit]) -> Circuit:
    """Circuit of a pin several lines share: pulls and shifters are fitted once, all else for each line that needs it."""
    if len(circuits) == 1:
        return circuits[0]
    elements: list[Element] = []
    for circuit in circuits:
        for element in circuit.elements:
            if not (element.kind in _SHARED and any(e.kind == element.kind for e in elements)):
                elements.append(element)
    checks = tuple(dict.fromkeys(check for circuit in circuits for check in circuit.checks))
    return Circuit(tuple(elements), checks, next((circuit.fails for circuit in circuits if circuit.fails), ""))


def one_by_one(circuits: list[Circuit]) -> tuple[Circuit, ...]:
    """Circuit of each line on a shared pin: its own, with what is fitted once for all (pulls) on the first line only."""
    shared = [e for e in joined(circuits).elements if e.kind in _PULLS]
    own = [tuple(e for e in circuit.elements if e.kind not in _PULLS) for circuit in circuits]
    return tuple(
        Circuit((*elements, *(shared if number == 0 else ())), circuit.checks, circuit.fails)
        for number, (elements, circuit) in enumerate(zip(own, circuits, strict=True))
    )
