"""What people are told when something is written from a rig that has errors."""

from __future__ import annotations

from rigspec.check import Report
from rigspec.cli import terminal
from rigspec.show.cells import visible
from rigspec.text.finding import Severity

FIGURES = "so figures may be missing or wrong"


def told_of_errors(report: Report, so: str) -> bool:
    """Has the rig errors? If so, people are told, and in the words ``so`` what that means for what is written."""
    errors = sum(finding.severity is Severity.ERROR for finding in report.findings)
    if not errors:
        return False
    count = "an error" if errors == 1 else f"{errors} errors"
    path = visible(report.source.path)
    terminal.tell(f"{path} has {count}, {so}; see `rigspec check {path}`\n")
    return True
