"""Findings as data: what is wrong, where, what was computed, what is allowed, by what authority, what to change.

Lower floors say what they saw (rule name, places, words and figures). The orchestrator stamps the severity, the reason
and the authority that the rule of that name holds, so that these stand in one place only.
"""

from collections.abc import Sequence
from enum import Enum

from attrs import frozen

from rigspec.text.source import Span
from rigspec.text.value import Content


def few(words: Sequence[str], most: int = 3) -> str:
    """Words in a row; of many the first, and how many more there are."""
    more = len(words) - most
    return ", ".join(words[:most]) + (f" and {more} more" if more > 0 else "")


class Severity(Enum):
    """How much it matters: an error hurts or will not work, a warning works badly, advice is gain left unused."""

    ERROR = "error"
    WARNING = "warning"
    ADVICE = "advice"

    @property
    def weight(self) -> int:
        return {"error": 3, "warning": 2, "advice": 1}[self.value]

    @property
    def milder(self) -> "Severity":
        """One step less, for what may be so and may not."""
        return Severity.WARNING if self is Severity.ERROR else Severity.ADVICE


@frozen(eq=False, repr=False)
class Label(Content):
    """A place and what it has to do with the finding."""

    span: Span
    text: str


@frozen(eq=False, repr=False)
class Edit(Content):
    """Replace the text of a span; an empty span inserts, an empty text deletes."""

    span: Span
    text: str


@frozen(eq=False, repr=False)
class Fix(Content):
    """A change that cures a finding; ``title`` is an order in plain words."""

    title: str
    edits: tuple[Edit, ...]


@frozen(eq=False, repr=False)
class Finding(Content):
    """One thing to tell the engineer.

    ``message`` is one sentence that stands alone: lower case, no full stop. ``label`` says at the span itself what is
    there; ``related`` says why, elsewhere. ``computed`` and ``allowed`` are figures with their units, as text.
    ``subject`` is the full name of the thing the finding is about (``bass.1``), which ``allow`` refers to.
    ``fix`` is the one mechanical cure, which may be made without asking. Where a person has to choose, it is among the
    ``choices``: an editor offers each, and nothing makes one by itself.
    ``possible``: only some of what the tolerances and ranges allow breaks the rule; ``decides`` then says which given
    figure matters most. ``at_most`` is the most that it counts for, where less harm comes of it than of the worst that
    its rule tells, or where two assumptions carry it, one upon the other. ``aside``: nothing is wrong, and people read
    one line of it.
    """

    rule: str
    span: Span
    message: str
    label: str = ""
    related: tuple[Label, ...] = ()
    computed: str = ""
    allowed: str = ""
    assumes: tuple[str, ...] = ()
    help: str = ""
    fix: Fix | None = None
    choices: tuple[Fix, ...] = ()
    subject: str = ""
    severity: Severity = Severity.ERROR
    reason: str = ""
    authority: str = ""
    possible: bool = False
    decides: str = ""
    at_most: Severity | None = None
    aside: bool = False
