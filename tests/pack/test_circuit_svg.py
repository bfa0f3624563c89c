"""The circuit drawings: what is joined on paper is what the build joins, and every word can be read.

Expected values are the build's own (agreement), or what the drawing must be for anybody to read it (property).
"""

from __future__ import annotations

import itertools
import json
import unicodedata
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from pinwright.brief.reader import parse_brief
from pinwright.circuits.window import shown
from pinwright.facts.loader import load_catalogue
from pinwright.fitting.rank import prepare
from pinwright.pack.build.make import build_of
from pinwright.pack.build.model import Build, Item, Stage, Terminal
from pinwright.pack.circuit.sketch import Sketch, rows_of
from pinwright.pack.circuit_svg import WIDTH_MM, CircuitDrawing, circuit_drawings
from pinwright.pack.drawing import text_width
from pinwright.planning import PlanResult, plan_job

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))
SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = (
    "\"q\" <script>alert('x')</script> &amp; ]]>", "W" * 60, "שלום \u05d0\u05d1 🚰", "=cmd|' /C calc'!A0", "a b " * 14 + "end", "R2",
    "3.3 V",
)  # fmt: skip
KINDS = (
    "solenoid-12v", "battery-voltage-sense", "ultrasonic-hc-sr04", "led-ws2812b", "co2-k30", "lcd1602-pcf8574", "led-red",
    "voltage-0-10v-input", "ntc-10k-b3950", "ldr-gl5528", "mosfet-irlz44n", "npn-bc547", "triac-opto-moc3020", "ir-led-sender",
    "reflective-opto-tcrt5000", "push-button-momentary",
)  # fmt: skip
HEAD = 'title = "Kinds"\n[use]\nradio = "none"\n[supply]\nsource = "adapter"\nvoltage = "5 V"\ncurrent = "4 A"\n'
KINDS_BRIEF = HEAD + "".join(f'[[part]]\nname = "p{number}"\nkind = "{kind}"\n' for number, kind in enumerate(KINDS))
LINE = '[[part.line]]\nname = "{0}"\ndirection = "{1}"\nsignal = "{2}"\n{3}\n'
BUS_LINES = LINE.format("SDA", "bidir", "i2c", 'role = "SDA"') + LINE.format("SCL", "bidir", "i2c", 'role = "SCL"')
SHARED_BRIEF = HEAD + (
    '[[part]]\nname = "probe"\nkind = "temp-ds18b20"\ncount = 4\n'
    f'[[part]]\nname = "own"\naddress = 0x40\nsupply = "3.3 V"\n{BUS_LINES}'
    '[[part]]\nname = "lcd"\nkind = "lcd1602-pcf8574"\n[[part]]\nname = "air"\nkind = "bme280"\n'
    '[[part]]\nname = "deck"\nkind = "thermocouple-max31855"\ncount = 3\n[[part]]\nname = "pt"\nkind = "pt1000-divider"\n'
)
BARE_BUS_BRIEF = HEAD + "".join(
    f'[[part]]\nname = "d{number}"\naddress = {0x40 + number}\nsupply = "3.3 V"\n{BUS_LINES}' for number in range(2)
)


@cache
def planned(text: str) -> PlanResult:
    catalogue = load_catalogue(())
    return plan_job(prepare(parse_brief(text, "brief.toml", catalogue), catalogue, None, 60.0))


@cache
def drawn(text: str, board: str | None = None) -> tuple[Build, list[CircuitDrawing]]:
    build = build_of(planned(text), board)
    return build, circuit_drawings(build)


def every_build() -> Iterator[tuple[Build, list[CircuitDrawing]]]:
    """All examples on all their usable boards, and the briefs with every kind of circuit on theirs."""
    for text in [*(path.read_text(encoding="utf-8") for path in EXAMPLES), KINDS_BRIEF, SHARED_BRIEF, BARE_BUS_BRIEF]:
        for plan in planned(text).usable:
            yield drawn(text, plan.view.board.id)


