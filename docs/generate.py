"""Write the parts of the documentation that follow from the code, or check that they are up to date.

python docs/generate.py           write
python docs/generate.py --check   fail if anything differs
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter
from html import escape
from pathlib import Path

import click

from pinwright.brief import model
from pinwright.brief.schema import brief_schema
from pinwright.cli.main import main
from pinwright.facts.loader import Catalogue, load_catalogue
from pinwright.facts.validate import cites
from pinwright.review.registry import all_rules

ROOT = Path(__file__).parent.parent
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
    return (
        "# Rules of the review\n\nGenerated from the rules themselves.\n\n| rule | what it looks for | why | source |\n|---|---|---|---|\n"
        + "\n".join(rows)
        + "\n"
    )


def brief_keys() -> str:
    """Every key of a brief."""
    pages = ["# Keys of a brief\n\nGenerated from the model. `docs/brief.schema.json` is the same for editors.\n"]
    tables = (
        ("top level", model.Brief), ("[supply]", model.Supply), ("[use]", model.Use), ("[board]", model.BoardWish),
        ("[[part]]", model.BriefPart), ("[part.change.LINE]", model.LineWish), ("[[part.line]]", model.BriefLine),
    )  # fmt: skip
    for title, table in tables:
        pages.append(f"## {title}\n\n{(table.__doc__ or '').strip()}\n\n| key | meaning |\n|---|---|")
        pages[-1] += "".join(f"\n| `{info.alias or name}` | {info.description or ''} |" for name, info in table.model_fields.items()) + "\n"
    return "\n".join(pages)


def catalogue_page(catalogue: Catalogue) -> str:
    """What the catalogue holds and how much of it was read."""
    lines = ["# The catalogue", "", "Generated from the facts. *read* counts cited values whose place was read, *recalled* the others.", ""]
    lines += ["| chip | pads | read | recalled |", "|---|---|---|---|"]
    for chip in sorted(catalogue.chips.values(), key=lambda c: c.part):
        read, recalled = coverage(chip)
        lines.append(f"| {chip.part} | {len(chip.pad)} | {read} | {recalled} |")
    lines += ["", "| board | chip | name | read | recalled |", "|---|---|---|---|---|"]
    for board in sorted(catalogue.boards.values(), key=lambda b: b.id):
        read, recalled = coverage(board)
        lines.append(f"| {board.id} | {board.chip} | {board.name} | {read} | {recalled} |")
    lines += ["", "| part | title | family | read | recalled |", "|---|---|---|---|---|"]
    for part in sorted(catalogue.parts.values(), key=lambda p: (p.family, p.id)):
        read, recalled = coverage(part)
        lines.append(f"| {part.id} | {part.title} | {part.family} | {read} | {recalled} |")
    return "\n".join(lines) + "\n"


def coverage(item: object) -> tuple[int, int]:
    """How many cited values were read and how many recalled."""
    counts = Counter(cited.seen for _, cited in cites(item) if cited.src)
    return counts["read"], counts["memory"]


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


def pages() -> dict[Path, str]:
    """Every generated file with its content."""
    catalogue = load_catalogue()
    return {
        DOCS / "commands.md": commands(),
        DOCS / "rules.md": rules(),
        DOCS / "brief-keys.md": brief_keys(),
        DOCS / "catalogue.md": catalogue_page(catalogue),
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
