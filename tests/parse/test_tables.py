"""The saved tables are those that lark builds from the grammar today."""

from rigspec.language import build


def test_the_saved_tables_are_the_grammars() -> None:
    saved = build.TABLES.read_text(encoding="utf-8")
    assert saved == build.tables_text(), "the grammar has changed: run `python -m rigspec.language.build`"
