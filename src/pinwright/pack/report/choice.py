"""The first part of a report: what the device is, what can hurt, and why this board."""

from __future__ import annotations

import math
from collections.abc import Iterator

from pinwright.circuits.window import shown
from pinwright.fitting.firmware import LANGUAGE_WORDS
from pinwright.fitting.lines import Device
from pinwright.fitting.plan import BoardPlan
from pinwright.fitting.wishes import RADIO_WORDS
from pinwright.pack.build.model import Build
from pinwright.pack.drawing import clean
from pinwright.pack.report.content import Block, Caution, Column, Items, Name, Paragraph, Section, Table, Words
from pinwright.pack.report.words import cited, counted, listed, sentence
from pinwright.planning import PlanResult

__all__ = ["board_section", "cautions_section", "device_section"]

DANGERS = ("mains", "supply", "fire", "heat", "battery")
"""Tags of cautions that are about people, not about the work; the worst first."""
MOST_BOARDS = 6
"""Boards compared in full; the others are named."""
_TIERS = (
    ("money", "cost"),
    ("components", "extra parts"),
    ("risk", "risk"),
    ("scarce", "scarce"),
    ("spread", "spread"),
)
_SIGNALS = {
    "digital": "on and off", "pwm": "PWM", "analog": "an analog voltage", "i2c": "I2C", "spi": "SPI", "uart": "serial", "onewire": "1-Wire",
    "pulse": "pulses", "i2s": "I2S", "touch": "touch",
}  # fmt: skip
_WAYS = {
    "in": "read", "out": "driven", "bidir": "both ways", "open-drain": "both ways", "analog-in": "measured", "analog-out": "set",
}  # fmt: skip


# ------------------------------------------------------------------------------ the device


def device_section(build: Build) -> Section:
    """What is built, from the brief.

    Parameters
    ----------
    build : what is built [-]
    """
    devices, brief = build.job.nets.devices, build.job.file.brief
    lines = sum(len(device.lines) for device in devices)
    text = (
        f"One {build.board.title} carries {counted(len(devices), 'part')} over {counted(lines, 'line')}. "
        f"It is fed by {_a(build.job.source.words)}. {_use(build)}"
    )
    rows = tuple(_device_row(device) for device in devices)
    blocks: list[Block] = [
        Paragraph(text, "lead"),
        _at_a_glance(build),
        Table("parts-of-it", "What hangs on the board", (Column("name"), Column("what it is"), Column("its lines")), rows),
    ]
    quiet = [p.line.id for p in build.plan.placed if p.line.asks.quiet == "must" and p.line.asks.safe_level != "any"]
    if quiet:
        must = "must stay still until the firmware is in charge; the power-up section proves that each does."
        blocks.insert(1, Paragraph((*listed(Name(name) for name in quiet), f" {must}")))
    if brief.use.wake_every_s or brief.use.awake_for_s:
        every, awake = brief.use.wake_every_s, brief.use.awake_for_s
        blocks.insert(1, Paragraph(f"It wakes every {every or 0:g} s and stays awake for {awake or 0:g} s." if every and awake else
                                   "It sleeps most of the time."))  # fmt: skip
    return Section("device", "What it is and does", tuple(blocks))


def _at_a_glance(build: Build) -> Table:
    """The figures somebody asks for first."""
    counts = {severity: sum(f.severity == severity for f in build.review.findings) for severity in ("caution", "note")}
    components = sum(item.kind == "component" for item in build.items)
    rows: list[tuple[Words, ...]] = [
        ("board", build.board.title),
        ("parts and lines", f"{counted(len(build.job.nets.devices), 'part')}, {counted(len(build.plan.placed), 'line')}"),
        ("to add", f"{counted(components, 'component')}, {counted(len(build.wires), 'wire')}"),
        ("supply", f"{clean(build.supply.source.words)}; at most {shown(build.supply.draw.burst, 'A')} in a burst"),
        ("review", f"{counted(counts['caution'], 'caution')}, {counted(counts['note'], 'note')}"),
        ("proof", "no other choice of pins on this board is better" if build.plan.proved else "not proved best within the time limit"),
    ]
    if build.supply.endurance is not None:
        rows.insert(4, ("battery", clean(build.supply.endurance.words)))
    return Table("at-a-glance", "At a glance", (Column("what"), Column("how much")), tuple(rows))


def _use(build: Build) -> str:
    brief = build.job.file.brief
    radio = " and ".join(RADIO_WORDS[name] for name in brief.use.radio)
    low, high = build.job.setting.ambient_c
    said = [f"{radio} is on while it works" if radio else "No radio is used"]
    if brief.use.sleeping:
        said.append("it sleeps most of the time")
    assumed = "" if brief.use.ambient_c else " (assumed, the brief does not say)"
    said.append(f"the air around it has {low:g} to {high:g} °C{assumed}")
    return "; ".join(said) + "."


