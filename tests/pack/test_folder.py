"""A pack's folder appears whole or not at all, and nothing somebody else made or changed is lost (behaviour; files are invented)."""

from __future__ import annotations

import errno
import json
import os
import signal
import stat
import threading
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pinwright.errors import InputError
from pinwright.pack import folder as module
from pinwright.pack.folder import MANIFEST, check_folder, write_pack
from pinwright.pack.pieces import slug

FILES = {"report.html": b"<p>", "drawings/board.svg": b"<svg/>", "lists/wires.csv": b"a,b\r\n", "README.txt": b"open report.html"}
NEWER = FILES | {"report.html": b"<p>new", "drawings/sheet.svg": b"<svg> </svg>"}
del NEWER["lists/wires.csv"]


def tree(folder: Path) -> dict[str, Any]:
    """Everything below a folder: content of files, targets of links, ``None`` for empty folders."""
    found: dict[str, Any] = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if path.is_symlink():
            found[name] = ("->", os.readlink(path))
        elif path.is_file():
            found[name] = path.read_bytes()
        elif not any(path.iterdir()):
            found[name] = None
    return found


@pytest.fixture
def place(tmp_path: Path) -> Iterator[Path]:
    """A folder to be; afterwards nothing but it may lie beside it."""
    (tmp_path / "work").mkdir()
    yield tmp_path / "work" / "pack"
    assert {path.name for path in (tmp_path / "work").iterdir()} <= {"pack", "other"}


def refused(place: Path, files: dict[str, bytes] = NEWER, force: bool = False) -> str:
    """Words of the refusal; nothing may have changed."""
    before = tree(place.parent)
    with pytest.raises(InputError) as error:
        write_pack(place, files, force)
    assert tree(place.parent) == before
    return str(error.value)


# ------------------------------------------------------------------------------ writing


def test_everything_is_there_and_listed(place: Path):
    write_pack(place, FILES)
    found = tree(place)
    manifest = json.loads(found.pop(MANIFEST))
    assert found == FILES
    assert manifest["files"] == [{"path": path, "sha256": sha256(FILES[path]).hexdigest()} for path in sorted(FILES)]


def test_the_folder_is_as_open_as_any_other(place: Path):
    write_pack(place, FILES)
    (place.parent / "other").mkdir()
    assert stat.S_IMODE(place.stat().st_mode) == stat.S_IMODE((place.parent / "other").stat().st_mode)


@pytest.mark.parametrize("exists", [False, True])
def test_a_new_or_empty_folder(place: Path, exists: bool):
    if exists:
        place.mkdir(mode=0o750)
    check_folder(place)
    write_pack(place, FILES)
    assert tree(place).keys() == {*FILES, MANIFEST}
    if exists:
        assert stat.S_IMODE(place.stat().st_mode) == 0o750


def test_a_second_run_replaces_its_own_files_and_drops_what_is_no_longer_made(place: Path):
    write_pack(place, FILES)
    write_pack(place, NEWER)
    found = tree(place)
    del found[MANIFEST]
    assert found == NEWER
    write_pack(place, NEWER)
    assert {k: v for k, v in tree(place).items() if k != MANIFEST} == NEWER


def test_a_file_the_person_deleted_comes_back(place: Path):
    write_pack(place, FILES)
    (place / "report.html").unlink()
    write_pack(place, FILES)
    assert tree(place)["report.html"] == FILES["report.html"]


# ------------------------------------------------------------------------------ what is not ours


def test_a_folder_that_holds_other_things_is_refused(place: Path):
    place.mkdir()
    (place / "thesis.txt").write_text("years of work")
    words = refused(place, force=True)
    assert "holds other things" in words
    assert "Choose another folder" in words
    with pytest.raises(InputError):
        check_folder(place)


@pytest.mark.parametrize(
    "text", ["", "{", "[]", "null", '{"files": []}', '{"contract": 1}', '{"contract": 1, "files": [1]}', "[" * 100_000]
)
def test_a_list_that_no_run_wrote_is_none(place: Path, text: str):
    place.mkdir()
    (place / MANIFEST).write_text(text)
    (place / "thesis.txt").write_text("years of work")
    assert "holds other things" in refused(place, force=True)


def test_a_list_cannot_reach_outside(place: Path):
    """Whatever a list says, only the folder itself is looked at."""
    other = place.parent / "other"
    other.write_text("keep")
    write_pack(place, FILES)
    shape = json.loads((place / MANIFEST).read_text())
    shape["files"].append({"path": "../other", "sha256": sha256(b"keep").hexdigest()})
    (place / MANIFEST).write_text(json.dumps(shape))
    write_pack(place, NEWER, force=True)
    assert other.read_text() == "keep"
    other.unlink()


