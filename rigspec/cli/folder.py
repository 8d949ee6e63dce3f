"""A folder of made files: written whole or not at all, and nothing overwritten that was not made here.

What was written stands in a list beside the files, in the form of `sha256sum`. A file that is not in it, or that has
been changed since, is somebody's own.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from contextlib import suppress
from hashlib import sha256

from rigspec.cli.trouble import CannotRunError
from rigspec.show.cells import visible
from rigspec.texts.files import why

LIST = ".rigspec-made"


class Folder:
    """The files of one folder that rigspec has made; the folder is made where there is none."""

    def __init__(self, path: str) -> None:
        self.path = path
        self.made: set[tuple[str, str]] = set()  # digest and name
        try:
            os.makedirs(path, exist_ok=True)
            with suppress(FileNotFoundError), open(os.path.join(path, LIST), encoding="utf-8") as file:
                for line in file:
                    digest, _, name = line.rstrip("\n").partition("  ")
                    self.made.add((digest, name))
        except (OSError, ValueError) as error:
            raise CannotRunError(f"the folder {visible(path)} cannot be used: {why(error)}") from error

    def foreign(self, names: Mapping[str, str]) -> list[str]:
        """Those of the names under which something stands that was not made here, or was changed since."""
        return [name for name in names if os.path.lexists(self._place(name)) and not self._ours(name)]

    def write(self, texts: Mapping[str, str]) -> None:
        """Put each text under its name; each file is whole, old or new, at every moment."""
        made = {(_digest(text.encode("utf-8")), name) for name, text in texts.items()}
        try:
            self._list(self.made | made)  # first, so that what a broken run leaves is still known as ours
            for name, text in texts.items():
                self._put(name, text)
            self.made = {(digest, name) for digest, name in self.made if name not in texts} | made
            self._list(self.made)
        except OSError as error:
            raise CannotRunError(f"the files cannot be written in {visible(self.path)}: {why(error)}") from error

    def drop(self, keep: Mapping[str, str], endings: tuple[str, ...]) -> list[str]:
        """Take away what was made here before with these endings and is not kept; what somebody changed stays."""
        old = {name for _, name in self.made if name.endswith(endings) and name not in keep}
        gone = [name for name in sorted(old) if os.path.basename(name) == name and self._ours(name)]
        for name in gone:
            with suppress(OSError):
                os.unlink(self._place(name))
        if old:
            self.made = {(digest, name) for digest, name in self.made if name not in old}
            self._list(self.made)
        return gone

    def _ours(self, name: str) -> bool:
        place = self._place(name)
        if os.path.islink(place) or not os.path.isfile(place):
            return False
        try:
            with open(place, "rb") as file:
                return (_digest(file.read()), name) in self.made
        except OSError:
            return False

    def _place(self, name: str) -> str:
        return os.path.join(self.path, name)

    def _list(self, made: set[tuple[str, str]]) -> None:
        self._put(LIST, "".join(f"{digest}  {name}\n" for digest, name in sorted(made, key=lambda each: each[::-1])))

    def _put(self, name: str, text: str) -> None:
        temporary = self._place(f".rigspec-{os.urandom(6).hex()}")
        try:
            with open(temporary, "xb") as file:
                file.write(text.encode("utf-8"))
                file.flush()
                os.fsync(file.fileno())
            os.replace(temporary, self._place(name))
        except BaseException:
            with suppress(OSError):
                os.unlink(temporary)
            raise


def _digest(data: bytes) -> str:
    return sha256(data).hexdigest()
