"""Mechanical fixes: tried in memory, kept only when a new check shows that they cure and harm nothing."""

from __future__ import annotations

from collections.abc import Mapping

from rigspec.cli.checking import Checked, check_one
from rigspec.cli.writing import replace
from rigspec.files.fixing import harm, texts_with
from rigspec.files.library import Library
from rigspec.show.cells import prose, visible
from rigspec.text.finding import Finding
from rigspec.text.source import Source


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
    assert finding.fix is not None
    for edit in finding.fix.edits:
        if edit.span.path not in checked:
            return f"it changes {visible(edit.span.path)}, which was not named; name that file too"
    texts = texts_with(finding.fix)
    if not texts:
        return "its edits contradict each other or change nothing"
    for source, text in texts.items():
        library.put(Source(source.path, text))
    touched = {source.path for source in texts}
    affected = [path for path, one in checked.items() if touched & {path, *one.files}]
    after = {path: check_one(library, library.now(checked[path].report.source)) for path in affected}
    refusal = harm(
        finding,
        {path: checked[path].report.findings for path in affected},
        {path: one.report.findings for path, one in after.items()},
    )
    if refusal:
        for source in texts:
            library.put(source)
    else:
        checked.update(after)
    return refusal


def _take_back(library: Library, checked: dict[str, Checked], before: Mapping[str, Source]) -> None:
    """Check once more what is really on disk."""
    from rigspec.files.files import read

    for path, source in before.items():
        found = read(library.place(path), path)
        library.put(found if isinstance(found, Source) else source)
    for path in checked:
        checked[path] = check_one(library, library.now(before[path]))
