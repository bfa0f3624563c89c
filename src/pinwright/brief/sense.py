"""Faults of sense: names nobody knows and values that cannot hold together, held against the catalogue.

A brief whose shape has faults is judged as well, without its faulty values (see ``shape.mended``): nothing is
said about what a faulty value might have meant.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import TYPE_CHECKING

from pinwright.brief.fitted import parse_accuracy, parse_fitted, same_unit
from pinwright.brief.toml_text import KeyPath, bare, key_text, shown
from pinwright.errors import Fault, nearest
from pinwright.facts.ports import port_names
from pinwright.quantities import show_quantity
from pinwright.toml_lines import Lines

if TYPE_CHECKING:
    from pinwright.brief.model import Brief, BriefLine, BriefPart, LineWish
    from pinwright.facts.loader import Catalogue
    from pinwright.facts.model import Curve, Part, PartLine

__all__ = ["sense_faults"]

_ROLES = {"i2c": ("SCL", "SDA"), "spi": ("CS", "MISO", "MOSI", "SCK"), "uart": ("RX", "TX"), "i2s": ("BCLK", "DIN", "DOUT", "MCLK", "WS")}
_DRIVEN = ("out", "bidir", "open-drain")
_OFF = 'off_level = "low", "high" or "released"'


def sense_faults(
    brief: Brief, name: str, lines: Lines, catalogue: Catalogue, hurt: Collection[KeyPath] = (), most: int = 500
) -> list[Fault]:
    """Everything a brief asks for that the catalogue or the brief itself contradicts.

    Parameters
    ----------
    brief : the brief, or what is left of it without faulty values [-]
    name, lines : its file and where values stand in it [-]
    hurt : paths of faulty values, about which nothing is said [-]
    most : stop after this many faults [-]
    """
    return _Judge(brief, name, lines, catalogue, set(hurt), most).run()


class _Judge:
    def __init__(self, brief: Brief, name: str, lines: Lines, catalogue: Catalogue, hurt: set[KeyPath], most: int) -> None:
        self.brief, self.file, self.lines, self.catalogue, self.most = brief, name, lines, catalogue, most
        self.hurt = hurt
        self.around_hurt = {path[:length] for path in hurt for length in range(len(path) + 1)}
        self.faults: list[Fault] = []

    def run(self) -> list[Fault]:
        self.board()
        self.ambient()
        self.names()
        for i, part in enumerate(self.brief.part):
            if len(self.faults) >= self.most:
                break
            self.part(part, i)
        self.pins()
        return self.faults

    def report(
        self,
        path: KeyPath,
        wrong: str,
        right: str = "",
        near: tuple[str, Iterable[str]] | None = None,
        also: Iterable[KeyPath] = (),
        or_else: str = "",
    ) -> None:
        """Note a fault, unless it rests on a value that is itself faulty (``also`` lists what else it rests on).

        ``near`` is a name and those it may have meant; ``or_else`` helps where none of them is near.
        """
        if len(self.faults) >= self.most or self.is_hurt(path) or any(self.is_hurt(other) or other in self.around_hurt for other in also):
            return
        guess = "".join(map(bare, nearest(near[0][:200], near[1], 1))) if near else ""
        if not guess and or_else:
            right = or_else
        self.faults.append(Fault(self.file, self.lines.line(path), key_text(path), wrong, right, guess))

    def is_hurt(self, path: KeyPath) -> bool:
        return any(path[:length] in self.hurt for length in range(len(path) + 1))

    # -- whole brief -------------------------------------------------------

    def board(self) -> None:
        from pinwright.brief.prices import parse_money

        wish = self.brief.board
        for key in ("only", "prefer", "avoid", "own"):
            for j, board in enumerate(getattr(wish, key)):
                if board not in self.catalogue.boards:
                    self.report(
                        ("board", key, j),
                        f"The catalogue has no board {shown(board)}.",
                        near=(board, self.catalogue.boards),
                        or_else="'pinwright facts list boards' shows them all.",
                    )
        kind = self.brief.supply.kind
        if kind is not None and (kind not in self.catalogue.parts or self.catalogue.parts[kind].family != "supply"):
            sources = [part.id for part in self.catalogue.parts.values() if part.family == "supply"]
            self.report(("supply", "kind"), f"{shown(kind)} is no supply of the catalogue.", near=(kind, sources), or_else="Leave it out.")
        use = self.brief.use
        if use.awake_for_s is not None and use.wake_every_s is not None and use.awake_for_s > use.wake_every_s:
            self.report(
                ("use", "awake_for"), "The device would stay awake longer than until it wakes again.", "Make it shorter than wake_every."
            )
        for j, part in enumerate(self.brief.stock.parts):
            if part not in self.catalogue.parts:
                self.report(
                    ("stock", "parts", j),
                    f"The catalogue has no part {shown(part)}.",
                    near=(part, self.catalogue.parts),
                    or_else="'pinwright facts search WORD' finds parts.",
                )
        for j, board in enumerate(wish.avoid):
            for key in ("only", "prefer"):
                if board in getattr(wish, key):
                    self.report(("board", "avoid", j), f"{shown(board)} stands under {key} and under avoid.", "Take it out of one.")
        if wish.budget is not None:
            try:
                parse_money(wish.budget)
            except ValueError as error:
                self.report(("board", "budget"), str(error))

    def ambient(self) -> None:
        ambient = self.brief.use.ambient_c
        if ambient and ambient[0] > ambient[1]:
            self.report(("use", "ambient"), "The lowest temperature is above the highest.", "Write the lower one first.")

    def names(self) -> None:
        """No two parts may have one name, also not after counting: two of 'key' are called 'key 1' and 'key 2'."""
        owner: dict[str, int] = {}
        for i, part in enumerate(self.brief.part):
            path: KeyPath = ("part", i, "name")
            if self.is_hurt(path):
                continue
            names = [part.name] if part.count == 1 else [f"{part.name} {number}" for number in range(1, part.count + 1)]
            taken = next((name for name in names if name in owner), None)
            if taken is not None:
                line = self.lines.line(("part", owner[taken], "name"))
                other = f"line {line}" if line else "above"
                self.report(path, f"Two parts are called {shown(taken)} (the other on {other}).", "Give each its own name.")
            for name in names:
                owner.setdefault(name, i)
        for name, i in owner.items():
            # A line is called part.line, so "a.b" beside "a" could make two lines of one name.
            heads = (name[:dot] for dot, char in enumerate(name) if char == ".")
            head = next((head for head in heads if head in owner), None)
            if head is not None:
                self.report(("part", i, "name"), f"{shown(name)} begins with the name of another part and a dot.", "Leave the dot out.")

    def pins(self) -> None:
        """Every pin that is fixed must exist on some board."""
        if not any(part.pins for part in self.brief.part):
            return
        boards, chips = self.catalogue.boards.values(), self.catalogue.chips.values()
        labels = {pin.label for board in boards for pin in board.header} | {pad.name for chip in chips for pad in chip.pad}
        folded = {label.casefold() for label in labels}
        for i, part in enumerate(self.brief.part):
            for line, pin in part.pins.items():
                if pin.casefold() not in folded:
                    right = "Write the label printed on the board, or the pad name."
                    self.report(("part", i, "pins", line), f"No board has a pin called {shown(pin)}.", right, (pin, sorted(labels)))

    # -- one part ----------------------------------------------------------

    def part(self, part: BriefPart, i: int) -> None:
        here: KeyPath = ("part", i)
        if part.kind is None and not part.line:
            also = ((*here, "kind"), (*here, "line"))
            right = 'Give kind = "…", or describe it with [[part.line]].'
            self.report(here, f"{shown(part.name)} has neither a kind nor lines.", right, also=(*also, (*here, "name")))
            return
        if part.kind is None:
            self.own_part(part, here)
            return
        if part.line:
            right = "Use [part.change.LINE] to change a line of a kind."
            self.report((*here, "line"), f"{shown(part.name)} has a kind and lines of its own.", right)
        known = self.catalogue.parts.get(part.kind)
        if known is None:
            self.unknown_kind(part.kind, here)
        elif not known.line:
            self.report((*here, "kind"), f"{known.title} has no wire to the controller.", "It needs no pin: leave it out of the brief.")
        else:
            self.kind_part(part, known, here)

    def unknown_kind(self, kind: str, here: KeyPath) -> None:
        wrong = f"The catalogue has no part {shown(kind)}."
        parts = self.catalogue.parts
        if nearest(kind[:200], parts, 1):
            self.report((*here, "kind"), wrong, near=(kind, parts))
            return
        words = {word: part.id for part in parts.values() for word in part.keywords}
        by_word = nearest(kind[:200], words, 1)
        near = (words[by_word[0]], parts) if by_word else None
        self.report((*here, "kind"), wrong, near=near, or_else="'pinwright facts search WORD' finds parts by what they do.")

    def kind_part(self, part: BriefPart, known: Part, here: KeyPath) -> None:
        self.kind_values(part, known, here)
        self.line_names(part, {line.name: line.count for line in known.line}, here)
        self.kind_power_up(part, known, here)
        lines = {line.name: line for line in known.line}
        for name, wish in part.change.items():
            at: KeyPath = (*here, "change", name)
            line = lines.get(name)
            self.wish(wish, at, line is not None and (line.needs.pull != "none" or line.signal in ("i2c", "onewire")))
            if line is not None:
                self.reading(wish, at, line.direction == "analog-in", line.curve)
            if line and wish.power_up == "must stay off" and wish.off_level is None and line.safe_level == "any":
                right, also = f"Add {_OFF}.", ((*at, "off_level"),)
                self.report((*at, "power_up"), "Nothing says at which level the part is off.", right, also=also)

    def kind_values(self, part: BriefPart, known: Part, here: KeyPath) -> None:
        address, supply = part.address, part.supply_v
        if address is not None and known.i2c is None:
            self.report((*here, "address"), f"{known.title} has no bus address.", "Leave the key out.")
        elif address is not None and known.i2c and address not in known.i2c.addresses:
            choices = ", ".join(f"0x{choice:02X}" for choice in known.i2c.addresses)
            self.report((*here, "address"), f"{known.title} cannot be at 0x{address:02X}.", f"It takes {choices}.")
        if part.baud is not None and known.uart is None:
            self.report((*here, "baud"), f"{known.title} has no serial line.", "Leave the key out.")
        if part.speed_hz is not None:
            self.report((*here, "speed"), "The catalogue knows the speed of this part.", "Leave the key out.")
        self.ports(part, known, here)
        low, high = known.supply_v.min, known.supply_v.max
        senses = known.facts.get("input_v")
        if supply is not None and low is None and high is None and known.supply_v.typ is None and senses is not None:
            # it has no supply of its own: the voltage beside it is the one it measures
            if senses.max is not None and supply > senses.max:
                wrong = f"{known.title} measures up to {senses.max:g} V, not {supply:g} V."
                self.report((*here, "supply"), wrong, "Describe the divider for your voltage as a part of your own with an analog-in line.")
            return
        if supply is not None and known.form != "source":
            if low is not None and high is not None and not low <= supply <= high:
                self.report((*here, "supply"), f"{known.title} takes {low:g} to {high:g} V, not {supply:g} V.")
            elif low is not None and supply < low:
                self.report((*here, "supply"), f"{known.title} takes at least {low:g} V, not {supply:g} V.")
            elif high is not None and supply > high:
                self.report((*here, "supply"), f"{known.title} takes at most {high:g} V, not {supply:g} V.")

    def ports(self, part: BriefPart, known: Part, here: KeyPath) -> None:
        """Ports of an expander by name; the entry of its ports may be one of its own."""
        if not part.ports:
            return
        names = port_names(known) or port_names(self.catalogue.parts.get(known.see))
        if not names:
            self.report((*here, "ports"), f"{known.title} has no ports to wire things to.", "Leave the key out.")
            return
        for name in part.ports:
            if name not in names:
                right = f"Its ports: {', '.join(names)}."
                self.report((*here, "ports", name), f"{known.title} has no port {shown(name)}.", right, (name, names))

    def kind_power_up(self, part: BriefPart, known: Part, here: KeyPath) -> None:
        if part.power_up != "must stay off":
            return
        driven = [line for line in known.line if line.direction in _DRIVEN and line.name not in part.leave_out]
        path: KeyPath = (*here, "power_up")
        if not driven:
            self.report(path, f"The board drives no line of {known.title}, so it cannot keep it off.", "Leave the key out.")
        elif not any(_knows_off(line, part.change.get(line.name)) for line in driven):
            names = ", ".join(line.name for line in driven)
            right = f"Add [part.change.LINE] with {_OFF}; its lines: {names}."
            self.report(path, f"Nothing says at which level {known.title} is off.", right, also=((*here, "change"),))

    # -- a part of the maker's own -----------------------------------------

    def own_part(self, part: BriefPart, here: KeyPath) -> None:
        seen: set[str] = set()
        for j, line in enumerate(part.line):
            at: KeyPath = (*here, "line", j)
            if line.name in seen:
                self.report((*at, "name"), f"Two lines are called {shown(line.name)}.", "Give each its own name.")
            if not self.is_hurt((*at, "name")):
                seen.add(line.name)
            self.own_line(line, at)
            self.own_levels(line, at)
            self.wish(line, at, line.pull is not None or line.signal in ("i2c", "onewire"))
            self.reading(line, at, line.direction == "analog-in", None, is_own=True)
        if part.ports:
            self.report(
                (*here, "ports"), "The ports of a part of your own are not known.", "Leave the key out, or name a kind of the catalogue."
            )
        self.own_bus(part, here)
        self.line_names(part, {line.name: 1 for line in part.line}, here)
        for name, wish in part.change.items():
            if name in seen:
                self.report((*here, "change", name), "A part of your own needs no change.", "Write it in the [[part.line]] itself.")
            self.wish(wish, (*here, "change", name), True)

    def own_line(self, line: BriefLine, at: KeyPath) -> None:
        signal, role, direction, off = (*at, "signal"), (*at, "role"), (*at, "direction"), (*at, "off_level")
        roles = _ROLES.get(line.signal, ())
        if roles and line.role not in roles:
            self.report(role, f"A line on {line.signal} needs a role.", f"Write one of {', '.join(roles)}.", also=(signal,))
        elif not roles and line.role not in ("", "DATA"):
            wrong = f"A line with the signal {line.signal} has no role {line.role}."
            self.report(role, wrong, "Leave the role out, or mend the signal.", also=(signal,))
        if (line.signal == "analog") != (line.direction in ("analog-in", "analog-out")):
            wrong = f"Direction {shown(line.direction)} and signal {shown(line.signal)} do not go together."
            self.report(direction, wrong, "Analog lines are analog-in or analog-out.", also=(signal,))
        if line.power_up == "must stay off":
            if line.direction in ("in", "analog-in"):
                wrong = "The part drives this line; the board cannot keep it off."
                self.report((*at, "power_up"), wrong, "Leave the key out.", also=(direction,))
            elif line.off_level is None:
                self.report((*at, "power_up"), "Nothing says at which level the part is off.", f"Add {_OFF}.", also=(off,))

    def own_levels(self, line: BriefLine, at: KeyPath) -> None:
        high, low, highest = line.gives_high_of_v, line.gives_low_of_v, line.highest_v
        if high is not None and low is not None and low >= high:
            self.report((*at, "gives_low_of"), "Its low is not below its high.")
        if high is not None and highest is not None and highest < high:
            self.report((*at, "highest"), "The highest voltage on the line is below the high the part gives.")
        from_v, up_to = line.takes_high_from_v, line.takes_low_up_to_v
        if from_v is not None and up_to is not None and up_to >= from_v:
            self.report((*at, "takes_low_up_to"), "The level it reads as low is not below the one it reads as high.")

    def own_bus(self, part: BriefPart, here: KeyPath) -> None:
        lines, signals = ((*here, "line"),), {line.signal for line in part.line}
        if "i2c" in signals and part.address is None:
            self.report((*here, "address"), "A part of your own on I2C needs its address.", "Add address = 0x40 (its own).")
        if part.address is not None and "i2c" not in signals:
            self.report((*here, "address"), "No line of this part is on I2C.", "Leave the address out.", also=lines)
        if "uart" in signals and part.baud is None:
            self.report((*here, "baud"), "A serial part of your own needs its rate.", 'Add baud = "9600 baud".')
        if part.baud is not None and "uart" not in signals:
            self.report((*here, "baud"), "No line of this part is serial.", "Leave the rate out.", also=lines)
        if part.power_up == "must stay off" and not any(line.off_level for line in part.line):
            right = "Add off_level to the line that switches it."
            self.report((*here, "power_up"), "No line says at which level the part is off.", right, also=lines)

    # -- lines -------------------------------------------------------------

    def wish(self, wish: LineWish, at: KeyPath, has_pull: bool) -> None:
        if wish.pwm and wish.pwm[0] > wish.pwm[1]:
            self.report((*at, "pwm"), "The lowest frequency is above the highest.", "Write the lower one first.")
        resistor, path = wish.pull_resistor_ohm, (*at, "pull_resistor")
        if resistor is None:
            return
        if resistor < 1:
            self.report(path, f"A pull resistor of {show_quantity(resistor, 'Ω')} is a bare wire.", "Write it like 4k7.")
        if wish.pull == "none":
            self.report(path, "There is a resistor, and pull says there is none.", "Take one of the two out.")
        elif wish.pull is None and not has_pull:
            right = 'Add pull = "up" or pull = "down".'
            self.report(path, "Nothing says whether this resistor pulls up or down.", right, also=((*at, "pull"),))

    def fitted(self, texts: tuple[str, ...], path: KeyPath) -> None:
        """One thing of a kind on a line; two pull-ups in parallel are one of half the value."""
        if self.is_hurt(path):
            return
        kinds = [parse_fitted(text).kind for text in texts]
        twice = next((kind for kind in kinds if kinds.count(kind) > 1), None)
        if twice is not None:
            self.report(
                (*path, len(kinds) - 1 - kinds[::-1].index(twice)),
                f"There are two of {twice} on one line.",
                "Write what both make together.",
            )

    def reading(self, wish: LineWish, at: KeyPath, is_analog: bool, curve: Curve | None, is_own: bool = False) -> None:
        """Keys that only an analog input has, and the unit an accuracy is in."""
        for key, value in (("source_resistance", wish.source_resistance_ohm), ("accuracy", wish.accuracy)):
            if value is not None and not is_analog:
                self.report(
                    (*at, key), "Only a line the board measures has this.", "Leave the key out.", also=((*at, "signal"), (*at, "direction"))
                )
        if wish.accuracy is None or not is_analog or self.is_hurt((*at, "accuracy")):
            return
        unit = parse_accuracy(wish.accuracy)[1]
        if curve is None:
            wrong = "How the voltage tells a quantity is not known" + (" of a part of your own." if is_own else " of this part.")
            self.report(
                (*at, "accuracy"), wrong, "Leave the key out." if not is_own else "Leave the key out, or name a kind of the catalogue."
            )
        elif not same_unit(unit, curve.unit):
            self.report(
                (*at, "accuracy"),
                f"{curve.quantity[:1].upper()}{curve.quantity[1:]} is in {curve.unit}, not in {shown(unit)}.",
                f"Write it like 0.5 {curve.unit}.",
            )

    def line_names(self, part: BriefPart, counts: dict[str, int], here: KeyPath) -> None:
        """Every line named anywhere in the part must be one of its lines."""
        wires: dict[str, None] = {}  # in the order of the part, so that messages are the same every time
        for name, count in counts.items():
            repeated = part.wires.get(name, count) if count > 1 else 1
            wires.update(dict.fromkeys([name] if count == 1 else [f"{name}{number}" for number in range(1, repeated + 1)]))
        lists: tuple[tuple[str, Iterable[str], Collection[str]], ...] = (
            ("pins", part.pins, wires),
            ("connect", part.connect, counts),
            ("leave_out", part.leave_out, counts),
            ("wires", part.wires, counts),
            ("change", part.change, counts),
            ("fitted", part.fitted, wires),
        )
        for key, names, known in lists:
            for j, name in enumerate(names):
                path: KeyPath = (*here, key, j if key in ("connect", "leave_out") else name)
                if name not in known:
                    right = f"Its lines: {', '.join(map(bare, known))}."
                    lines = ((*here, "line"),) if part.kind is None else ()
                    self.report(path, f"{shown(part.name)} has no line {shown(name)}.", right, (name, known), (*lines, (*here, "name")))
                elif key == "wires" and counts[name] == 1:
                    self.report(path, f"Line {shown(name)} is a single wire.", "Leave it out here.")
                elif key not in ("leave_out", "wires") and name in part.leave_out:
                    self.report(path, f"Line {shown(name)} stands under {key} and under leave_out.", "Take it out of one.")
        for name, texts in part.fitted.items():
            self.fitted(texts, (*here, "fitted", name))
        if part.count > 1 and part.pins:
            self.report((*here, "pins"), "Pins can only be fixed for one part at a time.", "Write the parts one by one.")


def _knows_off(line: PartLine, wish: LineWish | None) -> bool:
    return line.safe_level != "any" or (wish is not None and wish.off_level is not None)