def test_foreign_files_are_carried_over_untouched(place: Path):
    write_pack(place, FILES)
    (place / "photos" / "empty").mkdir(parents=True)
    (place / "photos" / "device.jpg").write_bytes(b"\xff\xd8")
    (place / "drawings" / "mine.svg").write_text("<svg>mine</svg>")
    (place / "photos" / "link").symlink_to("device.jpg")
    (place / "dangling").symlink_to("/nowhere/at/all")
    (place / "folder-link").symlink_to(place.parent)
    os.utime(place / "photos" / "device.jpg", (1, 1))
    os.chmod(place / "photos" / "device.jpg", 0o400)
    inode = (place / "photos" / "device.jpg").stat().st_ino
    mine = {path: content for path, content in tree(place).items() if path not in FILES and path != MANIFEST}
    for force in (False, True):
        write_pack(place, NEWER, force)
        found = tree(place)
        del found[MANIFEST]
        assert found == NEWER | mine
    kept = (place / "photos" / "device.jpg").stat()
    assert (kept.st_mtime, stat.S_IMODE(kept.st_mode), kept.st_ino) == (1, 0o400, inode)
    mine_now = json.loads((place / MANIFEST).read_text())["files"]
    assert {entry["path"] for entry in mine_now} == set(NEWER)  # they stay foreign


def test_a_foreign_file_where_one_of_ours_must_go_is_never_overwritten(place: Path):
    write_pack(place, FILES)
    (place / "drawings" / "Sheet.SVG").write_text("mine")  # the same name on a system that knows no capitals
    for force in (False, True):
        words = refused(place, force=force)
        assert "Sheet.SVG" in words
        assert "--force does not touch it" in words


@pytest.mark.parametrize("make", ["file", "link", "folder"])
def test_a_foreign_thing_where_a_folder_of_ours_must_go(place: Path, make: str):
    write_pack(place, {"report.html": b"x"})
    if make == "file":
        (place / "drawings").write_text("mine")
    elif make == "link":
        (place / "drawings").symlink_to(place.parent)
    else:
        (place / "report.md").mkdir()
        (place / "report.md" / "inside").write_text("mine")
    files = {"report.html": b"y", "drawings/board.svg": b"z"} if make != "folder" else {"report.html": b"y", "report.md": b"z"}
    for force in (False, True):
        assert "not the pack's" in refused(place, files, force)


def test_edited_files_are_named_and_only_forced(place: Path):
    write_pack(place, FILES)
    (place / "report.html").write_bytes(b"<p>my words")
    (place / "lists" / "wires.csv").write_bytes(b"mine")  # which the new pack has not
    words = refused(place)
    assert "report.html" in words
    assert "wires.csv" in words
    assert "--force" in words
    assert "README.txt" not in words
    write_pack(place, NEWER, force=True)
    found = tree(place)
    assert found["report.html"] == NEWER["report.html"]
    assert found["lists/wires.csv"] == b"mine"  # edited and no longer made: kept as the person's own
    write_pack(place, NEWER)
    assert tree(place)["lists/wires.csv"] == b"mine"


def test_a_link_in_place_of_our_file_counts_as_edited(place: Path):
    other = place.parent / "other"
    other.write_bytes(FILES["report.html"])
    write_pack(place, FILES)
    (place / "report.html").unlink()
    (place / "report.html").symlink_to(other)
    assert "report.html" in refused(place)
    write_pack(place, NEWER, force=True)
    assert other.read_bytes() == FILES["report.html"]
    assert not (place / "report.html").is_symlink()
    other.unlink()


# ------------------------------------------------------------------------------ odd places


def test_a_file_is_no_folder(place: Path):
    place.write_text("mine")
    assert "This is a file" in refused(place, force=True)


def test_a_missing_parent_is_named(place: Path):
    with pytest.raises(InputError, match="There is no folder"):
        write_pack(place / "a" / "b", FILES)
    assert not place.exists()


def test_a_link_to_a_folder_leads_there(place: Path):
    real = place.parent / "other"
    real.mkdir()
    place.symlink_to(real)
    write_pack(place, FILES)
    assert place.is_symlink()
    assert tree(real).keys() == {*FILES, MANIFEST}


def test_a_link_that_leads_nowhere(place: Path):
    place.symlink_to(place.parent / "gone")
    assert "leads nowhere" in refused(place)


def test_a_link_that_leads_to_itself(place: Path):
    place.symlink_to(place)
    with pytest.raises(InputError):
        write_pack(place, FILES)


