"""Make ``docs/formulas.md`` from the docstrings of ``src/pinwright/circuits``."""

from __future__ import annotations

import ast
import re
from dataclasses import dataclass, field
from pathlib import Path

__all__ = ["Formula", "Module", "formulas_page", "modules"]

CIRCUITS = Path(__file__).resolve().parent.parent / "src" / "pinwright" / "circuits"

_HEADINGS = ("Parameters", "Returns", "Raises")
_ENTRY = re.compile(r"^(?P<name>[\w*, ]+?) : (?P<meaning>.*?)(?:\s*\[(?P<unit>[^\[\]]*)\])?$")
_TAG = re.compile(r"\s*\[([^\[\]]+)\]")


@dataclass(frozen=True, slots=True)
class Entry:
    """A parameter or result: its name, what it is, its unit."""

    name: str
    meaning: str
    unit: str


@dataclass(frozen=True, slots=True)
class Formula:
    """A public function as its docstring tells it."""

    name: str
    arguments: tuple[str, ...]
    what: str
    body: str
    sources: tuple[str, ...]
    parameters: tuple[Entry, ...]
    returns: tuple[Entry, ...]
    raises: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Module:
    """A module: title, the rest of its docstring with the sources, and its functions in the order of the file."""

    name: str
    title: str
    about: str
    formulas: list[Formula] = field(default_factory=list)


def modules(folder: Path = CIRCUITS) -> list[Module]:
    """Every module that offers functions, by name; read as text, nothing is imported."""
    found = [_module(path) for path in sorted(folder.glob("*.py")) if not path.name.startswith("_")]
    return [module for module in found if module.formulas]


def formulas_page() -> str:
    """The whole page."""
    found = modules()
    lines = ["# Formulas", "", "Generated from the docstrings of `src/pinwright/circuits`.", ""]
    lines += ["All values are in SI units. Tags in brackets name a source; each section says which document it is.", ""]
    lines += ["| module | what | functions |", "|---|---|---|"]
    for module in found:
        names = ", ".join(f"[`{formula.name}`](#{_anchor(module, formula)})" for formula in module.formulas)
        lines.append(f"| [`{module.name}`](#{_slug(module.name)}) | {_cell(module.title)} | {names} |")
    for module in found:
        lines += ["", f"## {module.name}", "", _text(module.title), ""]
        if module.about:
            lines += [_prose(module.about), ""]
        for formula in module.formulas:
            lines += _section(module, formula)
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines)).rstrip() + "\n"


def _section(module: Module, formula: Formula) -> list[str]:
    lines = [f"### {module.name}.{formula.name}", "", f"`{formula.name}({', '.join(formula.arguments)})`", "", _text(formula.what), ""]
    if formula.body:
        lines += [_text(formula.body), ""]
    rows = [("takes", entry) for entry in formula.parameters] + [("gives", entry) for entry in formula.returns]
    if rows:
        lines += ["| | name | meaning | unit |", "|---|---|---|---|"]
        lines += [f"| {way} | `{entry.name}` | {_cell(entry.meaning)} | {_cell(entry.unit or '-')} |" for way, entry in rows]
        lines.append("")
    lines += [f"Refuses (`{entry.name}`): {_text(entry.meaning)}\n" for entry in formula.raises]
    if formula.sources:
        lines += [f"Source: {_text('; '.join(formula.sources))}.", ""]
    return lines


def _module(path: Path) -> Module:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    title, _, about = (ast.get_docstring(tree) or path.stem).partition("\n\n")
    public = _public(tree)
    module = Module(path.stem, " ".join(title.split()), about.strip())
    module.formulas.extend(_formula(node) for node in tree.body if isinstance(node, ast.FunctionDef) and node.name in public)
    return module


def _public(tree: ast.Module) -> set[str]:
    for node in tree.body:
        if isinstance(node, ast.Assign) and any(isinstance(to, ast.Name) and to.id == "__all__" for to in node.targets):
            return set(ast.literal_eval(node.value))
    return {node.name for node in tree.body if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")}


def _formula(node: ast.FunctionDef) -> Formula:
    text = (ast.get_docstring(node) or "").split("\n>>> ")[0]
    parts = _parts(text)
    first, _, body = parts[""].partition("\n\n")
    arguments = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
    return Formula(
        node.name,
        tuple(argument.arg for argument in arguments),
        " ".join(_TAG.sub("", first).split()),
        body.strip(),
        tuple(dict.fromkeys(tag.strip() for tag in _TAG.findall(first))),
        _entries(parts["Parameters"]),
        _entries(parts["Returns"]),
        _entries(parts["Raises"]),
    )


def _parts(text: str) -> dict[str, str]:
    """What stands under each heading of a docstring; the beginning under an empty name."""
    parts = {"": ""} | dict.fromkeys(_HEADINGS, "")
    name = ""
    lines = text.splitlines()
    for number, line in enumerate(lines):
        under = lines[number + 1] if number + 1 < len(lines) else ""
        if line in _HEADINGS and under and set(under) == {"-"}:
            name = line
        elif not (name and line and set(line) == {"-"}):
            parts[name] += line + "\n"
    return {key: value.strip() for key, value in parts.items()}


def _entries(text: str) -> tuple[Entry, ...]:
    found: list[Entry] = []
    for line in text.splitlines():
        match = _ENTRY.match(line.strip())
        if match and not line.startswith(" "):
            found.append(Entry(match["name"].strip(), match["meaning"].strip(), match["unit"] or ""))
        elif found and line.strip():  # a line that goes on; the unit may stand at its end
            last = found.pop()
            more = re.match(r"^(.*?)(?:\s*\[([^\[\]]*)\])?$", line.strip())
            meaning, unit = (more[1], more[2]) if more else (line.strip(), None)
            found.append(Entry(last.name, f"{last.meaning} {meaning}", unit or last.unit))
    return tuple(found)


def _anchor(module: Module, formula: Formula) -> str:
    return _slug(f"{module.name}.{formula.name}")


def _slug(heading: str) -> str:
    """Anchor of a heading: lower case, without dots; the underscore stays."""
    return heading.casefold().replace(".", "")


def _text(text: str) -> str:
    """Prose in Markdown: code in single backticks, and nothing that a star or a smaller-than sign would turn into markup."""
    text = text.replace("``", "`")
    pieces = text.split("`")
    return "`".join(piece if number % 2 else piece.replace("*", r"\*").replace("<", "&lt;") for number, piece in enumerate(pieces))


def _prose(text: str) -> str:
    """Text of a module: one line for each thing it says, and an underlined word is no heading of the page."""
    text = re.sub(r"^(\w[\w ]*)\n-{3,}$", r"\1:", _text(text), flags=re.MULTILINE)
    return re.sub(r"(?<=[\].:])\n(?=\S)", "  \n", text)


def _cell(text: str) -> str:
    return " ".join(_text(text).split()).replace("|", r"\|")
