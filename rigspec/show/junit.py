"""Findings as JUnit XML, for build servers that show tests."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from rigspec.show.cells import prose, visible
from rigspec.show.people import people
from rigspec.text.finding import Finding, Severity

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element


def junit(findings: Iterable[Finding], *, files: Sequence[str], fail_on: Severity = Severity.ERROR) -> str:
    """One suite for every file, one case for every finding in it; a file without findings has one case that passes.

    A finding of severity ``fail_on`` or above fails; below that its case passes and its text goes to the case's output.
    Characters that XML 1.0 forbids come out as escapes such as ``\\x1b``.
    """
    from xml.etree import ElementTree

    by_path: dict[str, list[Finding]] = {path: [] for path in files}
    for finding in findings:
        by_path.setdefault(finding.span.path, []).append(finding)

    root = ElementTree.Element("testsuites", name="rigspec")
    for path, found in by_path.items():
        failing = [finding.severity.weight >= fail_on.weight for finding in found]
        suite = ElementTree.SubElement(root, "testsuite", name=visible(path))
        _count(suite, tests=max(1, len(found)), failures=sum(failing))
        for finding, fails in zip(found, failing, strict=True):
            suite.append(_case(finding, fails))
        if not found:
            ElementTree.SubElement(suite, "testcase", classname=visible(path), name="no findings")
    _count(
        root,
        tests=sum(int(suite.attrib["tests"]) for suite in root),
        failures=sum(int(suite.attrib["failures"]) for suite in root),
    )
    ElementTree.indent(root)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{ElementTree.tostring(root, encoding="unicode")}\n'


def _count(element: "Element", *, tests: int, failures: int) -> None:
    for name, number in (("tests", tests), ("failures", failures), ("errors", 0), ("skipped", 0)):
        element.set(name, str(number))


def _case(finding: Finding, fails: bool) -> "Element":
    from xml.etree.ElementTree import Element, SubElement

    rule = prose(finding.rule)
    name = f"{rule} at {finding.span.line}:{finding.span.column}"
    case = Element("testcase", classname=visible(finding.span.path), name=name)
    if fails:
        told = SubElement(case, "failure", type=rule, message=prose(finding.message))
    else:
        told = SubElement(case, "system-out")
    told.text = people([finding], colour=False)
    return case
