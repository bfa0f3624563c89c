"""Write a pack's folder whole or not at all, and never over a file somebody else made or changed.

Everything is written into a hidden folder beside the wanted one, on the same file system, and takes its name in the end.
``pack.json`` in the folder lists every file with its SHA-256; by it a later run knows its own files.  What is not in it is
somebody else's and is carried over as it is; what is in it and has another hash was edited, and is only overwritten when forced.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import shutil
import signal
import stat
import tempfile
import threading
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from pinwright.contract import CONTRACT
from pinwright.errors import Fault, InputError

__all__ = ["MANIFEST", "check_folder", "write_pack"]

MANIFEST = "pack.json"
_SAFE = re.compile(r"(?!\.)[A-Za-z0-9._-]{1,80}(?<!\.)")
"""What one piece of a path may be on every system."""
_DEVICE = re.compile(r"(?i:con|prn|aux|nul|com[0-9]|lpt[0-9])(?:\..*)?")
"""Names one system keeps for devices, whatever their ending   [Microsoft, Naming Files, Paths, and Namespaces, from memory]."""


@dataclass(frozen=True, slots=True)
class _Found:
    """What lies in a folder: files of an earlier run that somebody edited, and paths that are somebody else's."""

    edited: tuple[str, ...] = ()
    foreign: tuple[str, ...] = ()


def write_pack(folder: Path, files: Mapping[str, bytes], force: bool = False) -> None:
    """Write a pack.

    Parameters
    ----------
    folder : where to; its parent must be there [-]
    files : content by path inside the folder, with forward slashes [-]
    force : overwrite files of an earlier run that somebody edited [-]

    Raises
    ------
    InputError : the folder is not ours, holds files that would be lost, or cannot be written; nothing was changed then.
    ValueError : a path is not safe on every system.
    """
    _assert_safe(files)
    target = _target(folder)
    _clear_up(target)
    found = _survey(target, folder)
    _refuse_losses(folder, found, files, force)
    kept = (*found.foreign, *(path for path in found.edited if path not in files))
    try:
        _write(target, files, kept, found)
    except OSError as error:
        raise InputError([Fault(str(folder), None, "", f"Cannot be written: {error.strerror or error}.", "Nothing was changed.")]) from None


def check_folder(folder: Path) -> None:
    """Refuse a folder a pack can never be written to, before any work is done.

    Parameters
    ----------
    folder : where a pack shall go [-]

    Raises
    ------
    InputError : it is a file, lies nowhere, is the folder one stands in, or holds things and no pack.
    """
    _survey(_target(folder), folder)


# ------------------------------------------------------------------------------ what is there


def _target(folder: Path) -> Path:
    """The real folder to write: a link to a folder leads to it."""
    try:
        is_plain = not folder.is_symlink() and folder.name not in ("", "..")
        target = folder.parent.resolve() / folder.name if is_plain else folder.resolve()
        if folder.is_symlink() and not folder.exists():
            raise _refusal(folder, "This link leads nowhere.", "Remove it or choose another folder.")
        if target.exists() and not target.is_dir():
            raise _refusal(folder, "This is a file.", "Give a folder.")
        if not target.parent.is_dir():
            raise _refusal(folder, f"There is no folder {target.parent}.", "Make it first.")
        if os.path.ismount(target):
            raise _refusal(folder, "A whole disk or volume is mounted here, and it cannot be replaced.", "Choose a folder inside it.")
        if not os.access(target.parent, os.W_OK | os.X_OK):
            raise _refusal(folder, f"Nothing can be written into {target.parent}.", "Choose a folder elsewhere.")
        here = Path.cwd().resolve()
        if target.exists() and (here == target.resolve() or target.resolve() in here.parents):
            raise _refusal(folder, "You are inside this folder, and it is replaced as a whole.", "Run the command from another folder.")
    except (OSError, ValueError, RuntimeError) as error:
        raise _refusal(folder, f"Cannot be used: {getattr(error, 'strerror', None) or error}.") from None
    return target


def _refusal(folder: Path, wrong: str, right: str = "") -> InputError:
    return InputError([Fault(str(folder), None, "", wrong, right)])


def _survey(target: Path, folder: Path) -> _Found:
    """What of a folder is edited and what is foreign."""
    try:
        if not target.exists() or not any(target.iterdir()):
            return _Found()
        paths = list(_paths(target))
        ours = _manifest(target / MANIFEST)
        if ours is None:
            right = "Choose another folder, or an empty one."
            raise _refusal(folder, f"This folder holds other things, and no pack of Pinwright ({MANIFEST}).", right)
        edited = [path for path in paths if path in ours and _hash(target / path) != ours[path]]
        foreign = [path for path in paths if path not in ours and path != MANIFEST]
    except OSError as error:
        raise _refusal(folder, f"Cannot be read: {error.filename or ''} {error.strerror or error}.") from None
    return _Found(tuple(edited), tuple(foreign))