def _a(words: str) -> str:
    return words if words[:1].isdigit() else f"{'an' if words[:1].lower() in 'aeiou' else 'a'} {words}"


def _device_row(device: Device) -> tuple[Words, ...]:
    lines: list[Name | str] = []
    for number, line in enumerate(device.lines):
        way, signal = _WAYS.get(line.asks.direction, line.asks.direction), _SIGNALS.get(line.asks.signal, line.asks.signal)
        lines += [", " if number else "", Name(line.name), f" ({signal}, {way})" if way != "measured" else " (measured)"]
    return Name(device.name), clean(device.title), tuple(lines) or "no line"


# ------------------------------------------------------------------------------ cautions


def cautions_section(build: Build) -> Section:
    """What can hurt, first; then what spoils the work.

    Parameters
    ----------
    build : what is built [-]
    """
    found = sorted(_cautions(build), key=lambda caution: DANGERS.index(caution.tag) if caution.is_danger else len(DANGERS))
    dangers = [caution for caution in found if caution.is_danger]
    others = [caution for caution in found if not caution.is_danger]
    blocks: list[Block] = []
    if dangers:
        blocks.append(Paragraph("Read this before you buy or join anything.", "lead"))
        blocks += dangers
    else:
        blocks.append(Paragraph("No part of this device brings a caution about mains voltage, fire, heat or batteries.", "lead"))
    blocks.append(
        Paragraph(
            "Mains voltage, lithium cells, heaters, motors and fused supplies can hurt or kill. These are the usual cautions; they do not "
            "replace your local electrical code or a licensed professional.",
            "remark",
        )
    )
    if others:
        rows = tuple((caution.about, caution.tag, caution.words, caution.source or "-") for caution in others)
        table = Table("other-cautions", "Other cautions of the parts", tuple(map(Column, ("part", "about", "caution", "source"))), rows)
        blocks.append(Section("good-to-know", "What spoils the work", (table,)))
    return Section("cautions", "Cautions first", tuple(blocks))


_SUPPLY_FIRST = ("supply-voltage", "supply-entry", "supply-heat", "supply-fuse", "supply-source", "supply-regulator")
"""Findings about the supply that somebody must know before anything is joined."""


def _cautions(build: Build) -> Iterator[Caution]:
    """Cautions of the catalogue, those that several parts share once; and that of a lithium source."""
    parts = build.job.catalogue.parts
    to_do = {finding.rule.removeprefix("safety-"): finding.fix for finding in build.review.findings if finding.rule.startswith("safety-")}
    owners: dict[str, list[str]] = {}
    for device in build.job.nets.devices:
        if device.kind in parts:
            owners.setdefault(device.kind, []).append(device.name)
    for item in build.items:
        if item.kind == "component" and item.part in parts:
            owners.setdefault(item.part, []).append(item.ref)
    source = build.job.source
    if source.part is not None:
        owners.setdefault(source.part.id, []).append("the supply")
    for finding in build.review.findings:
        if finding.rule in _SUPPLY_FIRST and finding.severity != "note":
            words = sentence(clean("; ".join(finding.because))) + (f" {clean(finding.fix)}" if finding.fix else "")
            yield Caution("the supply", "supply", words, "; ".join(map(clean, finding.sources)))
    for kind, names in owners.items():
        part = (source.part if source.part is not None and kind == source.part.id else None) or parts[kind]
        titles = {one.id: one for one in part.source}
        for caution in part.caution:
            is_danger = caution.tag in DANGERS and caution.tag != "supply" and (caution.tag != "battery" or source.is_battery)
            about = listed(Name(name) for name in dict.fromkeys(names))
            about = (*about, f": {clean(part.title)}") if is_danger else about
            todo = f" {to_do[caution.tag]}" if to_do.get(caution.tag) else ""
            yield Caution(about, caution.tag, sentence(clean(caution.text)) + clean(todo), cited(titles, caution), is_danger)


# ------------------------------------------------------------------------------ the board


