"""Files are written whole or not at all, and what somebody else made is not written over."""

from __future__ import annotations

import os
import stat
from contextlib import suppress

from rigspec.files.files import LIMIT, decode, why
from rigspec.text.source import Source

LARGEST_MADE = 64 * 1024 * 1024  # bytes; what is larger was not made here
FOREIGN = "it was not made by rigspec, or was changed since; take another name, or --overwrite to replace it"


def replace(place: str, before: Source, text: str) -> str:
    """Put ``text`` in place of the text ``before`` of the file at the real path ``place``.

    Returns why that could not be done, as the end of a sentence, or nothing. Permissions are kept.
    """
    try:
        facts = os.lstat(place)
        if not stat.S_ISREG(facts.st_mode):
            return "somebody else changed it meanwhile"
        if not os.access(place, os.W_OK):
            return "it is write-protected"
        with open(place, "rb") as file:
            if decode(file.read(LIMIT + 1), before.path) != before:
                return "somebody else changed it meanwhile"
    except OSError as error:
        return why(error)
    return _lay(place, text.encode("utf-8"), facts)


def put(path: str, data: bytes, ending: str, *, overwrite: bool = False, name: str = "") -> str:
    """Write a file that is made here, sealed as one with this ending; why not, as `replace`, or nothing.

    Only what was made here and is unchanged is written over, or whatever is there where ``overwrite`` says so. A link
    that stands there is never followed.
    """
    refusal = barred(path, ending, overwrite=overwrite, name=name)
    if refusal:
        return refusal
    try:
        facts = os.lstat(path)
    except OSError:
        return _lay(path, data, None)
    return _lay(path, data, facts if stat.S_ISREG(facts.st_mode) else None)


def create(path: str, text: str) -> str:
    """Write a file that is not there yet; why not, as `replace`, or nothing."""
    refusal = strays(path)
    if refusal:
        return refusal
    return "it is there already" if os.path.lexists(path) else _lay(path, text.encode("utf-8"), None)


def barred(path: str, ending: str, *, overwrite: bool = False, name: str = "") -> str:
    """Why nothing that is made here may be written to a path; empty where it may."""
    refusal = strays(path)
    if refusal:
        return refusal
    try:
        mode = os.lstat(path).st_mode
    except FileNotFoundError:
        return ""
    except (OSError, ValueError) as error:
        return why(error)
    if not stat.S_ISREG(mode) and not stat.S_ISLNK(mode):
        return "it is a folder" if stat.S_ISDIR(mode) else "it is not a regular file"
    if not stat.S_ISLNK(mode) and not os.access(path, os.W_OK):
        return "it is write-protected"
    if overwrite or made_here(path, ending, name):
        return ""
    return "it is a link; take another name, or --overwrite to replace it" if stat.S_ISLNK(mode) else FOREIGN


def strays(path: str) -> str:
    """Why a path below the current folder is not below it: on the way a link leads elsewhere."""
    here, folder = os.getcwd(), os.path.dirname(os.path.abspath(path))
    if _within(folder, here) and not _within(os.path.realpath(folder), os.path.realpath(here)):
        return "a link leads it outside the current folder"
    return ""


def _within(path: str, folder: str) -> bool:
    return os.path.join(path, "").startswith(os.path.join(folder, ""))


def made_here(path: str, ending: str, name: str = "") -> bool:
    """Is there a regular file that was made here and that nobody has changed?"""
    from rigspec.cli.seal import is_sealed

    flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    try:
        if not stat.S_ISREG(os.lstat(path).st_mode):
            return False
        with open(os.open(path, flags), "rb") as file:
            data = file.read(LARGEST_MADE + 1)
    except (OSError, ValueError):
        return False
    return len(data) <= LARGEST_MADE and is_sealed(data, ending, name)


def _lay(place: str, data: bytes, facts: os.stat_result | None) -> str:
    """Put bytes in a place; what is there stays until they are safe on disk under another name in the same folder."""
    temporary = os.path.join(os.path.dirname(place), f".rigspec-{os.urandom(6).hex()}")
    try:
        try:
            _write(temporary, data, facts)
            os.replace(temporary, place)
        except BaseException:
            if os.path.lexists(temporary):
                os.unlink(temporary)
            raise
    except PermissionError:
        return "you may not write in its folder"
    except FileNotFoundError:
        return "there is no such folder"
    except (OSError, ValueError) as error:
        return why(error)
    _settle(os.path.dirname(place) or ".")
    return ""


def _write(path: str, data: bytes, facts: os.stat_result | None) -> None:
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    with open(os.open(path, flags, 0o600 if facts else 0o666), "wb") as file:
        file.write(data)
        file.flush()
        if facts is not None:
            if hasattr(os, "chown") and (facts.st_uid, facts.st_gid) != (os.getuid(), os.getgid()):
                with suppress(OSError):  # only the superuser may give files away
                    os.chown(path, facts.st_uid, facts.st_gid)
            os.chmod(path, stat.S_IMODE(facts.st_mode))
        os.fsync(file.fileno())


def _settle(folder: str) -> None:
    """Have the new name on disk too, where the system can do that."""
    try:
        descriptor = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    with suppress(OSError):
        os.fsync(descriptor)
    os.close(descriptor)