def test_the_folder_one_stands_in(place: Path, monkeypatch: pytest.MonkeyPatch):
    write_pack(place, FILES)
    monkeypatch.chdir(place / "drawings")
    assert "You are inside" in refused(Path(".."))
    monkeypatch.chdir(place.parent)


def test_a_place_that_cannot_be_written(place: Path, monkeypatch: pytest.MonkeyPatch):
    """As on a medium that is locked; for root the rights of a folder would not do."""
    break_call(monkeypatch, "mkdtemp", 0, OSError(errno.EROFS, "Read-only file system"))
    assert "Cannot be written: Read-only file system. Nothing was changed." in refused(place)


# ------------------------------------------------------------------------------ what goes wrong on the way


CALLS = ("write_bytes", "mkdir", "link", "rename", "mkdtemp", "chmod")


class Broken:
    """Lets the calls of a function pass until the wanted one, which fails."""

    def __init__(self, real: Any, at: int, error: BaseException) -> None:
        self.real, self.left, self.error, self.struck = real, at, error, False

    def __call__(self, *args: Any, **named: Any) -> Any:
        self.left -= 1
        if self.left < 0 and not self.struck:
            self.struck = True
            raise self.error
        return self.real(*args, **named)


def break_call(monkeypatch: pytest.MonkeyPatch, name: str, at: int, error: BaseException) -> Broken:
    owner: Any = {"write_bytes": Path, "mkdir": Path, "mkdtemp": module.tempfile}.get(name, module.os)
    broken = Broken(getattr(owner, name), at, error)
    monkeypatch.setattr(owner, name, (lambda *a, **k: broken(*a, **k)) if owner is Path else broken)
    return broken


@pytest.mark.parametrize("name", CALLS)
@pytest.mark.parametrize("error", [OSError(errno.ENOSPC, "No space left on device"), KeyboardInterrupt()], ids=["full", "ctrl-c"])
@pytest.mark.parametrize("has_old", [False, True])
def test_whatever_fails_nothing_is_left_and_nothing_is_lost(place: Path, name: str, error: BaseException, has_old: bool):
    if has_old:
        write_pack(place, FILES)
        (place / "photos").mkdir()
        (place / "photos" / "device.jpg").write_bytes(b"\xff\xd8")
    before = tree(place.parent)
    struck = 0
    for at in range(2 if name == "chmod" else 20):  # later ones tidy up, when the new pack is in its place
        with pytest.MonkeyPatch.context() as monkeypatch:
            broken = break_call(monkeypatch, name, at, error)
            told = outcome(place)
        if not broken.struck:
            break
        struck += 1
        if name == "link" and isinstance(error, OSError):  # then the file is copied instead
            assert told == "done"
            assert tree(place)["photos/device.jpg"] == b"\xff\xd8"
            break
        assert told == "stopped" or ("No space left on device" in told and "Nothing was changed" in told)
        assert tree(place.parent) == before, f"{name}, call {at}"
        assert {path.name for path in place.parent.iterdir()} <= {"pack"}
    assert struck or (not has_old and name == "link")


def outcome(place: Path) -> str:
    """What becomes of writing: done, stopped by Ctrl-C, or the words of the refusal."""
    try:
        write_pack(place, NEWER)
    except InputError as told:
        return str(told)
    except KeyboardInterrupt:
        return "stopped"
    return "done"


@pytest.mark.parametrize("other_thread", [False, True])
def test_ctrl_c_while_the_folders_change_places_waits(place: Path, monkeypatch: pytest.MonkeyPatch, other_thread: bool):
    """A real signal between the two renames: it comes through, but only when the new pack has its name, whoever else is running."""
    write_pack(place, FILES)
    real, done = os.rename, threading.Event()
    worker = threading.Thread(target=done.wait)
    if other_thread:
        worker.start()

    def rename(a: Any, b: Any) -> None:
        os.kill(os.getpid(), signal.SIGINT)
        real(a, b)

    monkeypatch.setattr(module.os, "rename", rename)
    try:
        with pytest.raises(KeyboardInterrupt):
            write_pack(place, NEWER)
    finally:
        done.set()
    monkeypatch.undo()
    found = tree(place)
    del found[MANIFEST]
    assert found == NEWER
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_what_changes_while_it_is_written_is_not_lost(place: Path, monkeypatch: pytest.MonkeyPatch):
    """Somebody saves a file in the old folder after it was looked through."""
    write_pack(place, FILES)
    real = module.manifest_bytes

    def slow(files: Any) -> bytes:
        (place / "report.html").write_bytes(b"saved a moment ago")
        return real(files)

    monkeypatch.setattr(module, "manifest_bytes", slow)
    with pytest.raises(InputError, match="changed"):
        write_pack(place, NEWER)
    assert tree(place)["report.html"] == b"saved a moment ago"