def _paths(target: Path) -> Iterator[str]:
    """Everything that is no folder, and empty folders, by path inside; a link is not followed."""

    def fail(error: OSError) -> None:
        raise error

    for root, folders, names in os.walk(target, onerror=fail):
        folders.sort()
        links = [name for name in folders if os.path.islink(os.path.join(root, name))]
        for name in sorted((*names, *links)):
            yield (Path(root) / name).relative_to(target).as_posix()
        if not folders and not names and Path(root) != target:
            yield Path(root).relative_to(target).as_posix()


def _manifest(path: Path) -> dict[str, str] | None:
    """Hash of every file of an earlier run, or ``None`` where no run of ours wrote it."""
    if path.is_symlink() or not path.is_file():
        return None
    try:
        shape = json.loads(path.read_text(encoding="utf-8"))
        return {str(entry["path"]): str(entry["sha256"]) for entry in shape["files"]} if "contract" in shape else None
    except (ValueError, KeyError, TypeError, RecursionError):
        return None


def _hash(path: Path) -> str:
    """SHA-256 of a plain file; anything else has none."""
    if not stat.S_ISREG(path.lstat().st_mode):
        return ""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _refuse_losses(folder: Path, found: _Found, files: Mapping[str, bytes], force: bool) -> None:
    """Refuse where a file would be lost: one somebody edited, or one of somebody else's where ours must go."""
    ours = {path.casefold() for path in (*files, MANIFEST)}
    ours |= {str(parent).casefold() for path in files for parent in PurePosixPath(path).parents}

    def stands_in_the_way(path: str) -> bool:
        folders = {str(parent).casefold() for parent in PurePosixPath(path).parents}
        is_folder = (folder / path).is_dir() and not (folder / path).is_symlink()
        return (path.casefold() in ours and not is_folder) or bool(folders & {name.casefold() for name in files})

    blocked = [path for path in found.foreign if stands_in_the_way(path)]
    faults = [Fault(str(folder / path), None, "", "This file is not the pack's, and one of the pack belongs here.",
                    "Move it away or choose another folder; --force does not touch it.") for path in blocked]  # fmt: skip
    if not force:
        faults += [Fault(str(folder / path), None, "", "You have edited this file since the pack was written.",
                         "Choose another folder, or add --force to lose the changes." if path in files else
                         "The new pack has no such file: move it away, or add --force to keep it as your own.")
                   for path in found.edited]  # fmt: skip
    if faults:
        raise InputError(faults)


# ------------------------------------------------------------------------------ writing


def _assert_safe(files: Mapping[str, bytes]) -> None:
    """Paths that are safe everywhere, differ in more than capitals, and are not a file and a folder at once."""
    seen: set[str] = {MANIFEST}
    for path in files:
        pieces = path.split("/")
        if not all(_SAFE.fullmatch(piece) and not _DEVICE.fullmatch(piece) for piece in pieces):
            raise ValueError(f"{path!r} is no safe path.")
        if path.casefold() in seen:
            raise ValueError(f"{path!r} is there twice.")
        seen.add(path.casefold())
    folders = {str(parent).casefold() for path in files for parent in PurePosixPath(path).parents}
    if folders & seen:
        raise ValueError(f"{sorted(folders & seen)} are files and folders at once.")


def _write(target: Path, files: Mapping[str, bytes], kept: tuple[str, ...], found: _Found) -> None:
    """Write everything beside the folder, then change places; whatever goes wrong, nothing is left over."""
    made = Path(tempfile.mkdtemp(prefix=f".{target.name[:40]}.{os.getpid()}.", suffix=".part", dir=target.parent))
    try:
        with _stopped_cleanly():
            os.chmod(made, stat.S_IMODE(target.stat().st_mode) if target.exists() else 0o777 & ~_umask())
            for path, content in files.items():
                place = made / path
                place.parent.mkdir(parents=True, exist_ok=True)
                place.write_bytes(content)
            (made / MANIFEST).write_bytes(manifest_bytes(files))
            for path in kept:
                _carry_over(target / path, made / path)
            _copy_modes(target, made, kept)
            if _survey(target, target) != found:
                raise _refusal(target, "Something in it changed while the pack was written.", "Run the command again.")
            _change_places(made, target)
    finally:
        with _undisturbed():
            _remove(made)


