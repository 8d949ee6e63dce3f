"""What is found wrong while a text is bound."""

from __future__ import annotations

from rigspec.text.finding import Finding, Fix, Label
from rigspec.text.source import Span


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
