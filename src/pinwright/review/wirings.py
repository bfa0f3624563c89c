"""Make a wiring to review: from a finished plan, or from pins the maker fixed in a brief."""

from __future__ import annotations

from pinwright.errors import Fault, InputError
from pinwright.facts.model import Part
from pinwright.fitting.interface import Circuit, Element, circuit_for, joined, with_bus_pulls
from pinwright.fitting.interface.as_fitted import absent, circuits_of_net, is_as_built, line_as_built, with_accuracy
from pinwright.fitting.lines import Line
from pinwright.fitting.nets import Net
from pinwright.fitting.places import BoardView, Place, view
from pinwright.fitting.plan import BoardPlan
from pinwright.fitting.rank import Job
from pinwright.fitting.source import as_fed
from pinwright.review.model import Finding, Review, Wire, Wiring

__all__ = ["unsaid", "wiring_of_brief", "wiring_of_plan"]


def wiring_of_plan(plan: BoardPlan, job: Job) -> Wiring:
    """What a plan would have built, without how it was found."""
    bench = job.setting.bench
    wires = tuple(Wire(p.line, p.place, with_accuracy(p.circuit, p.line, p.place, plan.view, bench), p.mode) for p in plan.placed)
    return Wiring(plan.view, job.setting, job.nets.devices, wires, (), _addresses(job), catalogue_parts=_parts(job))


def wiring_of_brief(job: Job) -> tuple[Wiring, list[Finding]]:
    """What the maker has fixed by hand, with what the brief says is fitted, or the circuits the lines need where it says nothing.

    Also findings about pins the board does not have, and about every component the wiring needs and nobody lists:
    in a list of pins it cannot be seen whether it has been fitted.

    Raises
    ------
    InputError : the brief does not name exactly one board, or fixes no pin at all.
    """
    wish = job.file.brief.board
    names = wish.only or (wish.own if len(wish.own) == 1 else ())
    if len(names) != 1:
        line = job.file.lines.line(("board", "only")) or job.file.lines.line(("board",))
        raise InputError([Fault(job.file.name, line, "board.only", "A check needs to know the board.", 'Name one: only = ["…"].')])
    board = as_fed(view(job.catalogue.board(names[0]), job.catalogue), job.source)
    wires: list[Wire] = []
    unplaced: list[Line] = []
    missing: list[Finding] = []
    needed: list[Finding] = []
    as_built: set[str] = set()
    for net in job.nets.nets:
        place = board.place(net.lock) if net.lock else None
        if net.lock and place is None:
            missing += [_no_such_pin(line, net.lock, board) for line in net.lines]
        elif place is None:
            unplaced += net.lines
        else:
            max_hz = job.nets.buses[net.bus].max_hz if net.bus >= 0 else 0.0
            lines = [line_as_built(line) for line in net.lines]
            circuits = circuits_of_net(lines, place, board, job.setting.bench, max_hz)
            pairs = zip(lines, circuits, strict=True)
            wires += [Wire(line, place, with_accuracy(circuit, line, place, board, job.setting.bench)) for line, circuit in pairs]
            needed += [_needed(net.id, place, element) for element in _to_fit(net, circuits, place, board, job)]
            as_built |= {line.id for line in net.lines} if is_as_built(net.lines) else set()
    if not wires and not missing:
        raise InputError(
            [Fault(job.file.name, None, "part.pins", "This brief fixes no pin.", 'Add pins = { LINE = "label" } to its parts.')]
        )
    return Wiring(
        board, job.setting, job.nets.devices, tuple(wires), tuple(unplaced), _addresses(job), _parts(job), frozenset(as_built)
    ), missing + needed


def _to_fit(net: Net, circuits: list[Circuit], place: Place, board: BoardView, job: Job) -> list[Element]:
    """Components one pin needs; where the brief lists what is fitted, those it does not list."""
    if not is_as_built(net.lines):
        return [element for element in joined(circuits).elements if element.components]
    bench, max_hz = job.setting.bench, job.nets.buses[net.bus].max_hz if net.bus >= 0 else 0.0
    each = [circuit_for(line.asks, place, board, bench) for line in net.lines]
    needed = joined(with_bus_pulls(net.lines, each, place, board, bench, max_hz))
    return list(absent(needed.elements, circuits))


def unsaid(findings: list[Finding], wiring: Wiring, review: Review) -> list[Finding]:
    """The findings without missing components of lines for which a rule says what comes of it."""
    told = {(finding.line, finding.pin) for finding in review.findings if finding.severity != "note"}
    pins = {wire.place.name for wire in wiring.wires if wire.line.id in wiring.as_built and (wire.line.id, wire.place.name) in told}
    return [finding for finding in findings if finding.rule != "needs-component" or finding.pin not in pins]


def _no_such_pin(line: Line, pin: str, board: BoardView) -> Finding:
    because = [f"the brief fixes {line.id} to {pin} ({line.place})", f"the {board.board.name} brings out no pin of that name"]
    owner = _owner(pin, board)
    if owner:
        because.append(owner)
    return Finding("no-such-pin", "refuse", line.id, pin, tuple(because), fix="Use a label printed on the board.")


def _owner(pin: str, board: BoardView) -> str:
    """Who uses a pad of the chip that the board keeps to itself, or empty."""
    wanted = pin.casefold()
    pad = next((pad for pad in board.chip.pad if wanted in (pad.name.casefold(), *(name.casefold() for name in pad.names))), None)
    if pad is None:
        return ""
    taken = next((reserve for reserve in board.board.reserve if pad.name in reserve.pads), None)
    if taken:
        return f"the board needs that pad for its {taken.use}" + (f": {taken.why}" if taken.why else "")
    fitted = [item for item in board.board.onboard if item.pad == pad.name]
    if fitted:
        return f"what sits there is the board's own {fitted[0].what}" + (f": {fitted[0].effect}" if fitted[0].effect else "")
    return f"it is kept for {pad.reserved}" + (f": {pad.reserved_why}" if pad.reserved_why else "") if pad.reserved else ""


def _needed(line: str, place: Place, element: Element) -> Finding:
    return Finding("needs-component", "caution", line, place.name, (element.why,), fix=f"Between pin and part fit: {element.words}.")


def _addresses(job: Job) -> dict[str, int]:
    return {name: address for bus in job.nets.buses for name, address in bus.addresses.items()}


def _parts(job: Job) -> dict[str, Part]:
    """Entries of the parts, and of the ports of those that are expanders."""
    parts = {d.kind: job.catalogue.parts[d.kind] for d in job.nets.devices if d.kind}
    return parts | {part.see: job.catalogue.parts[part.see] for part in parts.values() if part.see in job.catalogue.parts}
