"""The sheets of two samples, kept as the crew reads them."""

from __future__ import annotations

from pathlib import Path

from making import sample

from rigspec.sheets.markdown import markdown
from rigspec.sheets.whole import head, sheets

FOLDER = Path(__file__).with_name("golden")
NAMES = ("two-box-hall", "festival-stage")


def golden(name: str) -> str:
    """All sheets of a sample, one after the other."""
    report = sample(name)
    return "\n".join(markdown(sheet, head(report)) for sheet in sheets(report))