def manifest_bytes(files: Mapping[str, bytes]) -> bytes:
    """What ``pack.json`` says: every file with its hash.

    Parameters
    ----------
    files : content by path [-]
    """
    listed = [{"path": path, "sha256": hashlib.sha256(files[path]).hexdigest()} for path in sorted(files)]
    return (json.dumps({"contract": CONTRACT, "files": listed}, indent=2) + "\n").encode()


def _carry_over(old: Path, new: Path) -> None:
    """Give a file of somebody else's a second name in the new folder; only where that is not possible it is copied."""
    if old.is_dir() and not old.is_symlink():
        new.mkdir(parents=True, exist_ok=True)
        shutil.copystat(old, new)
        return
    new.parent.mkdir(parents=True, exist_ok=True)
    try:
        os.link(old, new, follow_symlinks=False)
    except (OSError, NotImplementedError):
        shutil.copy2(old, new, follow_symlinks=False)


def _copy_modes(target: Path, made: Path, kept: tuple[str, ...]) -> None:
    """Folders that hold files of somebody else's stay as open as they were, the deepest first."""
    folders = {parent for path in kept for parent in PurePosixPath(path).parents if parent != PurePosixPath(".")}
    for folder in sorted(folders, key=lambda path: -len(path.parts)):
        shutil.copystat(target / folder, made / folder)


def _remove(folder: Path) -> None:
    """Remove a folder of which everything has a second name by now, or is ours; closed folders in it are opened first."""
    for root, _, _ in os.walk(folder):
        with contextlib.suppress(OSError):
            os.chmod(root, 0o700)
    shutil.rmtree(folder, ignore_errors=True)


def _change_places(made: Path, target: Path) -> None:
    """The new folder takes the name; the old one goes away only then.  Not disturbed by Ctrl-C."""
    with _undisturbed():
        if not target.exists():
            os.rename(made, target)
            return
        old = made.with_suffix(".old")
        os.rename(target, old)
        try:
            os.rename(made, target)
        except BaseException:
            os.rename(old, target)
            raise
        _rescue(old, target)
        _remove(old)


def _rescue(old: Path, target: Path) -> None:
    """Carry over what somebody saved into the old folder while the new one was written."""
    ours = _manifest(old / MANIFEST) or {}
    for path in _paths(old):
        if path == MANIFEST or path in ours:
            continue
        new, theirs = target / path, (old / path).lstat()
        if os.path.lexists(new):
            known = new.lstat()
            if stat.S_ISDIR(known.st_mode) or (known.st_ino, known.st_dev) == (theirs.st_ino, theirs.st_dev):
                continue
            if known.st_mtime_ns == theirs.st_mtime_ns and known.st_size == theirs.st_size:
                continue  # a copy
            new.unlink()
        _carry_over(old / path, new)


_LEFTOVER = re.compile(r"\.(?P<name>.*)\.(?P<pid>\d+)\.[^.]*\.(?P<kind>part|old)")


def _clear_up(target: Path) -> None:
    """Put right what a run that was killed left beside the folder: an old folder without a new one gets its name back."""
    for place in sorted(target.parent.iterdir()):
        match = _LEFTOVER.fullmatch(place.name)
        if match is None or match["name"] != target.name[:40] or place.is_symlink() or not place.is_dir() or _is_alive(int(match["pid"])):
            continue
        with _undisturbed(), contextlib.suppress(OSError):
            if match["kind"] == "old" and not target.exists():
                os.rename(place, target)
                continue
            if match["kind"] == "old":
                _rescue(place, target)
            _remove(place)


def _is_alive(pid: int) -> bool:
    """Whether a process with this number runs on this machine."""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True


@contextlib.contextmanager
def _stopped_cleanly() -> Iterator[None]:
    """Let other ways to stop a program tidy up as Ctrl-C does."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return

    def stop(number: int, _: object) -> None:
        raise SystemExit(128 + number)

    before = {number: signal.signal(number, stop) for number in _OTHER_STOPS}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


_OTHER_STOPS = tuple(getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name))


@contextlib.contextmanager
def _undisturbed() -> Iterator[None]:
    """Put off signals that stop a program until two renames are done.

    They are noted, not masked: a mask holds for one thread only, and any other one would let them through.
    """
    if threading.current_thread() is not threading.main_thread():
        yield  # only the main thread is ever interrupted
        return
    noted: list[int] = []
    before = {number: signal.signal(number, lambda at, _: noted.append(at)) for number in (signal.SIGINT, *_OTHER_STOPS)}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
        if noted:
            signal.raise_signal(noted[0])


def _umask() -> int:
    """The mask of new files; it can only be read by setting it."""
    mask = os.umask(0o077)
    os.umask(mask)
    return mask
