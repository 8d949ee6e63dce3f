"""Files are written whole or not at all."""

from __future__ import annotations

import os
import stat
from contextlib import suppress

from rigspec.source import Source
from rigspec.texts.files import LIMIT, decode, why


def replace(place: str, before: Source, text: str) -> str:
    """Put ``text`` in place of the text ``before`` of the file at the real path ``place``.

    Returns why that could not be done, as the end of a sentence, or nothing. The old file stays until the new one is
    safe on disk under another name in the same folder; its permissions are kept.
    """
    temporary = os.path.join(os.path.dirname(place), f".rigspec-{os.urandom(6).hex()}")
    try:
        facts = os.stat(place)
        if not os.access(place, os.W_OK):
            return "it is write-protected"
        with open(place, "rb") as file:
            if decode(file.read(LIMIT + 1), before.path) != before:
                return "somebody else changed it meanwhile"
        try:
            _write(temporary, text.encode("utf-8"), facts)
            os.replace(temporary, place)
        except BaseException:
            if os.path.lexists(temporary):
                os.unlink(temporary)
            raise
    except PermissionError:
        return "you may not write in its folder"
    except OSError as error:
        return why(error)
    _settle(os.path.dirname(place))
    return ""


def _write(path: str, data: bytes, facts: os.stat_result) -> None:
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    with open(descriptor, "wb") as file:
        file.write(data)
        file.flush()
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