# ------------------------------------------------------------------------------ what is joined


def lies_on(p: tuple[float, float], a: tuple[float, float], b: tuple[float, float]) -> bool:
    across = (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])
    inside = min(a[0], b[0]) - 1e-6 <= p[0] <= max(a[0], b[0]) + 1e-6 and min(a[1], b[1]) - 1e-6 <= p[1] <= max(a[1], b[1]) + 1e-6
    return abs(across) < 1e-6 and inside


def groups(sketch: Sketch) -> list[tuple[set[Terminal], set[str]]]:
    """Terminals and rails that touch each other on paper: points on wires, from the coordinates alone."""
    things: list[tuple[tuple[tuple[float, float], ...], Terminal | str | None]] = [(run, None) for run in sketch.wires]
    things += [((point,), terminal) for terminal, point in sketch.places] + [((point,), net) for net, point in sketch.rails]
    mark = list(range(len(things)))

    def root(n: int) -> int:
        while mark[n] != n:
            n = mark[n]
        return n

    def touch(a: tuple[tuple[float, float], ...], b: tuple[tuple[float, float], ...]) -> bool:
        return any(p == q for p in a for q in b) or any(lies_on(p, *pair) for p in a for pair in itertools.pairwise(b))

    for (i, (a, _)), (j, (b, _)) in itertools.combinations(enumerate(things), 2):
        if touch(a, b) or touch(b, a):
            mark[root(i)] = root(j)
    found: dict[int, tuple[set[Terminal], set[str]]] = {}
    for number, (_, what) in enumerate(things):
        terminals, rails = found.setdefault(root(number), (set(), set()))
        if isinstance(what, Terminal):
            terminals.add(what)
        elif what is not None:
            rails.add(what)
    return list(found.values())


def to_draw(build: Build, stage: Stage) -> set[Terminal]:
    """Terminals a stage's drawing must hold: pin, ends, all of every component; of a shifter its rails and this stage's channels."""
    found = {stage.pin, *stage.ends}
    for ref in stage.items:
        item = build.by_ref[ref]
        for name in item.terminals:
            terminal = Terminal(ref, name)
            is_channel = item.symbol == "shifter" and name not in ("VA", "VB", "V+", "GND")
            if terminal in build.net_at and (not is_channel or _on_stage(build, item, name, stage)):
                found.add(terminal)
    return found


def _on_stage(build: Build, item: Item, name: str, stage: Stage) -> bool:
    board_side = build.net_at[Terminal(item.ref, f"A{name[1:]}")]
    return board_side is build.net_at[stage.pin] or any(
        t.item in stage.items and board_side is build.net_at[t] for t in board_side.terminals if t.item != item.ref
    )


def test_what_is_joined_on_paper_is_what_the_build_joins() -> None:
    # agreement: connections read back from the coordinates against the build's nets
    count = 0
    for build, drawings in every_build():
        for drawing in drawings:
            expected = set().union(*(to_draw(build, stage) for stage in drawing.stages))
            seen: Counter[Terminal] = Counter(terminal for terminal, _ in drawing.sketch.places)
            assert expected <= set(seen), f"{build.board.part} {drawing.lines}: {expected - set(seen)} not drawn"
            homes: dict[str, list[set[Terminal]]] = {}
            for terminals, rails in groups(drawing.sketch):
                nets = {build.net_at[t].id for t in terminals} | rails
                assert len(nets) == 1, f"{build.board.part} {drawing.lines}: {terminals} {rails} touch"
                net = build.by_net[nets.pop()]
                assert (net.role != "signal") == bool(rails), f"{net.id} needs its rail's symbol, and only a rail has one"
                homes.setdefault(net.id, []).append(terminals)
            for net_id, parts in homes.items():
                assert build.by_net[net_id].role != "signal" or len(parts) == 1, f"{net_id} is drawn in {len(parts)} pieces"
            count += 1
    assert count > 300


