"""Manners all commands share: streams, widths, guesses, and no traceback whatever comes (behaviour)."""

from __future__ import annotations

import json
import os
import pty
import subprocess
from pathlib import Path

import pytest

from .conftest import COMMAND, ROOT, environment

BOARD = ("--board", "raspberry-pi-pico")
BOARD_W = ("--board", "raspberry-pi-pico-w")
READERS = [("plan",), ("check",), ("why", "x")]
EVIL = [
    "a\x1b[31mred",
    "[red]x[/red]",
    "[/]",
    "\u202eright-to-left",
    "two\nlines",
    "tab\there",
    "nul\x00",
    "bell\x07",
    "ש\u05dc",
    "日本語",
    "",
    " ",
    "\udcff",
]
ODD = [
    "",
    " ",
    "-",
    "--",
    "-x",
    "--json=1",
    "--top",
    "nofile",
    "/",
    ".",
    "..",
    "/dev/null",
    "*",
    "%s",
    "{0}",
    "[red]",
    "\x1b[31m",
    "\n",
    "\udcff",
    "é",
    "a" * 5000,
]


# ------------------------------------------------------------------------------ streams


def test_json_is_the_only_thing_on_stdout_and_talk_goes_to_stderr(process, tmp_path: Path):
    (tmp_path / "parts").mkdir()
    (tmp_path / "parts" / "broken.toml").write_text("nonsense", encoding="utf-8")
    done = process("plan", "examples/bakery-proofer.toml", "--json", "--catalogue", tmp_path, *BOARD_W)
    assert json.loads(done.stdout)["title"] == "Proofing cabinet"
    assert done.stderr.startswith("left out: ")
    assert done.returncode == 0


def test_faults_leave_stdout_empty(process):
    for extra in ([], ["--json"]):
        done = process("plan", "nowhere.toml", *extra)
        assert (done.stdout, done.returncode) == ("", 2)
        assert done.stderr == "nowhere.toml\n    Cannot be read: No such file or directory.\n1 fault; nothing was done.\n"


@pytest.mark.parametrize("env", [{}, {"NO_COLOR": "1"}, {"TERM": "xterm-256color", "COLORTERM": "truecolor"}, {"COLUMNS": "300"}])
def test_pipes_get_no_escape_codes_and_80_columns(env: dict[str, str], process, assert_narrow):
    done = process("check", "examples/copied-wiring.toml", **env)
    assert done.returncode == 1
    assert "\x1b" not in done.stdout + done.stderr
    assert_narrow(done.stdout)


def on_terminal(*args: str, **env: str) -> str:
    """Output of a command that believes stdout is a terminal."""
    ours, theirs = pty.openpty()
    child = subprocess.Popen([*COMMAND, *args], cwd=ROOT, env=environment(**env), stdin=theirs, stdout=theirs, stderr=theirs)
    os.close(theirs)
    shown = b""
    while True:
        try:
            piece = os.read(ours, 65536)
        except OSError:  # the other end is closed
            break
        if not piece:
            break
        shown += piece
    child.wait(timeout=30)
    os.close(ours)
    return shown.decode()


def test_a_terminal_gets_colour_unless_no_color_says_no():
    colour = "\x1b[1;31m"
    assert colour in on_terminal("check", "examples/copied-wiring.toml", TERM="xterm-256color")
    assert colour not in on_terminal("check", "examples/copied-wiring.toml", TERM="xterm-256color", NO_COLOR="1")
    assert "\x1b" not in on_terminal("check", "examples/copied-wiring.toml", TERM="dumb")


def test_a_pipe_that_closes_early_is_no_fault():
    child = subprocess.Popen(
        [*COMMAND, "facts", "list"], cwd=ROOT, env=environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8"
    )
    assert child.stdout is not None
    assert child.stderr is not None
    child.stdout.close()
    assert child.stderr.read() == ""
    child.stderr.close()
    assert child.wait(timeout=30) == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_disk_is_told():
    with open("/dev/full", "w", encoding="utf-8") as full:
        done = subprocess.run(
            [*COMMAND, "facts", "list", "--json"],
            cwd=ROOT,
            env=environment(),
            stdout=full,
            stderr=subprocess.PIPE,
            encoding="utf-8",
            check=False,
        )
    assert done.stderr == "The answer cannot be written: No space left on device.\n"
    assert done.returncode == 2


def test_a_terminal_without_our_letters_shows_their_codes(process):
    done = process("plan", "examples/bakery-proofer.toml", *BOARD_W, PYTHONIOENCODING="ascii")
    assert (done.returncode, done.stderr) == (0, "")
    assert "\\u03a9" in done.stdout  # the sign of the ohm


def test_json_is_sound_where_letters_are_missing(process):
    done = process("plan", "examples/bakery-proofer.toml", *BOARD_W, "--json", PYTHONIOENCODING="cp1252")
    assert "Ω" in str(json.loads(done.stdout))


# ------------------------------------------------------------------------------ wrong use


