"""Known faults of the silicon or of the usual firmware on the pads in use, for the uses they spoil."""

from __future__ import annotations

from collections.abc import Iterator

from pinwright.facts.model import Erratum
from pinwright.fitting.lines import Asks
from pinwright.quantities import show_quantity
from pinwright.review.common import found, joined_names
from pinwright.review.model import Finding, Rule, Wire, Wiring
from pinwright.review.network import board_pulls, internal_pull, part_pulls

__all__ = ["RULES"]

_RADIO = {"wifi": "Wi-Fi", "ble": "Bluetooth LE", "bluetooth-classic": "Bluetooth", "802.15.4": "802.15.4"}


def _uses(asks: Asks) -> dict[str, bool]:
    """Uses a line makes of its pad, and whether it cannot do without each."""
    needed = asks.needs.interrupt == "yes" or asks.needs.count_pulses
    uses = {
        "interrupt": needed if needed or asks.needs.interrupt == "optional" else None,
        "analog-in": True if asks.direction == "analog-in" else None,
        "output": True if asks.direction == "out" else None,
        "touch": True if asks.signal == "touch" else None,
        "pull-down": True if asks.reads and asks.needs.pull == "down" else None,
    }
    return {use: sure for use, sure in uses.items() if sure is not None}


def _errata(wiring: Wiring) -> Iterator[Finding]:
    for wire in wiring.wires:
        uses = _uses(wire.line.asks)
        for erratum in wire.place.errata:
            hit = [use for use in erratum.concerns if use in uses]
            if hit:
                yield _finding(wiring, wire, erratum, any(uses[use] for use in hit), joined_names(hit))


def _finding(wiring: Wiring, wire: Wire, erratum: Erratum, is_needed: bool, use: str) -> Finding:
    radios = [radio for radio in erratum.fatal_with_radio if radio in wiring.setting.radio]
    weak_ohm = _too_weak_ohm(wiring, wire, erratum)
    refused = erratum.is_fatal or (bool(radios) and is_needed) or weak_ohm is not None
    alike = [place.name for place in wiring.view.places if place.pad.gpio in erratum.pads and place.name != wire.place.name]
    others = f"; {joined_names(alike)} no less" if 0 < len(alike) <= _FEW else ""
    because = [
        f"{wire.place.name} has a known fault ({erratum.id}): {erratum.effect}{others}",
        f"{wire.line.id} uses it as {use}",
    ]
    if radios:
        because.append(f"{joined_names(_RADIO[radio] for radio in radios)} is on, which brings the fault about again and again")
    if weak_ohm is not None:
        most = show_quantity(erratum.pull_down_max_ohm or 0.0, "Ω")
        because.append(f"its pull-down of {show_quantity(weak_ohm, 'Ω')} cannot make a low there; {most} or less to ground can")
    way_out = f"Move the line to another pin. {_sentence(erratum.workaround)}" if refused else _sentence(erratum.workaround)
    return found("pin-erratum", "refuse" if refused else "note", wire, because, way_out.strip(), sources=[wiring.view.chip_cite(erratum)])


def _too_weak_ohm(wiring: Wiring, wire: Wire, erratum: Erratum) -> float | None:
    """The line's pull-down where it is weaker than such a pad needs [ohm]; resistors may be 5 % off (usual, no source)."""
    if not erratum.pull_down_max_ohm or wire.line.asks.needs.pull != "down":
        return None
    downs = [pull for pull in (*part_pulls([wire], wiring.view), *board_pulls(wire.place, wiring.view)) if pull.direction == "down"]
    ohm = 1 / sum(1 / pull.ohm_min for pull in downs or [internal_pull(wiring.view, "down")])
    return ohm if ohm > erratum.pull_down_max_ohm * 1.05 else None


_FEW = 4
"""More pads of one fault than this are not listed."""


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:].rstrip('.')}." if words else ""


RULES: tuple[Rule, ...] = (
    Rule(
        "pin-erratum",
        "a pad with a known fault that spoils what the line uses it for",
        "readings, edges or outputs go wrong although the wiring is right",
        "errata in the chip data, named in the finding",
        _errata,
    ),
)