# ------------------------------------------------------------------------------ names


UNSAFE = (
    "../x",
    "/x",
    "a/../b",
    "a//b",
    "",
    ".",
    "a/.",
    ".hidden",
    "con",
    "CON.txt",
    "lpt1.svg",
    "a\\b",
    "a:b",
    "x.",
    "ü",
    "a\nb",
    "x" * 90,
)


@pytest.mark.parametrize("path", [*UNSAFE, MANIFEST])
def test_paths_that_are_not_safe_everywhere_are_our_fault(place: Path, path: str):
    with pytest.raises(ValueError, match=r"path|twice"):
        write_pack(place, {path: b""})
    assert not place.exists()


@pytest.mark.parametrize("files", [{"a": b"", "A": b""}, {"a": b"", "a/b": b""}, {"Dir/x": b"", "dir": b""}])
def test_paths_that_clash_somewhere(place: Path, files: dict[str, bytes]):
    with pytest.raises(ValueError, match=r"twice|at once"):
        write_pack(place, files)


@given(st.lists(st.text(max_size=200), max_size=12))
def test_slugs_are_safe_and_differ(names: list[str]):
    taken: set[str] = set()
    made = [slug(name, taken) for name in names]
    assert len(set(made)) == len(made)
    module._assert_safe({f"drawings/circuit-{name}.svg": b"" for name in made} | dict.fromkeys(made, b""))


def test_what_is_saved_while_the_folder_changes_places_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    import os

    from pinwright.pack import folder

    target = tmp_path / "out"
    folder.write_pack(target, {"a.txt": b"one"})
    (target / "note.txt").write_text("first", encoding="utf-8")
    real, saved = os.rename, []

    def rename(source: object, goal: object) -> None:
        if not saved and str(source) == str(target):  # an editor saves by renaming, and makes a new file, at the last moment
            saved.append(True)
            (tmp_path / "temporary").write_text("second", encoding="utf-8")
            os.replace(tmp_path / "temporary", target / "note.txt")
            (target / "late.txt").write_text("late", encoding="utf-8")
        real(source, goal)  # type: ignore[arg-type]

    monkeypatch.setattr(folder.os, "rename", rename)
    folder.write_pack(target, {"a.txt": b"two"})
    assert saved
    assert (target / "note.txt").read_text(encoding="utf-8") == "second"
    assert (target / "late.txt").read_text(encoding="utf-8") == "late"
    assert (target / "a.txt").read_bytes() == b"two"


def test_what_a_killed_run_left_is_put_right(tmp_path: Path):
    import subprocess
    import sys

    from pinwright.pack import folder

    target = tmp_path / "out"
    folder.write_pack(target, {"a.txt": b"one"})
    (target / "note.txt").write_text("mine", encoding="utf-8")
    killed = (
        "import os, signal, sys; from pathlib import Path; from pinwright.pack import folder; real = os.rename\n"
        "def rename(a, b):\n    if str(b) == sys.argv[1]: os.kill(os.getpid(), signal.SIGKILL)\n    real(a, b)\n"
        "folder.os.rename = rename; folder.write_pack(Path(sys.argv[1]), {'a.txt': b'two'})"
    )
    subprocess.run([sys.executable, "-c", killed, str(target)], check=False)
    assert not target.exists()  # killed between the two renames
    folder.write_pack(target, {"a.txt": b"three"})
    assert (target / "note.txt").read_text(encoding="utf-8") == "mine"
    assert (target / "a.txt").read_bytes() == b"three"
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP"])
def test_other_ways_to_stop_leave_nothing_over(tmp_path: Path, name: str):
    import subprocess
    import sys

    stopped = (
        "import os, signal, sys; from pathlib import Path; from pinwright.pack import folder; real = folder._survey; seen = []\n"
        "def survey(a, b):\n    seen.append(1)\n"
        "    if len(seen) == 2: os.kill(os.getpid(), getattr(signal, sys.argv[2]))\n    return real(a, b)\n"
        "folder._survey = survey; folder.write_pack(Path(sys.argv[1]), {'a.txt': b'one'})"
    )
    done = subprocess.run([sys.executable, "-c", stopped, str(tmp_path / "out"), name], check=False)
    assert done.returncode > 128
    assert list(tmp_path.iterdir()) == []


def test_a_mounted_volume_is_refused_before_any_work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    from pinwright.errors import InputError
    from pinwright.pack import folder

    monkeypatch.setattr(folder.os.path, "ismount", lambda _: True)
    with pytest.raises(InputError, match="mounted here"):
        folder.check_folder(tmp_path / "out")