def test_three_wires_meet_in_a_dot_and_only_there() -> None:
    # IEC 61082-1 (from memory): a junction of three or more is marked, a crossing is not
    for build, drawings in every_build():
        for drawing in drawings:
            sketch = drawing.sketch
            ends: Counter[tuple[float, float]] = Counter(point for _, point in sketch.places)
            for run in sketch.wires:
                ends.update((run[0], run[-1]))
            for point in ends:
                through = sum(
                    any(lies_on(point, *pair) for pair in itertools.pairwise(run)) and point not in (run[0], run[-1])
                    for run in sketch.wires
                )
                met = ends[point] + 2 * through
                assert (met >= 3) == (point in sketch.dots), f"{build.board.part} {drawing.lines}: {met} meet at {point}"
            assert set(sketch.dots) <= set(ends)


def test_circuits_that_share_a_drawing_differ_in_names_only() -> None:
    shared = 0
    for build, drawings in every_build():
        for drawing in drawings:
            for stage in drawing.alike:
                mine = drawing.stages[0]
                assert len(stage.items) == len(mine.items)
                swap = dict(zip(stage.items, mine.items, strict=True)) | {
                    end.item: other.item for end, other in zip(stage.ends, mine.ends, strict=True)
                }
                for theirs, ours in zip(stage.items, mine.items, strict=True):
                    a, b = build.by_ref[theirs], build.by_ref[ours]
                    assert (a.symbol, a.role, a.value, a.part, a.terminals) == (b.symbol, b.role, b.value, b.part, b.terminals)
                    for name in a.terminals:
                        one, other = build.net_at[Terminal(theirs, name)], build.net_at[Terminal(ours, name)]
                        assert one is other or {swap.get(t.item, t.item) for t in one.terminals} == {t.item for t in other.terminals}
                    assert f"{theirs} for {ours}" in _all_text(drawing)
                shared += 1
    assert shared > 20


def test_every_circuit_is_drawn_once() -> None:
    for build, drawings in every_build():
        pins = Counter(stage.pin for drawing in drawings for stage in (*drawing.stages, *drawing.alike))
        assert set(pins.values()) <= {1}
        for stage in build.stages:
            if stage.items:
                assert pins[stage.pin] == 1
        named = sorted(line for drawing in drawings for line in drawing.lines)
        assert named == sorted(line for stage in build.stages if stage.pin in pins for line in stage.lines)


# ------------------------------------------------------------------------------ what can be read


def _all_text(drawing: CircuitDrawing) -> str:
    return " ".join(words for _, words in drawing.texts)


def test_designators_and_values_stand_beside_their_symbols() -> None:
    for build, drawings in every_build():
        for drawing in drawings:
            words = [text for _, text in drawing.sketch.texts]
            for ref in {ref for stage in drawing.stages for ref in stage.items}:
                item = build.by_ref[ref]
                assert ref in words
                if item.value is not None:
                    assert shown(item.value, item.unit) in words
                assert ref in _all_text(drawing).replace(" ".join(words), "")


def test_rails_are_named_by_their_voltage() -> None:
    for build, drawings in every_build():
        for drawing in drawings:
            words = Counter(text for _, text in drawing.sketch.texts)
            for net_id, _ in drawing.sketch.rails:
                net = build.by_net[net_id]
                if net.role == "supply":
                    assert words[f"{net.v_v:.3g} V"] >= 1


def _overlap(a: tuple[float, ...], b: tuple[float, ...], eps: float = 0.02) -> bool:
    return a[0] + eps < b[2] and b[0] + eps < a[2] and a[1] + eps < b[3] and b[1] + eps < a[3]


