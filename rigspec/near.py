"""The known words nearest to an unknown one, and whether one of them is surely meant."""

from __future__ import annotations

from collections.abc import Iterable
from heapq import nlargest

from attrs import frozen

from rigspec.finding import Edit, Fix
from rigspec.source import Span
from rigspec.value import Value

CLOSE = 0.6  # alike enough to be shown
SURE = 0.75  # alike enough to be written in its place ...
AHEAD = 0.1  # ... if it is so much nearer than the next


@frozen(repr=False)
class Near(Value):
    """``words`` are worth showing, best first; ``sure`` is the one that may be written without asking, or empty.

    Two words that differ in their digits are never sure: `twin-900` for `twin-400` is another amplifier, not a slip of
    the fingers.
    """

    words: tuple[str, ...]
    sure: str

    @property
    def question(self) -> str:
        """``did you mean ...?``, or nothing where no word is near."""
        return f"did you mean {' or '.join(f'`{word}`' for word in self.words)}?" if self.words else ""

    def fix(self, span: Span) -> Fix | None:
        """Write the word that is surely meant."""
        return Fix(f"write `{self.sure}`", (Edit(span, self.sure),)) if self.sure else None


def near(word: str, known: Iterable[str], most: int = 3) -> Near:
    """The known words near to a word. Case does not count for nearness."""
    from difflib import SequenceMatcher

    by_folded = {each.casefold(): each for each in sorted(known)}
    matcher = SequenceMatcher(None, "", word.casefold())
    near_enough: list[tuple[float, str]] = []
    for each in by_folded:
        matcher.set_seq1(each)
        quick = matcher.real_quick_ratio() >= CLOSE and matcher.quick_ratio() >= CLOSE
        if quick and (ratio := matcher.ratio()) >= CLOSE:
            near_enough.append((ratio, each))
    found = nlargest(most, near_enough)
    digits = [character for character in word if character.isdigit()]
    sure = (
        bool(found)
        and found[0][0] >= SURE
        and (len(found) < 2 or found[0][0] - found[1][0] >= AHEAD)
        and [character for character in found[0][1] if character.isdigit()] == digits
    )
    return Near(tuple(by_folded[each] for _, each in found), by_folded[found[0][1]] if sure else "")
