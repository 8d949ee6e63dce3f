"""The exact text of every finding is kept in a file, so that a change of words is seen and read."""

from golden_findings import GOLDEN, REFRESH, page


def test_the_text_of_every_finding_is_as_kept() -> None:
    kept = GOLDEN.read_text(encoding="utf-8")
    assert page() == kept, f"what findings say has changed; if it is meant, run `{REFRESH}` and read what it wrote"