def _crosses(box: tuple[float, float, float, float], a: tuple[float, float], b: tuple[float, float]) -> bool:
    """Whether a stroke runs through a box   [Liang and Barsky's clipping]."""
    low, high = 0.0, 1.0
    for p, d, least, most in ((a[0], b[0] - a[0], box[0], box[2]), (a[1], b[1] - a[1], box[1], box[3])):
        if abs(d) < 1e-9:
            if not least < p < most:
                return False
            continue
        t = sorted(((least - p) / d, (most - p) / d))
        low, high = max(low, t[0]), min(high, t[1])
    return low < high - 1e-9


def _strokes(sketch: Sketch) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    for shape in sketch.shapes:
        n = shape.numbers
        if shape.tag == "path":
            yield from itertools.pairwise(zip(n[::2], n[1::2], strict=True))
        elif shape.tag == "rect":
            corners = [(n[0], n[1]), (n[0] + n[2], n[1]), (n[0] + n[2], n[1] + n[3]), (n[0], n[1] + n[3])]
            yield from itertools.pairwise([*corners, corners[0]])


def _check_legible(drawing: CircuitDrawing) -> None:
    assert drawing.width <= 120
    for (a, one), (b, other) in itertools.combinations(drawing.texts, 2):
        assert not _overlap(a, b), f"{drawing.lines}: {one!r} over {other!r}"
    for box, words in drawing.texts:
        assert min(box) >= 0, f"{drawing.lines}: {words!r}"
        assert box[2] <= drawing.width, f"{drawing.lines}: {words!r}"
        assert box[3] <= drawing.height, f"{drawing.lines}: {words!r}"
    strokes = list(_strokes(drawing.sketch))
    for (x0, y0, x1, y1), words in drawing.sketch.texts:
        box = (x0 + 0.1, y0 + 0.1, x1 - 0.1, y1 - 0.1)
        assert not any(_crosses(box, *stroke) for stroke in strokes), f"{drawing.lines}: a stroke runs through {words!r}"


def test_no_word_overlaps_another_or_a_stroke() -> None:
    for _, drawings in every_build():
        for drawing in drawings:
            _check_legible(drawing)


def test_what_is_said_beside_a_circuit() -> None:
    build, drawings = drawn(KINDS_BRIEF)
    for drawing in drawings:
        text = " ".join(_all_text(drawing).split())
        for line in (line for stage in drawing.stages for line in stage.lines):
            placed = build.plan.of(line)
            assert placed is not None
            for check in placed.circuit.checks:
                assert " ".join(check.words.split()) in text
                assert (f"margin {shown(check.margin, check.unit)}" if check.holds else "does not hold") in text
            for piece in (piece for element in placed.circuit.elements for piece in element.pieces):
                if piece.window is not None and not piece.window.is_empty:
                    assert piece.window.words in text
                    assert piece.margin in text
                    assert piece.formula in text


def test_mains_is_cautioned() -> None:
    # the caution is the catalogue's, what to do about it the review's; a part that touches mains always carries both
    _, drawings = drawn(KINDS_BRIEF)
    triac = next(d for d in drawings if "p12.GATE" in d.lines)
    text = _all_text(triac)
    assert "Caution, mains" in text
    assert "licensed electrician" in text
    assert "Caution, mains" not in _all_text(next(d for d in drawings if "p15.SW" in d.lines))


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_part_is_on_a_drawing_or_has_no_circuit(kind: str) -> None:
    build, drawings = drawn(KINDS_BRIEF)
    name = f"p{KINDS.index(kind)}"
    on = [d for d in drawings if any(end.item == name for stage in d.stages for end in stage.ends)]
    fitted = [s for s in build.stages if s.items and any(end.item == name for end in s.ends)]
    assert bool(on) >= bool(fitted)
    assert all(build.by_ref[name].ref in " ".join(w for _, w in d.sketch.texts) for d in on)


