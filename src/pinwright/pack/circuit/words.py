"""What stands beside a circuit: the window and margin of every value, the inequalities that hold, nets, cautions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from pinwright.circuits.window import shown
from pinwright.fitting.interface.pieces import Check, Piece
from pinwright.pack.build.model import Build, Item, Stage, Terminal
from pinwright.pack.circuit.blocks import value_words

__all__ = ["Row", "caution_rows", "check_rows", "connections", "item_rows", "net_rows"]

Row = tuple[str, str, str]
"""Mark (``ok``, ``warn`` or empty), what it is about, and the words."""
_ALWAYS = ("mains", "fire", "heat", "battery")


def item_rows(build: Build, stages: Sequence[Stage]) -> Iterator[Row]:
    """One row for every component: its value, what the value may be, how far it is from there, and the formula behind it.

    Parameters
    ----------
    build : what is built [-]
    stages : stages drawn together [-]
    """
    used: set[int] = set()
    said: dict[str, str] = {}
    for ref in dict.fromkeys(ref for stage in stages for ref in stage.items):
        item = build.by_ref[ref]
        piece = _piece(build, item, stages, used)
        words = [item.role or item.title]
        if item.value is not None and item.rating:
            words[0] += f", {item.rating}"
        if item.value is None:
            words = [f"{item.title}{f', {item.rating}' if item.rating else ''}"]
        why = _why(piece, item)
        if why and why in said:
            why = f"as said of {said[why]}"
        said.setdefault(why, ref)
        words.append(why)
        name = f"{ref}  {value_words(item)}" if item.value is not None or item.part else ref
        yield "", name, "; ".join(dict.fromkeys(filter(None, words)))


def _why(piece: Piece | None, item: Item) -> str:
    """What a value may be and how far it is from there, else why it is there; and the formula behind that."""
    words = [item.why]
    if piece is not None and piece.window is not None and not piece.window.is_empty:
        words = [f"allowed {piece.window.words}", piece.margin]
    elif piece is not None:
        words = [piece.why or item.why]
    if piece is not None and piece.formula:
        words.append(f"by {piece.formula}")
    return "; ".join(filter(None, words))


def _piece(build: Build, item: Item, stages: Sequence[Stage], used: set[int]) -> Piece | None:
    """The piece of the plan an item was made of: same line, same role, same value; each one once."""
    lines = [item.line] if item.line else [line for stage in stages for line in stage.lines]
    for line in lines:
        placed = build.plan.of(line)
        for element in placed.circuit.elements if placed else ():
            for piece in element.pieces:
                alike = piece.role == item.role and piece.value == item.value and piece.what == item.title and piece.part == item.part
                if alike and id(piece) not in used:
                    used.add(id(piece))
                    return piece
    return None


def check_rows(build: Build, lines: Iterable[str]) -> Iterator[Row]:
    """One row for every inequality of the lines: its numbers, its margin and the formula; those that do not hold are marked."""
    seen: set[Check] = set()
    for line in lines:
        placed = build.plan.of(line)
        if placed is None:
            continue
        for element in placed.circuit.elements:
            if element.kind in ("internal pull", "module pull-ups off"):
                yield "", element.words, element.why
        for check in placed.circuit.checks:
            if check in seen:
                continue
            seen.add(check)
            margin = f"; margin {shown(check.margin, check.unit)}" if check.holds else "; does not hold"
            yield ("" if check.holds else "warn"), check.what, f"{check.words}{margin}; by {check.formula}"


def net_rows(build: Build, letters: dict[str, str]) -> Iterator[Row]:
    """The letters in the drawing with the nets' names."""
    if letters:
        yield "", "Nets", "; ".join(f"{letter} = {build.by_net[net].name}" for net, letter in letters.items())


def caution_rows(build: Build, stages: Sequence[Stage]) -> Iterator[Row]:
    """Cautions of the parts that are always said, each with what to do about it as the review says."""
    names: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for name in dict.fromkeys(end.item for stage in stages for end in stage.ends):
        part = build.job.catalogue.parts.get(build.by_ref[name].part)
        cautions = [caution for caution in part.caution if caution.tag in _ALWAYS] if part is not None else []
        for tag in dict.fromkeys(caution.tag for caution in cautions):
            texts = tuple(caution.text for caution in cautions if caution.tag == tag)
            names.setdefault((tag, texts), []).append(name)
    for (tag, texts), parts in names.items():
        found = (f.fix for f in build.review.findings if f.rule == f"safety-{tag}" and any(texts[0] in b for b in f.because))
        yield "warn", f"Caution, {tag}", " ".join([f"{', '.join(parts)}:", *map(_sentence, texts), next(found, "")]).rstrip()


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:] + ("" if words.endswith((".", "!", "?")) else ".")


def connections(build: Build, stages: Sequence[Stage]) -> str:
    """The circuit in a sentence for people who hear it: every component and what its terminals are joined to."""
    said = []
    for stage in stages:
        said.append(f"Pin {stage.pin.name} serves {', '.join(stage.lines)}")
        for ref in dict.fromkeys(stage.items):
            item = build.by_ref[ref]
            ends = [
                f"{name} at {net.name}" for name in item.terminals if (net := build.net_at.get(Terminal(ref, name))) is not None
            ]  # fmt: skip
            said.append(f"{ref}, {item.title} {value_words(item)}: {', '.join(ends)}".replace("  ", " "))
    return ". ".join(said) + "."
