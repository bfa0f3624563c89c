"""The documentation agrees with the code: generated pages, docstrings, links, examples, rules."""

from __future__ import annotations

import ast
import importlib
import importlib.util
import inspect
import os
import re
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

from pinwright.facts.loader import Catalogue
from pinwright.review.registry import all_rules

ROOT = Path(__file__).parent.parent
SOURCE = ROOT / "src"
MODULES = [".".join(path.relative_to(SOURCE).with_suffix("").parts).removesuffix(".__init__") for path in sorted(SOURCE.rglob("*.py"))]
PAGES = [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *sorted((ROOT / "docs").glob("*.md"))]


@pytest.fixture(scope="module")
def generate() -> ModuleType:
    spec = importlib.util.spec_from_file_location("docs_generate", ROOT / "docs" / "generate.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_generated_pages_are_up_to_date():
    env = os.environ | {"PYTHONPATH": str(SOURCE), "PYTHONUTF8": "1"}
    command = [sys.executable, str(ROOT / "docs" / "generate.py"), "--check"]
    done = subprocess.run(command, env=env, capture_output=True, encoding="utf-8", check=False)
    assert (done.stdout, done.stderr, done.returncode) == ("", "", 0)


def test_every_page_that_says_it_is_generated_is_checked(generate: ModuleType, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(generate, "plan_picture", lambda: "")
    said = {page.name for page in (ROOT / "docs").glob("*.md") if "\nGenerated from" in page.read_text(encoding="utf-8")}
    assert {path.name for path in generate.pages()} == said | {"brief.schema.json", "plan.svg"}


@pytest.mark.parametrize("name", MODULES)
def test_everything_public_is_described(name: str):
    path = SOURCE / Path(*name.split("."))
    file = path.with_suffix(".py") if path.with_suffix(".py").exists() else path / "__init__.py"
    text = file.read_text(encoding="utf-8")
    if not text.strip():
        return
    assert ast.get_docstring(ast.parse(text)), f"{name} does not say what it is"
    module = importlib.import_module(name)
    for public in getattr(module, "__all__", ()):
        thing = getattr(module, public)
        if (inspect.isfunction(thing) or inspect.isclass(thing)) and thing.__module__.startswith("pinwright"):
            words = thing.__doc__ or ""
            assert words.strip(), f"{name}.{public} has no docstring"
            assert not words.startswith(f"{public}("), f"{name}.{public} has a made-up docstring"


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_lead_somewhere(page: Path):
    assert page.exists()
    text = re.sub(r"```.*?```", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    targets = [*re.findall(r"\]\(([^)\s]+)\)", text), *re.findall(r'(?:src|href)="([^"]+)"', text)]
    for target in targets:
        if not re.match(r"[a-z]+:|#", target):
            assert (page.parent / target.split("#")[0]).exists(), target


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_files_named_in_the_text_exist(page: Path):
    text = page.read_text(encoding="utf-8")
    for name in re.findall(r"`((?:docs|examples|src|tests)/[\w./-]+)`", text):
        assert (ROOT / name).exists(), name


def test_every_example_is_named():
    text = "\n".join(page.read_text(encoding="utf-8") for page in PAGES if page.exists())
    for path in (ROOT / "examples").glob("*.toml"):
        assert path.name in text, f"{path.name} is named nowhere"


def test_every_page_is_reached_from_the_readme():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for page in (ROOT / "docs").glob("*.md"):
        assert f"docs/{page.name}" in text, f"docs/{page.name} is not linked"


def test_rules_say_what_they_look_for_why_and_where_it_is_from():
    rules = all_rules()
    ids = [rule.id for rule in rules]
    assert len(ids) == len(set(ids))
    for rule in rules:
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", rule.id)
        assert rule.what.strip()
        assert rule.why.strip()
        assert rule.source.strip()
        assert "|" not in rule.what + rule.why + rule.source  # they stand in a table


def test_the_catalogue_page_names_everything(catalogue: Catalogue, generate: ModuleType):
    page = generate.catalogue_page(catalogue)
    for name in (*catalogue.chips, *catalogue.boards, *catalogue.parts):
        assert f"| {name} |" in page