@pytest.mark.parametrize(
    ("args", "message"),
    [
        (["plna", "x"], "No such command 'plna'. Did you mean plan?"),
        (["facts", "serach", "x"], "No such command 'serach'. Did you mean search?"),
        (["plan", "x", "--tpo", "3"], "Did you mean '--top'?"),
        (["plan"], "Missing argument 'BRIEF'."),
        (["why", "x"], "Missing argument 'LINE'."),
        (["plan", "x", "--top", "0"], "0 is not in the range"),
        (["plan", "x", "--catalogue", "nowhere"], "Directory 'nowhere' does not exist."),
    ],
)
def test_wrong_use(args: list[str], message: str, run):
    result = run(*args, code=2)
    assert message in result.stderr
    assert result.stdout == ""


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (None, "Cannot be read: No such file or directory."),
        (b"", "There are no parts."),
        (b"\xff\xfe\x00", "This is not UTF-8 text"),
        (b"title = ", "This is not valid TOML"),
        (b"\x00", "1 fault"),
        (b"title = 'x'\ntitle = 'y'", "This is not valid TOML"),
        (b"[[[[[[", "This is not valid TOML"),
    ],
)
@pytest.mark.parametrize("command", READERS, ids=lambda command: command[0])
def test_unreadable_briefs(content: bytes | None, message: str, command: tuple[str, ...], run, tmp_path: Path):
    path = tmp_path / "brief.toml"
    if content is not None:
        path.write_bytes(content)
    result = run(command[0], path, *command[1:], code=2)
    assert message in result.stderr
    assert "brief.toml" in result.stderr
    assert "nothing was done." in result.stderr


@pytest.mark.parametrize("command", READERS, ids=lambda command: command[0])
def test_a_folder_instead_of_a_brief(command: tuple[str, ...], run, tmp_path: Path):
    assert "Cannot be read: Is a directory." in run(command[0], tmp_path, *command[1:], code=2).stderr


@pytest.mark.parametrize("odd", ODD, ids=ascii)
def test_no_traceback_whatever_the_arguments(odd: str, run, starter: Path, tmp_path: Path):
    run(odd)
    run("plan", odd, *BOARD)
    run("plan", starter, *BOARD, odd)
    run("plan", starter, "--board", odd)
    run("plan", starter, *BOARD, "--prices", odd)
    run("plan", starter, *BOARD, "--top", odd)
    run("plan", starter, *BOARD, "--time-limit", odd)
    run("plan", starter, *BOARD, "--catalogue", odd)
    run("check", odd)
    run("why", odd, odd)
    run("why", starter, odd, *BOARD)
    run("why", starter, "pump.IN", *BOARD, "--not", odd)
    run("facts", odd)
    for command in ("list", "search", "show", "check"):
        run("facts", command, odd)
    if "/" not in odd:
        run("new", f"{tmp_path}/{odd}")


def test_no_traceback_with_several_odd_arguments(run):
    for first in ODD:
        for second in ("", "--", "\x1b", "--json"):
            run(first, second)
            run("facts", first, second)
            run("why", first, second)


# ------------------------------------------------------------------------------ names


@pytest.mark.parametrize("evil", EVIL, ids=ascii)
def test_names_cannot_break_tables_or_command_the_terminal(evil: str, run, brief, assert_narrow):
    if evil == "\udcff":
        pytest.skip("cannot stand in a UTF-8 file")
    word = json.dumps(evil, ensure_ascii=True)
    path = brief(
        f'title = {word}\n[[part]]\nname = {word}\nkind = "push-button-momentary"\n'
        f'[[part]]\nname = "own"\n[[part.line]]\nname = {word}\ndirection = "out"\nsignal = "digital"\n'
    )
    result = run("plan", path, *BOARD)
    assert_narrow(result.stdout)
    for raw in ("\x00", "\x07", "\u202e", "\x1b"):
        assert raw not in result.output
    title = run("plan", brief(f'title = {word}\n[[part]]\nname = "key"\nkind = "push-button-momentary"\n'), *BOARD)
    assert_narrow(title.stdout)
    for raw in ("\x00", "\x07", "\u202e", "\x1b"):
        assert raw not in title.output
    if title.exit_code == 0:
        assert title.stdout.splitlines()[1] == "1 part, 1 line, 1 board looked at"
        if evil.startswith("["):
            assert title.stdout.splitlines()[0] == evil


def test_markup_in_part_names_is_shown_as_it_is(run, brief):
    path = brief('title = "t"\n[[part]]\nname = "[red]x[/red]"\nkind = "push-button-momentary"\n')
    result = run("plan", path, *BOARD)
    assert "[red]x[/red]" in result.output


def test_names_in_json_are_what_the_maker_wrote(run_json, brief):
    path = brief('title = "\\u202e \\u05e9 [b]"\n[[part]]\nname = "key"\nkind = "push-button-momentary"\n', "title.toml")
    assert run_json("plan", path, *BOARD)["title"] == "\u202e \u05e9 [b]"