def test_a_bus_is_one_drawing_with_its_pull_ups_and_devices() -> None:
    build, drawings = drawn(BARE_BUS_BRIEF, "raspberry-pi-pico")
    assert len(drawings) == 1
    bus = drawings[0]
    assert [stage.lines for stage in bus.stages] == [("d0.SDA", "d1.SDA"), ("d0.SCL", "d1.SCL")]
    refs = {ref for stage in bus.stages for ref in stage.items}
    assert len(refs) == 2
    assert {build.by_ref[ref].role for ref in refs} == {"pull-up"}
    places = {terminal for terminal, _ in bus.sketch.places}
    assert {Terminal(device, wire) for device in ("d0", "d1") for wire in ("SDA", "SCL")} <= places


# ------------------------------------------------------------------------------ the document


def test_documents_are_well_formed_and_keep_to_themselves() -> None:
    _, drawings = drawn(KINDS_BRIEF)
    ids: set[str] = set()
    for drawing in drawings:
        root = ET.fromstring(drawing.markup("light"))
        assert root.findtext(f"{SVG}title", "").startswith("Circuit of ")
        assert all(ref in root.findtext(f"{SVG}desc", "") for stage in drawing.stages for ref in stage.items)
        for element in root.iter():
            assert "style" not in element.attrib
            assert all(name.startswith("pw-") for name in element.get("class", "").split())
            if (found := element.get("id")) is not None:
                assert found.startswith(f"{drawing.name}-")
                assert found not in ids
                ids.add(found)


def test_same_build_same_bytes() -> None:
    build, first = drawn(SHARED_BRIEF)
    assert [d.markup(scheme) for d in first for scheme in ("auto", "print")] == [
        d.markup(scheme) for d in circuit_drawings(build) for scheme in ("auto", "print")
    ]


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_stay_words(name: str) -> None:
    # every name a brief lets through (see tests/brief); a part may be called like a designator, a rail or markup
    load = LINE.format("X", "out", "digital", 'current = "1 A"').replace('"X"', json.dumps(name, ensure_ascii=False))
    text = HEAD + (
        f'[[part]]\nname = {json.dumps(name[:40], ensure_ascii=False)}\nkind = "solenoid-12v"\n[[part]]\nname = "R1"\nkind = "led-red"\n'
        f'[[part]]\nname = "GND"\nkind = "push-button-momentary"\n[[part]]\nname = "own"\nsupply = "5 V"\n{load}'
    )
    _, drawings = drawn(text)
    assert {"R1.LED", "GND.SW"} <= {line for drawing in drawings for line in drawing.lines}
    for drawing in drawings:
        markup = drawing.markup("print")
        root = ET.fromstring(markup)
        assert {element.tag.removeprefix(SVG) for element in root.iter()} <= {
            "svg", "title", "desc", "style", "defs", "rect", "g", "path", "circle", "text",
        }  # fmt: skip
        assert not any(unicodedata.category(c) in ("Cc", "Cf", "Cs") and c != "\n" for c in markup)
        _check_legible(drawing)


def test_rows_are_broken_where_they_must_be() -> None:
    # property: no row wider than asked, no letter lost while there is room
    for words in ("ESP32-S2-DevKitM-1", "a b c", "W" * 80, "one two-three-four-five six", ""):
        for width in (6.0, 12.0, 40.0):
            rows = rows_of(words, width, 2.2, 99)
            assert all(text_width(row, 2.2) <= width for row in rows)
            assert "".join("".join(rows).split()) == "".join(words.split())
            assert len(rows_of(words, width, 2.2, 2)) <= 2
    assert rows_of("ESP32-S2-DevKitM-1", 20.0, 2.2, 3) == ["ESP32-S2-", "DevKitM-1"]


def test_widest_drawings_stay_readable() -> None:
    # our choice: letters never shrink below two thirds of the size they were set in
    for _, drawings in every_build():
        for drawing in drawings:
            left, _, right, _ = drawing.sketch.extent
            assert min(1.0, (WIDTH_MM - 6) / (right - left)) > 0.66