def board_section(build: Build) -> Section:
    """The board that was chosen, those that come after it, and those that cannot.

    Parameters
    ----------
    build : what is built [-]
    """
    result, plan = build.result, build.plan
    usable, board = result.usable, plan.view.board
    place = next(number for number, each in enumerate(usable, 1) if each.view.board.id == board.id)
    chosen = (
        f"Of {counted(len(result.ranking.boards), 'board')} looked at, {len(usable)} can do this job; this one is the best of them."
        if place == 1
        else f"Of {counted(len(result.ranking.boards), 'board')} looked at, {len(usable)} can do this job; this one was asked for, and is "
        f"number {place}."
    )
    blocks: list[Block] = [
        Paragraph(f"{board.name} ({board.maker})." if board.maker else f"{board.name}.", "lead"),
        Paragraph(f"{chosen} {_proof(plan)}"),
        Paragraph(
            "Boards are compared in five steps, and an earlier step always outweighs the later ones: what they cost, how many extra parts "
            "they need, risk (marks that speak against the pins used), scarce abilities spent on lines that do not need them, and how "
            "scattered the wires of one part lie. Less is better."
        ),
        _compared(result, plan),
    ]
    unlike = [(other, _differs(plan, other)) for other in usable if other is not plan][: MOST_BOARDS - 1]
    if unlike:
        blocks.append(Section("runners-up", "What the others cost or lack", (
            Items(tuple(f"{other.view.board.name}: {words}." for other, words in unlike)),)))  # fmt: skip
    refused = _refused(result)
    if refused:
        blocks.append(Section("cannot", "Boards that cannot", (
            Table("refused", "Boards that cannot do this job, and which wishes stand against them",
                  (Column("boards"), Column("because of")), refused),)))  # fmt: skip
    if result.ranking.unseen:
        blocks.append(Paragraph(f"Not looked at, for the work was stopped: {', '.join(result.ranking.unseen)}.", "remark"))
    return Section("board", "The board, and why", tuple(blocks))


def _proof(plan: BoardPlan) -> str:
    if plan.proved:
        return "It is proved that no other choice of pins on it is better."
    return "The time limit came before the proof that no other choice of pins on it is better."


def _compared(result: PlanResult, plan: BoardPlan) -> Table:
    usable, unit = result.usable, result.ranking.money_unit
    cost = unit if unit.startswith("cost") else f"cost [{unit}]"
    heads = [Column(cost if name == "money" else head, True) for name, head in _TIERS]
    shown = usable[:MOST_BOARDS]
    if plan not in shown:
        shown = [*shown[:-1], plan]
    rows = tuple(
        (
            f"{usable.index(each) + 1}. {each.view.board.name}{' (chosen)' if each is plan else ''}",
            *(_number(each.objective.tiers()[name]) for name, _ in _TIERS if each.objective is not None),
            "; ".join(each.weak) or "holds",
        )
        for each in shown
    )
    rest = f", and {len(usable) - len(shown)} more that come after them" if len(usable) > len(shown) else ""
    return Table("compared", f"Boards that can, best first{rest}", (Column("board"), *heads, Column("supply")), rows)


def _number(value: float) -> str:
    return f"{value:g}" if math.isfinite(value) else "no price"


def _differs(plan: BoardPlan, other: BoardPlan) -> str:
    """What another board costs or lacks against the chosen one, the weightiest first."""
    assert plan.objective is not None
    assert other.objective is not None
    mine, theirs = plan.objective.tiers(), other.objective.tiers()
    said = []
    if other.weak and not plan.weak:
        said.append(f"its supply does not hold ({', '.join(other.weak)})")
    for name, head in _TIERS:
        if theirs[name] == mine[name]:
            continue
        if not (math.isfinite(theirs[name]) and math.isfinite(mine[name])):
            said.append("it has no price" if not math.isfinite(theirs[name]) else "it has a price")
            continue
        more = theirs[name] - mine[name]
        said.append(f"{abs(more):g} {'more' if more > 0 else 'less'} in {head}")
    return "; ".join(said) or "equally good; the name decides"


def _refused(result: PlanResult) -> tuple[tuple[Words, ...], ...]:
    usable = {plan.view.board.id for plan in result.usable}
    reasons: dict[str, list[str]] = {}
    for plan in result.ranking.boards:
        if plan.view.board.id not in usable:
            reasons.setdefault(_reason(result, plan), []).append(plan.view.board.name)
    return tuple((", ".join(names), clean(reason)) for reason, names in reasons.items())


def _reason(result: PlanResult, plan: BoardPlan) -> str:
    """In short: the wishes that clash, or what the review refuses."""
    if plan.conflict is None:
        found = result.reviews[plan.view.board.id].findings
        return "; ".join(f"{f.line or f.rule}: {f.because[-1]}" for f in found if f.severity == "refuse")
    words = [words for _, words in plan.conflict.wishes]
    if len(words) > 3:
        words[3:] = [f"and {len(words) - 3} more that cannot all be met together"]
    return "; ".join(words) or plan.conflict.chain[-1]


def language_words(plan: BoardPlan) -> tuple[str, ...]:
    """In which languages it can be programmed, and for which parts no driver is known.

    Parameters
    ----------
    plan : the plan that is built [-]
    """
    return tuple(
        f"{LANGUAGE_WORDS[support.language]}: "
        + (f"no maintained driver known for {', '.join(map(clean, support.missing))}." if support.missing else "a driver for every part "
           "that needs one.")
        for support in plan.firmware
    )  # fmt: skip
