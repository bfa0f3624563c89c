"""Page, Markdown and JSON tell the same; names are only ever names; the same input gives the same bytes (behaviour, invented briefs)."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
import tomli_w
from hypothesis import given, settings
from hypothesis import strategies as st
from report_rig import Page, markdown_text, markdown_tokens, page_of, squeezed

from pinwright.circuits.window import shown
from pinwright.contract import board_plan_shape
from pinwright.pack.build.make import build_of
from pinwright.pack.build.model import Build
from pinwright.pack.drawing import DARK, LIGHT, PRINT, Drawing, clean
from pinwright.pack.make import Pack, pack_of
from pinwright.pack.report import pdf
from pinwright.pack.report.content import (
    Caution,
    Code,
    Column,
    Document,
    Figure,
    Items,
    Listing,
    Name,
    Paragraph,
    Ref,
    Section,
    Table,
    Words,
    plain,
    walk,
)  # fmt: skip
from pinwright.pack.report.html import html_of, shares
from pinwright.pack.report.markdown import escaped, markdown_of
from pinwright.planning import open_job, plan_job

ROOT = Path(__file__).parent.parent.parent
BRIEFS = [path for path in sorted((ROOT / "examples").glob("*.toml")) if path.stem not in ("copied-wiring", "tasting-bench")]
HOSTILE = (
    '"><script>alert(1)</script>', "' onclick='x", "a|b|c", "line\none\r\ntwo", "![x](http://evil.example/x.png)", "[a](javascript:b)",
    "`code`", "**bold** _it_ ~~s~~", "# head", "1. one", "- item", "> quote", "\\", "&lt;b&gt; &amp;", "]]>", "</style><b>", "{{ 7*7 }}",
    "{% raw %}", "שלום עולם", "مضخة 1", "\u202eevil", "\u2066x", "😀🚿", "ﷺ", "x" * 200, "a b" * 60, "http://evil.example",
    "www.evil.example", "me@evil.example", "\t", "|", "`|`", "```", "~~~", "$x$", "-->", "<!--", "=cmd()", "class", "int", "NUL", "../../x",
    "\x00\x07", "\ud7ff",
)  # fmt: skip


@cache
def made(path: Path) -> tuple[Build, Pack]:
    build = build_of(plan_job(open_job(path)))
    return build, pack_of(build, with_pdf=False)


@pytest.fixture(params=BRIEFS, ids=lambda path: path.stem)
def packed(request: pytest.FixtureRequest) -> tuple[Build, Pack]:
    return made(request.param)


# ------------------------------------------------------------------------------ the same facts everywhere


def facts(build: Build) -> list[str]:
    """What the plan says, taken from its JSON and from the build: words any form of the report must hold."""
    plan = build.plan
    shape = board_plan_shape(plan, build.review, build.supply, build.job.setting.bench)
    found = [clean(build.title), plan.view.board.name]
    for name, line in shape["lines"].items():
        found += [name, str(line["pin"]), *line["because"]]
        found += [check["words"] for check in line["checks"] if line["elements"]]
        for element in line["elements"]:
            found += [element["words"], element["why"]]
            for piece in element["pieces"]:
                if piece["value"] is not None and any(item.line == name and item.value == piece["value"] for item in build.items):
                    found.append(shown(piece["value"], piece["unit"]))
                    found += [piece["window"]["low_because"], piece["formula"]] if piece["window"] else []
    for finding in shape["findings"]:
        if not finding["rule"].startswith("safety-"):
            found += [finding["rule"], *finding["because"], *finding["sources"]]
        found += [finding["fix"]] if finding["fix"] else []
    parts = build.job.catalogue.parts
    found += [caution.text.rstrip(".")[1:] for device in build.job.nets.devices if device.kind in parts
              for caution in parts[device.kind].caution]  # fmt: skip
    found += [shown(amps, "A") for amps in shape["supply"]["draw_a"][1:]]
    for wire in build.wires:
        found += [wire.a.item, wire.b.item, build.by_net[wire.net].name]
    found += [item.ref for item in build.items]
    return [clean(words) for words in found]


def test_page_and_markdown_hold_every_fact_of_the_plan(packed: tuple[Build, Pack]):
    build, pack = packed
    html = squeezed(page_of(pack.files["report.html"].decode()).text)
    text = squeezed(markdown_text(pack.files["report.md"].decode()))
    wanted = facts(build)
    assert len(wanted) > 100
    for words in wanted:
        assert squeezed(words) in html, words
        assert squeezed(words) in text, words


def test_the_plan_in_the_pack_is_the_plan(packed: tuple[Build, Pack]):
    build, pack = packed
    shape = json.loads(pack.files["plan.json"])
    best = shape["boards"][0]
    assert best["board"] == build.plan.view.board.id
    assert set(best["lines"]) == {placed.line.id for placed in build.plan.placed}


def test_every_wire_stands_in_the_list(packed: tuple[Build, Pack]):
    build, pack = packed
    page = pack.files["report.html"].decode()
    table = page[page.index('<table id="wires"') :].split("</table>")[0]
    assert re.findall(r'<th scope="row">(\d+)</th>', table) == [str(wire.number) for wire in build.wires]


def test_every_drawing_and_text_of_the_folder_is_in_the_report(packed: tuple[Build, Pack]):
    _, pack = packed
    page, text = pack.files["report.html"].decode(), pack.files["report.md"].decode()
    for path in pack.files:
        if path.startswith(("drawings/", "firmware/")):
            assert f"<code>{path}</code>" in page
            assert f"({path})" in text or f"`{path}`" in text
    assert page.count("<svg ") == sum(path.startswith("drawings/") for path in pack.files)


def test_the_index_names_every_file(packed: tuple[Build, Pack]):
    _, pack = packed
    index = pack.files["README.txt"].decode()
    lines = {line.split("  ")[0]: line for line in index.splitlines()}
    for path in set(pack.files) - {"README.txt"}:
        assert len(lines[path].split("  ", 1)[1].strip()) > 5, f"{path} is not explained"
    assert "Open report.html first" in index


# ------------------------------------------------------------------------------ a page that needs nothing else


def assert_alone(page: Page) -> None:
    """Nothing is fetched and nothing runs; what is referred to is there, once."""
    tags = {tag for tag, _ in page.elements}
    assert not tags & {"script", "link", "iframe", "object", "embed", "base", "form", "input", "audio", "video", "img", "image", "use"}
    assert not [name for _, attributes in page.elements for name in attributes if name.startswith("on") or name in ("src", "srcset")]
    ids = page.all("id")
    assert len(ids) == len(set(ids))
    for target in page.all("href"):
        assert target[:1] == "#"
        assert target[1:] in ids
    for name in ("aria-labelledby", "aria-describedby"):
        assert {one for value in page.all(name) for one in value.split()} <= set(ids)
    fetched = re.findall(r"url\(([^)]*)\)", page.style) + [
        u for _, a in page.elements for v in a.values() for u in re.findall(r"url\(([^)]*)\)", v)
    ]
    assert {target[1:] for target in fetched} <= set(ids)
    assert all(target[:1] == "#" for target in fetched)
    assert "@import" not in page.style
    assert "expression" not in page.style


def assert_readable(page: Page) -> None:
    """Language, landmarks, one title, headings without gaps, heads for tables, names for scroll areas and figures."""
    by_tag: dict[str, list[dict[str, str]]] = {}
    for tag, attributes in page.elements:
        by_tag.setdefault(tag, []).append(attributes)
    assert by_tag["html"] == [{"lang": "en"}]
    for tag in ("title", "main", "header", "nav", "footer", "h1"):
        assert len([1 for one, _ in page.elements if one == tag]) == 1 or tag == "title", tag
    levels = [int(tag[1]) for tag, _ in page.elements if re.fullmatch(r"h[1-6]", tag)]
    assert all(after <= before + 1 for before, after in pairwise(levels))
    assert all(attributes.get("scope") in ("row", "col") for attributes in by_tag["th"])
    assert len(by_tag["caption"]) == len(by_tag["table"])
    for attributes in by_tag["div"]:
        if attributes.get("class") == "scroll":
            assert attributes["tabindex"] == "0"
            assert attributes["role"] == "group"
            assert attributes["aria-label"].strip()
    assert all(attributes["role"] == "img" and attributes["aria-labelledby"] for attributes in by_tag.get("svg", []))


def test_the_page_stands_alone_and_is_readable(packed: tuple[Build, Pack]):
    page = page_of(packed[1].files["report.html"].decode())
    assert_alone(page)
    assert_readable(page)


def test_drawings_refer_to_nothing_outside(packed: tuple[Build, Pack]):
    for path, content in packed[1].files.items():
        if path.endswith(".svg"):
            text = content.decode()
            assert re.findall(r"(?:https?|file|data|javascript):", text.replace('xmlns="http://www.w3.org/2000/svg"', "")) == []
            assert all(target.startswith("#") for target in re.findall(r"url\(([^)]*)\)", text))


def test_markdown_links_lead_to_files_of_the_pack(packed: tuple[Build, Pack]):
    _, pack = packed
    tokens = markdown_tokens(pack.files["report.md"].decode())
    assert not [token.content for token in tokens if token.type.startswith("html")]
    images = [str(token.attrs["src"]) for token in tokens if token.type == "image"]
    assert set(images) == {path for path in pack.files if path.endswith(".svg")}
    assert not [token for token in tokens if token.type == "link_open"]


# ------------------------------------------------------------------------------ names


def hostile_document(name: str) -> Document:
    """Every kind of block with the name in every place a name can stand."""
    drawing = Drawing("d", name, name, 100, 50)
    drawing.text(10, 10, name)
    words: Words = ("before ", Name(clean(name)), " and ", Code(clean(name)), " after")
    blocks = (
        Paragraph(words), Paragraph(clean(name), "lead"), Paragraph(Name(clean(name)), "remark"),
        Items((words, clean(name), Name(clean(name)))), Items((clean(name),), True), Caution(words, "heat", clean(name), clean(name)),
        Table("t", clean(name), (Column("a"), Column("b", True), Column("c")), (
            (Name(clean(name)), clean(name), words), (Code(clean(name)), Ref("x", "t"), clean(name))), True),
        Figure("f", Name(clean(name)), "drawings/d.svg", drawing, "t"), Listing("firmware/main.py", "python", f"# {clean(name)}\n"),
    )  # fmt: skip
    return Document(clean(name).strip() or "-", words, (Section("s", words, blocks),), "foot")


def assert_harmless(name: str) -> None:
    """The page has the elements it has with a plain name, the Markdown the tokens; the name is read as it is."""
    document, usual = hostile_document(name), hostile_document("pump")
    page, calm = page_of(html_of(document)), page_of(html_of(usual))
    assert_alone(page)
    if not clean(name).strip():
        return  # nothing to be seen, so nothing to be misread
    kinds = [tag for tag, _ in page.elements if tag != "bdi"]
    assert kinds == [tag for tag, _ in calm.elements if tag != "bdi"]
    assert [sorted(attributes) for tag, attributes in page.elements if tag != "bdi"] == [
        sorted(attributes) for tag, attributes in calm.elements if tag != "bdi"
    ]
    assert squeezed(page.text).count(squeezed(clean(name))) >= 15
    ours = [t.type for t in markdown_tokens(markdown_of(document)) if t.type not in ("text", "text_special", "code_inline")]
    assert ours == [t.type for t in markdown_tokens(markdown_of(usual)) if t.type not in ("text", "text_special", "code_inline")]
    assert squeezed(markdown_text(markdown_of(document))).count(squeezed(clean(name))) >= 12


@pytest.mark.parametrize("name", HOSTILE, ids=range(len(HOSTILE)))
def test_a_hostile_name_is_only_a_name(name: str):
    assert_harmless(name)


@settings(max_examples=150, deadline=None)
@given(st.one_of(st.text(max_size=60), st.text(alphabet="|`*_[]()<>&\\#-+!~ .1:/@\n\"'{}%", max_size=25)))
def test_any_name_is_only_a_name(name: str):
    assert_harmless(name)


def test_a_whole_pack_with_hostile_names(tmp_path: Path):
    names = [name for name in HOSTILE if clean(name).strip() and "\x00" not in name][:24]
    kinds = ("push-button-momentary", "relay-module-active-high", "led-red", "temp-ds18b20")
    parts: list[dict[str, Any]] = [{"name": name, "kind": kinds[number % len(kinds)]} for number, name in enumerate(names)]
    brief = tmp_path / "brief <b>|x.toml"
    brief.write_text(tomli_w.dumps({"title": HOSTILE[0], "board": {"only": ["raspberry-pi-pico"]}, "part": parts}))
    build = build_of(plan_job(open_job(brief)))
    pack = pack_of(build)
    page = page_of(pack.files["report.html"].decode())
    assert_alone(page)
    assert_readable(page)
    text = markdown_text(pack.files["report.md"].decode())
    assert not [token.content for token in markdown_tokens(pack.files["report.md"].decode()) if token.type.startswith(("html", "link"))]
    for placed in build.plan.placed:
        assert squeezed(clean(placed.line.id)) in squeezed(page.text)
        assert squeezed(clean(placed.line.id)) in squeezed(text)
    assert all(re.fullmatch(r"[A-Za-z0-9._/-]+", path) for path in pack.files)
    assert len({path.casefold() for path in pack.files}) == len(pack.files)


@pytest.mark.parametrize(
    ("words", "wanted"),
    [("a|b", "a\\|b"), ("# head", "\\# head"), ("1. one", "1\\. one"), ("- x", "\\- x"), ("two\nlines", "two lines"), ("<b>", "\\<b\\>")],
)
def test_escapes(words: str, wanted: str):
    # published: CommonMark 0.31, section 2.4 (any ASCII punctuation may be escaped); from memory
    assert escaped(words) == wanted


# ------------------------------------------------------------------------------ the same bytes


def test_the_same_brief_gives_the_same_bytes():
    """In two processes that hash texts differently, in two folders."""
    code = (
        "import sys, hashlib; from pathlib import Path; from pinwright.planning import open_job, plan_job\n"
        "from pinwright.pack.build.make import build_of; from pinwright.pack.make import pack_of\n"
        "files = pack_of(build_of(plan_job(open_job(Path(sys.argv[1]))))).files\n"
        "print({path: hashlib.sha256(content).hexdigest() for path, content in files.items()})"
    )
    brief = str(ROOT / "examples" / "flour-silo.toml")
    command = [sys.executable, "-c", code, brief]
    answers = set()
    for seed, zone in (("1", "UTC"), ("2", "Asia/Tokyo")):
        env = os.environ | {"PYTHONPATH": str(ROOT / "src"), "PYTHONHASHSEED": seed, "TZ": zone}
        answers.add(subprocess.run(command, env=env, capture_output=True, text=True, check=True).stdout)
    assert len(answers) == 1
    assert "report.html" in answers.pop()


# ------------------------------------------------------------------------------ the content itself


def contrast(a: str, b: str) -> float:
    """Contrast of two colours   [WCAG 2.2, definitions of contrast ratio and relative luminance; from memory]."""

    def luminance(colour: str) -> float:
        shares = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        r, g, b = (share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4 for share in shares)
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    light, dark = sorted((luminance(a), luminance(b)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_published():
    # published: WCAG techniques G18 call #767676 on white the lightest grey that reaches 4.5:1; from memory
    assert contrast("#ffffff", "#000000") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("scheme", [LIGHT, DARK, PRINT], ids=["light", "dark", "print"])
def test_words_in_drawings_can_be_read(scheme: dict[str, str]):
    """What a checker in a browser cannot tell of drawings, from their colours: 4.5 to 1 for small words (WCAG 2.2, 1.4.3)."""
    for behind in ("paper", "fill", "panel", "used", "warn", "good"):
        assert contrast(scheme["ink"], scheme[behind]) >= 4.5, behind
    for behind in ("paper", "fill", "panel"):
        assert contrast(scheme["soft"], scheme[behind]) >= 4.5, behind
    for behind in ("board", "bad"):
        assert contrast(scheme["label"], scheme[behind]) >= 4.5, behind


def test_sections_come_in_the_order_of_use():
    document_ids = re.findall(r'<section id="([a-z-]+)" aria-labelledby="[a-z-]+">\n<h2', made(BRIEFS[0])[1].files["report.html"].decode())
    wanted = ["device", "cautions", "board", "pins", "circuits", "power-up", "supply", "sheet", "lists", "bench", "firmware", "findings"]
    assert [name for name in document_ids if name in wanted] == wanted
    assert document_ids[-4:] == ["recalled", "sources", "assumptions", "again"]


def test_dangers_stand_before_everything_else_of_the_cautions():
    page = made(ROOT / "examples" / "bakery-proofer.toml")[1].files["report.html"].decode()
    tags = re.findall(r'<div class="caution danger">\n<p><strong>(\w+)', page)
    assert tags == sorted(tags, key=("mains", "supply", "fire", "heat", "battery").index)
    assert "mains" in tags
    assert page.index("caution danger") < page.index('id="board"')


def test_shares_of_a_page_are_whole():
    table = Table("t", "c", (Column("a"), Column("long", True)), (("x" * 300, "1 000 000 000"), ("y", "2")))
    assert sum(shares(table)) == pytest.approx(100, abs=0.1)
    assert min(shares(table)) > 5


def test_figures_name_a_table_that_is_there(packed: tuple[Build, Pack]):
    build, _ = packed
    from pinwright.pack.pieces import pieces_of
    from pinwright.pack.report.compose import report_of
    from pinwright.pack.report.work import Origin

    document = report_of(build, pieces_of(build), Origin("1", 1, "x.toml"))
    tables = {block.id for block in walk(document.sections) if isinstance(block, Table)}
    figures = [block for block in walk(document.sections) if isinstance(block, Figure)]
    assert figures
    for figure in figures:
        assert figure.table in tables
        assert plain(figure.caption)


# ------------------------------------------------------------------------------ paper


@pytest.mark.parametrize(
    ("error", "words"), [(ImportError("no", name="weasyprint"), "weasyprint"), (OSError("cannot load pango"), "libpango")]
)
def test_without_the_program_that_prints_the_pack_says_so(error: Exception, words: str, monkeypatch: pytest.MonkeyPatch):
    def missing() -> Any:
        raise error

    monkeypatch.setattr(pdf, "_import", missing)
    pack = pack_of(made(BRIEFS[0])[0])
    assert "report.pdf" not in pack.files
    (said,) = pack.left_out
    assert words in said
    assert "report.html prints the same" in said
    assert "\n" not in said
    assert "report.pdf" not in pack.files["README.txt"].decode()
