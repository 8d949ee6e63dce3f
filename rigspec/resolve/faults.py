"""What is found wrong while a text is bound, and how what was made of a statement is kept until it changes."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar, cast

from rigspec.finding import Finding, Fix, Label
from rigspec.source import Anchor, Span

Made = TypeVar("Made")


class Faults:
    """Collects findings while a text is bound; ``count`` tells a caller whether its part had any."""

    def __init__(self) -> None:
        self.found: list[Finding] = []

    def add(
        self,
        rule: str,
        span: Span,
        message: str,
        label: str = "",
        help: str = "",
        related: tuple[Label, ...] = (),
        fix: Fix | None = None,
        subject: str = "",
    ) -> None:
        self.found.append(
            Finding(rule, span, message, label=label, help=help, related=related, fix=fix, subject=subject)
        )

    @property
    def count(self) -> int:
        return len(self.found)


def made_once(at: Anchor, key: object, faults: Faults, make: Callable[[], Made]) -> Made:
    """What is made of a statement that may be read again: made once, with the faults that were found in it."""
    kept = at.kept.get(key)
    if kept is None:
        before = faults.count
        made = make()
        at.kept[key] = made, faults.found[before:]
        return made
    made, found = cast("tuple[Made, list[Finding]]", kept)
    faults.found += found
    return made
