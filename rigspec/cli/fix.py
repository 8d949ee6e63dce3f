"""Mechanical fixes: tried in memory, kept only when a new check shows that they cure and harm nothing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, TypeAlias

from rigspec.cli.library import Library
from rigspec.cli.writing import replace
from rigspec.finding import Edit, Finding
from rigspec.show.cells import prose, visible
from rigspec.source import Source

if TYPE_CHECKING:
    from rigspec.cli.check_command import Checked

Key: TypeAlias = tuple[str, str, str, str, str]


def key(finding: Finding) -> Key:
    """What makes two findings the same although lines have moved."""
    return finding.rule, finding.severity.value, finding.subject, finding.message, finding.span.path


def fix_all(library: Library, checked: dict[str, Checked]) -> tuple[str, bool]:
    """Fix what can be fixed in the checked files, write them, and bring ``checked`` up to date.

    Only the files in ``checked`` are changed. Returns what was done and left, a line each, and whether every file
    could be written.
    """
    before = {path: one.report.source for path, one in checked.items()}
    done: list[str] = []
    while True:
        left: dict[str, None] = {}
        progress = False
        for finding in _fixable(checked):
            refusal = _try(library, checked, finding)
            if not refusal:
                done.append(f"fixed: {_told(finding)}\n")
                progress = True
                break
            left[f"not fixed: {_told(finding)}: {refusal}\n"] = None
        if not progress:
            break
    failures = []
    for path, source in before.items():
        now = checked[path].report.source
        refusal = "" if now.text == source.text else replace(library.place(path), source, now.text)
        if refusal:
            failures.append(f"not written: {visible(path)}: {refusal}; nothing in it was changed\n")
    if failures:
        _take_back(library, checked, before)
    return "".join([*done, *left, *failures]), not failures


def _fixable(checked: Mapping[str, Checked]) -> list[Finding]:
    found = (finding for one in checked.values() for finding in one.report.findings if finding.fix)
    return list(dict.fromkeys(found))


def _told(finding: Finding) -> str:
    title = prose(finding.fix.title) if finding.fix else ""
    return f"{visible(finding.span.path)}:{finding.span.line}:{finding.span.column}: {title} [{finding.rule}]"


def _try(library: Library, checked: dict[str, Checked], finding: Finding) -> str:
    """Apply one finding's fix; take it back and say why where it must not stay."""
    from rigspec.cli.check_command import check_one

    assert finding.fix is not None
    edits: dict[Source, list[Edit]] = {}
    for edit in finding.fix.edits:
        edits.setdefault(edit.span.source, []).append(edit)
    for source in edits:
        if source.path not in checked:
            return f"it changes {visible(source.path)}, which was not named; name that file too"
    texts = {source: _applied(source, own) for source, own in edits.items()}
    if not texts or any(text is None or text == source.text for source, text in texts.items()):
        return "its edits contradict each other or change nothing"
    for source, text in texts.items():
        library.put(Source(source.path, text or ""))
    touched = {source.path for source in texts}
    affected = [path for path, one in checked.items() if touched & {path, *one.files}]
    after = {path: check_one(library, library.now(checked[path].report.source)) for path in affected}
    refusal = _harm(finding, {path: checked[path] for path in affected}, after)
    if refusal:
        for source in texts:
            library.put(source)
    else:
        checked.update(after)
    return refusal


def _applied(source: Source, edits: Iterable[Edit]) -> str | None:
    """The text with its edits made, or None where they overlap; line ends as that text has them."""
    crlf = "\r\n" in source.text
    parts: list[str] = []
    end = 0
    for edit in sorted(edits, key=lambda edit: (edit.span.start, edit.span.end)):
        if edit.span.start < end:
            return None
        inserted = edit.text.replace("\r\n", "\n")
        parts += [source.text[end : edit.span.start], inserted.replace("\n", "\r\n") if crlf else inserted]
        end = edit.span.end
    return "".join([*parts, source.text[end:]])


def _harm(finding: Finding, before: Mapping[str, Checked], after: Mapping[str, Checked]) -> str:
    """Why a fix may not stay: its finding is still there, or another is new; nothing where all is well."""
    own = key(finding)
    for path, one in before.items():
        had = Counter(map(key, one.report.findings))
        has = Counter(map(key, after[path].report.findings))
        if own in had and has[own] >= had[own]:
            return "the finding would stay"
        new = next(iter(has - had), None)
        if new is not None:
            return f"it would bring a new finding: {prose(new[3])} [{new[0]}]"
    return ""


def _take_back(library: Library, checked: dict[str, Checked], before: Mapping[str, Source]) -> None:
    """Check once more what is really on disk."""
    from rigspec.cli.check_command import check_one
    from rigspec.cli.files import read

    for path, source in before.items():
        found = read(library.place(path), path)
        library.put(found if isinstance(found, Source) else source)
    for path in checked:
        checked[path] = check_one(library, library.now(before[path]))
