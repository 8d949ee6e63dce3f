"""All sheets of a rig, and what stands on their head."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from rigspec.check import Report
from rigspec.sheets import channels, checks, mains, meter, pack, patch, polarity, promises, pull, rigging, walk
from rigspec.sheets.basis import Basis, basis
from rigspec.sheets.sheet import Head, Sheet
from rigspec.text.finding import Severity

SHEETS: Mapping[str, Callable[[Basis], Sheet]] = {
    "patch": patch.sheet,
    "leads": pull.sheet,
    "pack": pack.sheet,
    "places": rigging.sheet,
    "channels": channels.sheet,
    "polarity": polarity.sheet,
    "mains": mains.sheet,
    "meter": meter.sheet,
    "checks": checks.sheet,
    "walk": walk.sheet,
    "promises": promises.sheet,
}
"""The word of each sheet, in the order of the work, and what makes it."""


def sheets(report: Report, words: Sequence[str] = ()) -> tuple[Sheet, ...]:
    """The sheets of these words, in the order of the work; all where no word is given. KeyError if one is unknown."""
    for word in words:
        SHEETS[word]
    made_from = basis(report.figures)
    return tuple(make(made_from) for word, make in SHEETS.items() if not words or word in words)


def head(report: Report) -> Head:
    """What stands on the head of every sheet of this rig."""
    from zlib import crc32

    errors = sum(finding.severity is Severity.ERROR for finding in report.findings)
    stamp = 0
    for file in report.figures.rig.files:
        stamp = crc32(file.text.encode("utf-8", "surrogatepass"), stamp)
    return Head(report.figures.rig.title or report.source.path, report.source.path, f"{stamp:08X}", errors)
