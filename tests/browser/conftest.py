"""What judges the report from outside: without it these tests are skipped, except in continuous integration, where they fail."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import tools

from pinwright.pack.build.make import build_of
from pinwright.pack.build.model import Build
from pinwright.pack.folder import write_pack
from pinwright.pack.make import pack_of
from pinwright.planning import open_job, plan_job

ROOT = Path(__file__).parent.parent.parent


def need(words: str) -> None:
    """Skip where something is missing; in continuous integration that is a failure."""
    if words and os.environ.get("CI", "").lower() == "true":
        pytest.fail(words)
    if words:
        pytest.skip(words)


@pytest.fixture(scope="session")
def validator() -> Callable[..., list[str]]:
    need(tools.missing_validator())
    return tools.validate


@pytest.fixture(scope="session")
def browser() -> Callable[..., str]:
    need(tools.missing_browser())
    return tools.dump_dom


@pytest.fixture(scope="session")
def poppler() -> None:
    need(tools.missing_poppler())


@cache
def _packed(name: str, folder: Path) -> tuple[Build, Path]:
    build = build_of(plan_job(open_job(ROOT / "examples" / f"{name}.toml")))
    write_pack(folder / name, pack_of(build).files)
    return build, folder / name


@pytest.fixture(scope="session")
def packs(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], tuple[Build, Path]]:
    """Make the pack of an example, once: the build and the folder."""
    folder = tmp_path_factory.mktemp("packs")
    return lambda name: _packed(name, folder)


@pytest.fixture
def small(packs: Callable[[str], tuple[Build, Path]]) -> tuple[Build, Path]:
    """A device of a dozen lines."""
    return packs("bakery-proofer")


@pytest.fixture(params=["bakery-proofer", "oven-wall"])
def built(request: pytest.FixtureRequest, packs: Callable[[str], tuple[Build, Path]]) -> tuple[Build, Path]:
    """The same, and the largest example."""
    return packs(request.param)
