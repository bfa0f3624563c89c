"""Write the parts of the documentation that follow from the code, or check that they are up to date.

python docs/generate.py           write
python docs/generate.py --check   fail if anything differs
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Sequence
from html import escape
from pathlib import Path

import click

from pinwright.brief import model
from pinwright.brief.schema import brief_schema
from pinwright.cli.main import main
from pinwright.facts.loader import Catalogue, load_catalogue
from pinwright.facts.model import Board, Chip, Part
from pinwright.facts.provenance import documents, values_in
from pinwright.fitting.firmware import LANGUAGE_WORDS
from pinwright.review.registry import all_rules
from pinwright.supply.findings import SUPPLY_RULES

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT / "docs"))  # for the page made beside this file

DOCS = ROOT / "docs"


def commands() -> str:
    """Help of every command."""
    pages = ["# Commands\n\nGenerated from the commands' own help.\n"]

    def add(command: click.Command, names: list[str]) -> None:
        context = click.Context(command, info_name=" ".join(names), max_content_width=80, help_option_names=["-h", "--help"])
        pages.append(f"## {' '.join(names)}\n\n```\n{command.get_help(context).rstrip()}\n```\n")
        if isinstance(command, click.Group):
            for name in command.list_commands(context):
                add(command.commands[name], [*names, name])

    add(main, ["pinwright"])
    return "\n".join(pages)


def rules() -> str:
    """All rules of the review."""
    rows = [f"| {rule.id} | {rule.what} | {rule.why} | {rule.source} |" for rule in all_rules()]
    rows += [f"| {name} | {what} | {why} | board, part and chip data, named in the finding |" for name, (what, why) in SUPPLY_RULES.items()]
    return (
        "# Rules of the review\n\nGenerated from the rules themselves.\n\n| rule | what it looks for | why | source |\n|---|---|---|---|\n"
        + "\n".join(rows)
        + "\n"
    )


def brief_keys() -> str:
    """Every key of a brief."""
    pages = ["# Keys of a brief\n\nGenerated from the model. `docs/brief.schema.json` is the same for editors.\n"]
    tables = (
        ("top level", model.Brief), ("[supply]", model.Supply), ("[use]", model.Use), ("[firmware]", model.Firmware),
        ("[stock]", model.Stock),
        ("[board]", model.BoardWish),
        ("[[part]]", model.BriefPart), ("[part.change.LINE]", model.LineWish), ("[[part.line]]", model.BriefLine),
    )  # fmt: skip
    for title, table in tables:
        pages.append(f"## {title}\n\n{(table.__doc__ or '').strip()}\n\n| key | meaning |\n|---|---|")
        pages[-1] += "".join(f"\n| `{info.alias or name}` | {info.description or ''} |" for name, info in table.model_fields.items()) + "\n"
    return "\n".join(pages)


def catalogue_page(catalogue: Catalogue) -> str:
    """What the catalogue holds and how much of it was read."""
    chips = sorted(catalogue.chips.values(), key=lambda c: c.part)
    boards = sorted(catalogue.boards.values(), key=lambda b: b.id)
    parts = sorted(catalogue.parts.values(), key=lambda p: (p.family, p.id))
    lines = [
        "# The catalogue",
        "",
        "Generated from the facts.",
        "*read* counts values whose place in a document was read, *recalled* those written from memory.",
        "`pinwright facts show NAME KEY` prints the source of any of them, `pinwright facts sources` lists the documents.",
        "",
        "| | entries | values | read | recalled | share read |",
        "|---|---|---|---|---|---|",
    ]
    groups: list[tuple[str, Sequence[Chip | Board | Part]]] = [("chips", chips), ("boards", boards), ("parts", parts)]
    for name, items in [*groups, ("all", [*chips, *boards, *parts])]:
        read, recalled = (sum(counts) for counts in zip(*(values_in(item) for item in items), strict=True))
        share = f"{100 * read / (read + recalled):.0f} %"
        lines.append(f"| {name} | {len(items)} | {read + recalled} | {read} | {recalled} | {share} |")
    lines += ["", f"They rest on {len(documents(catalogue))} documents.", ""]
    lines += [
        "| language | chips that run it | parts with a driver | parts that need none | parts with none known |",
        "|---|---|---|---|---|",
    ]
    for language, words in LANGUAGE_WORDS.items():
        runs = sum(any(f.language == language for f in chip.firmware) for chip in chips)
        plain = sum(part.needs_no_driver for part in parts)
        driven = sum(not part.needs_no_driver and any(d.language == language for d in part.driver) for part in parts)
        lines.append(f"| {words} | {runs} | {driven} | {plain} | {len(parts) - plain - driven} |")
    lines += ["", "| chip | pads | read | recalled |", "|---|---|---|---|"]
    for chip in chips:
        read, recalled = values_in(chip)
        lines.append(f"| {chip.part} | {len(chip.pad)} | {read} | {recalled} |")
    lines += ["", "| board | chip | name | read | recalled |", "|---|---|---|---|---|"]
    for board in boards:
        read, recalled = values_in(board)
        lines.append(f"| {board.id} | {board.chip} | {board.name} | {read} | {recalled} |")
    lines += ["", "| part | title | family | read | recalled |", "|---|---|---|---|---|"]
    for part in parts:
        read, recalled = values_in(part)
        lines.append(f"| {part.id} | {part.title} | {part.family} | {read} | {recalled} |")
    return "\n".join(lines) + "\n"


def picture(title: str, text: str) -> str:
    """Terminal output as a drawing with real text."""
    rows = text.rstrip().split("\n")
    width, line = 80 * 7.8 + 32, 17
    height = len(rows) * line + 40
    # No-break spaces: not every viewer keeps plain ones.
    texts = (escape(row.replace(" ", "\u00a0")) for row in rows)
    body = "\n".join(f'<text x="16" y="{28 + number * line}">{text}</text>' for number, text in enumerate(texts))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height}" role="img" aria-labelledby="t">\n'
        f'<title id="t">{escape(title)}</title>\n'
        "<style>text{font:13px ui-monospace,Menlo,Consolas,'DejaVu Sans Mono',monospace;fill:#222}</style>\n"
        f'<rect width="100%" height="100%" fill="#fbfaf7"/>\n'
        f"{body}\n</svg>\n"
    )


def plan_picture() -> str:
    """The first part of a real plan."""
    command = [sys.executable, "-m", "pinwright.cli.main", "plan", "examples/flour-silo.toml"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    shown = done.stdout.split("\nReview:")[0]
    return picture("pinwright plan examples/flour-silo.toml", f"$ pinwright plan examples/flour-silo.toml\n{shown}")


def formulas() -> str:
    """Every formula with its sources."""
    from formulas_page import formulas_page

    return formulas_page()


def pages() -> dict[Path, str]:
    """Every generated file with its content."""
    catalogue = load_catalogue()
    return {
        DOCS / "commands.md": commands(),
        DOCS / "rules.md": rules(),
        DOCS / "brief-keys.md": brief_keys(),
        DOCS / "catalogue.md": catalogue_page(catalogue),
        DOCS / "formulas.md": formulas(),
        DOCS / "brief.schema.json": json.dumps(brief_schema(), indent=2, ensure_ascii=False) + "\n",
        DOCS / "plan.svg": plan_picture(),
    }


def run(check: bool) -> int:
    """Write or compare; returns the exit code."""
    stale = [path for path, text in pages().items() if not path.exists() or path.read_text(encoding="utf-8") != text]
    if check:
        for path in stale:
            sys.stdout.write(f"{path.relative_to(ROOT)} is out of date: run 'make docs'\n")
        return 1 if stale else 0
    for path, text in pages().items():
        path.write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(run("--check" in sys.argv[1:]))
