"""The known words nearest to an unknown one, and whether one of them is surely meant."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from heapq import nlargest
from itertools import pairwise

from attrs import frozen

from rigspec.finding import Edit, Fix
from rigspec.memory import remembered
from rigspec.source import Span
from rigspec.value import Value

LONGEST = 100  # letters of a word that is held against others: nobody mistypes a longer one as a whole
ALL = (
    60  # known words of which each is held against an unknown one; of more only those that share rare pairs of letters
)
LOOKED_AT = 40  # of these so many, and the most alike
HELD = 6  # of these so many are held against it letter by letter
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


class Known:
    """Known words, for many unknown ones: what they are looked up by is made once."""

    def __init__(self, words: Iterable[str]) -> None:
        self.words = tuple(words)

    @cached_property
    def _pairs_of(self) -> dict[str, frozenset[str]]:
        return {word: _pairs(word) for word in sorted(self.words)}

    @cached_property
    def _by_pair(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for word, pairs in self._pairs_of.items():
            for pair in pairs:
                found.setdefault(pair, []).append(word)
        return found

    def alike(self, word: str) -> tuple[str, ...]:
        """The words that may be near to one: of many, some that share the pairs of letters that fewest others have.

        So the work for one unknown word does not grow with the number of known ones.
        """
        if len(self.words) <= ALL:
            return self.words
        pairs = _pairs(word)
        met = sorted(pairs & self._by_pair.keys(), key=lambda pair: (len(self._by_pair[pair]), pair))
        found: dict[str, None] = {}
        for words in map(self._by_pair.__getitem__, met):
            found.update(dict.fromkeys(words[: LOOKED_AT - len(found)]))
            if len(found) >= LOOKED_AT:
                break
        return tuple(nlargest(HELD, found, key=lambda each: len(pairs & self._pairs_of[each])))


def _pairs(word: str) -> frozenset[str]:
    """The pairs of letters that follow each other in a word, the first and the last letter beside a blank."""
    folded = f" {word[:LONGEST].casefold()} "
    return frozenset(map("".join, pairwise(folded)))


def near(word: str, known: Iterable[str] | Known, most: int = 3) -> Near:
    """The known words near to a word. Case does not count for nearness."""
    if len(word) > LONGEST:
        return Near((), "")
    return _near(word, known.alike(word) if isinstance(known, Known) else tuple(known), most)


class _Nearness:
    """How near words are to one, from 0 to 1: below `CLOSE` nobody asks how far. What it was asked for, it remembers.

    A name is declared, and an unknown one is held against all names again: for all but the new one that is known.
    """

    def __init__(self, word: str) -> None:
        from difflib import SequenceMatcher

        self._matcher = SequenceMatcher(None, "", word)
        self._found: dict[str, float] = {}

    def of(self, other: str) -> float:
        found = self._found.get(other)
        if found is None:
            matcher = self._matcher
            matcher.set_seq1(other)
            far = len(other) > LONGEST or matcher.real_quick_ratio() < CLOSE or matcher.quick_ratio() < CLOSE
            found = self._found[other] = 0.0 if far else matcher.ratio()
        return found


@remembered
def _nearness(word: str) -> _Nearness:
    return _Nearness(word)


@remembered
def _near(word: str, known: tuple[str, ...], most: int) -> Near:
    by_folded = {each.casefold(): each for each in sorted(known)}
    nearness = _nearness(word.casefold())
    near_enough = [(ratio, each) for each in by_folded if (ratio := nearness.of(each)) >= CLOSE]
    found = nlargest(most, near_enough)
    digits = [character for character in word if character.isdigit()]
    sure = (
        bool(found)
        and found[0][0] >= SURE
        and (len(found) < 2 or found[0][0] - found[1][0] >= AHEAD)
        and [character for character in found[0][1] if character.isdigit()] == digits
    )
    return Near(tuple(by_folded[each] for _, each in found), by_folded[found[0][1]] if sure else "")
