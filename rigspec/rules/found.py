"""What is computed for a promise."""

from __future__ import annotations

from typing import TypeAlias

from attrs import frozen

from rigspec.text.value import Value


@frozen(eq=False, repr=False)
class Found(Value):
    """The figure of a thing in the base unit of its kind, or a word; its range by tolerance, and what it assumes.

    ``where`` says at which frequency of a band, or at which point of an area, it is so. ``assumes`` is None where its
    working tells.
    """

    value: float | str
    low: float
    high: float
    assumes: tuple[str, ...] | None = None
    where: str = ""


Answers: TypeAlias = "list[tuple[str, Found | str | None]]"
"""The figure of each thing that is spoken of, by its key; in words why it is not known."""
