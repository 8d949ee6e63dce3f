"""A folder of made files: each written whole or not at all, and only what was made here written over or taken away."""

from __future__ import annotations

import os
from collections.abc import Mapping
from contextlib import suppress

from rigspec.cli.seal import sealed
from rigspec.cli.trouble import CannotRunError
from rigspec.cli.writing import barred, made_here, put, strays
from rigspec.files.files import why
from rigspec.show.cells import visible


class Folder:
    """A folder that rigspec writes to; it is made where there is none. Files are known under their own names only."""

    def __init__(self, path: str) -> None:
        self.path = path
        refusal = strays(self._place("file"))
        try:
            if not refusal:
                os.makedirs(path, exist_ok=True)
        except (OSError, ValueError) as error:
            refusal = why(error)
        if refusal:
            raise CannotRunError(f"the folder {visible(path)} cannot be used: {refusal}")

    def foreign(self, names: Mapping[str, str]) -> list[str]:
        """Those of the names under which something stands that was not made here, or was changed since."""
        return [name for name in names if barred(self._place(name), _ending(name), name=name)]

    def write(self, texts: Mapping[str, str]) -> None:
        """Put each text under its name, whatever stands there; each file is whole, old or new, at every moment."""
        for name, text in texts.items():
            data = sealed(text.encode("utf-8"), _ending(name), name)
            refusal = put(self._place(name), data, _ending(name), overwrite=True, name=name)
            if refusal:
                raise CannotRunError(f"{name} cannot be written in {visible(self.path)}: {refusal}")

    def drop(self, keep: Mapping[str, str], endings: tuple[str, ...]) -> list[str]:
        """Take away what was made here before with these endings and is not kept; what somebody changed stays."""
        gone = []
        for name in sorted(os.listdir(self.path)):
            if name.endswith(endings) and name not in keep and made_here(self._place(name), _ending(name), name):
                with suppress(OSError):
                    os.unlink(self._place(name))
                    gone.append(name)
        return gone

    def _place(self, name: str) -> str:
        return os.path.join(self.path, name)


def _ending(name: str) -> str:
    return os.path.splitext(name)[1]
