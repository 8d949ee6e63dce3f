"""``python -m tests.golden``: write all golden texts anew and name those that changed; read them as the crew would."""

import sys
from collections.abc import Iterator
from pathlib import Path

TESTS = Path(__file__).parents[1]
sys.path += [str(TESTS / folder) for folder in ("laws", "plans", "rules", "sheets", "show")]


def texts() -> Iterator[tuple[Path, str]]:
    """Each golden file with its text as it is now."""
    import golden_findings
    import golden_overview
    import golden_sheets
    import test_compare
    import test_export
    import test_show_figures

    from tests.answers import answering

    yield golden_findings.GOLDEN, golden_findings.page()
    for name in golden_sheets.NAMES:
        yield golden_sheets.FOLDER / f"{name}.md", golden_sheets.golden(name)
    for each in golden_overview.SHOWN:
        yield golden_overview.golden(each), golden_overview.overview(golden_overview.sample(each))
    yield test_show_figures.GOLDEN, test_show_figures.page()
    yield test_compare.GOLDEN, test_compare.page()
    yield test_export.SHAPE, test_export.shape_now()
    yield answering.GOLDEN, answering.page()


for path, text in texts():
    if not path.exists() or path.read_text(encoding="utf-8") != text:
        path.write_text(text, encoding="utf-8", newline="\n")
        print(path.relative_to(TESTS.parent).as_posix())
