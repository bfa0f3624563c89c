"""Every help text ends its words with an example, and the examples run (behaviour)."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from pinwright.cli.main import main

ROOT = Path(__file__).parent.parent.parent


def commands(command: click.Command = main, names: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    yield names
    if isinstance(command, click.Group):
        for name, sub in command.commands.items():
            yield from commands(sub, (*names, name))


def examples(names: tuple[str, ...]) -> list[str]:
    words = CliRunner().invoke(main, [*names, "--help"]).stdout
    block = words.split("Example:\n")[1].split("\n\n")[0]
    return [line.strip() for line in block.splitlines()]


@pytest.mark.parametrize("names", list(commands()), ids=" ".join)
def test_help_has_an_example_that_runs(names: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    (tmp_path / "examples").symlink_to(ROOT / "examples")
    monkeypatch.chdir(tmp_path)
    given = examples(names)
    assert given
    for line in given:
        program, *args = shlex.split(line)
        assert program == "pinwright"
        assert args[: len(names)] == list(names)
        result = CliRunner().invoke(main, args)
        asks = names in (("check",), ("why",))  # whose answer may be no
        assert result.exit_code in ((0, 1) if asks else (0,)), f"{line}\n{result.output}"
        assert result.exception is None or isinstance(result.exception, SystemExit)
        assert result.stderr == ""


@pytest.mark.parametrize("names", list(commands()), ids=" ".join)
@pytest.mark.parametrize("flag", ["-h", "--help"])
def test_help_is_narrow_and_says_what_every_option_does(names: tuple[str, ...], flag: str, run, assert_narrow):
    shown = run(*names, flag, code=0).stdout
    assert_narrow(shown)
    command: click.Command = main
    for name in names:
        assert isinstance(command, click.Group)
        command = command.commands[name]
    for parameter in command.params:
        if isinstance(parameter, click.Option):
            assert parameter.help
            assert parameter.opts[0] in shown


@pytest.mark.parametrize("names", [names for names in commands() if names not in ((), ("facts",))], ids=" ".join)
def test_every_command_speaks_json(names: tuple[str, ...], run):
    assert "--json" in run(*names, "--help", code=0).stdout


def test_version(run):
    from pinwright import __version__

    assert run("--version", code=0).stdout == f"pinwright, version {__version__}\n"
