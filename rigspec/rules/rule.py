"""What a rule is: its name, how much it matters, why, its limit, by what authority, and rigs that show it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from attrs import field, frozen

from rigspec.text.finding import Finding, Severity
from rigspec.text.value import Content

if TYPE_CHECKING:
    from rigspec.figures import Figures

Check = Callable[["Figures"], Iterable[Finding]]


def _said(instance: object, attribute: object, value: str) -> None:
    if not value.strip():
        raise ValueError(f"a rule must say its {getattr(attribute, 'name', 'words')}")


@frozen(eq=False, repr=False, kw_only=True)
class Rule(Content):
    """One rule, in one place; ``explain`` and the rule reference are made from it.

    ``check`` finds what breaks the rule in a rig's figures; it is None for what is found while the text is read.
    ``bad`` is a rig that breaks the rule, ``good`` the same rig put right; the tests run both. In the examples
    everything after a line ``--- name`` is another file of that name.
    """

    name: str = field(validator=_said)
    severity: Severity
    summary: str = field(validator=_said)
    reason: str = field(validator=_said)
    limit: str = field(validator=_said)
    authority: str = field(validator=_said)
    cure: str = field(validator=_said)
    bad: str = field(validator=_said)
    good: str = field(validator=_said)
    check: Check | None = None
