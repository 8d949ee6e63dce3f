"""The known words nearest to an unknown one, and whether one of them is surely meant."""

from __future__ import annotations

import re
from collections.abc import Container, Iterable
from functools import cached_property
from heapq import nlargest
from itertools import pairwise

from attrs import frozen

from rigspec.text.finding import Edit, Fix
from rigspec.text.source import Span
from rigspec.text.value import Content

LONGEST = 100  # letters of a word that is held against others: nobody mistypes a longer one as a whole
ALL = (
    60  # known words of which each is held against an unknown one; of more only those that share rare pairs of letters
)
LOOKED_AT = 40  # of these so many, and the most alike
HELD = 6  # of these so many are held against it letter by letter
CLOSE = 0.6  # alike enough to be shown
SURE = 0.75  # alike enough to be written in its place ...
AHEAD = 0.1  # ... if it is so much nearer than the next
SHORTEST = 3  # letters of a part in which there may be a slip
_JOINTS = re.compile("[-_]")


@frozen(eq=False, repr=False)
class Near(Content):
    """``words`` are worth showing, best first; ``sure`` is the one that may be written without asking, or empty.

    Sure is what one slip of the fingers explains, and nothing that may be meant as it stands: `twin-900` for `twin-400`
    is another amplifier, `least-impedance` not an `impedance`, `unregulated` not `regulated`.
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


def near(word: str, known: Iterable[str] | Known, most: int = 3, elsewhere: Container[str] = ()) -> Near:
    """The known words near to a word. Case does not count for nearness.

    A word that means something ``elsewhere`` in the language is not misspelt, so none is sure to be meant instead.
    """
    from difflib import SequenceMatcher

    if len(word) > LONGEST:
        return Near((), "")
    known = known.alike(word) if isinstance(known, Known) else known
    by_folded = {each.casefold(): each for each in sorted(known) if len(each) <= LONGEST}
    matcher = SequenceMatcher(None, "", word.casefold())
    near_enough: list[tuple[float, str]] = []
    for each in by_folded:
        matcher.set_seq1(each)
        quick = matcher.real_quick_ratio() >= CLOSE and matcher.quick_ratio() >= CLOSE
        if quick and (ratio := matcher.ratio()) >= CLOSE:
            near_enough.append((ratio, each))
    found = nlargest(most, near_enough)
    sure = (
        bool(found)
        and found[0][0] >= SURE
        and (len(found) < 2 or found[0][0] - found[1][0] >= AHEAD)
        and word not in elsewhere
        and _slip(word.casefold(), found[0][1])
    )
    return Near(tuple(by_folded[each] for _, each in found), by_folded[found[0][1]] if sure else "")


def _slip(word: str, meant: str) -> bool:
    """Does one slip explain it: a letter left out, put in or mistaken, two neighbours changed, or a joint forgotten?

    A part of one or two letters is a name of its own: `tops-l` is not `tops-r`. Nor does anybody slip into a digit.
    """
    if word == meant:
        return True
    ours, theirs = _JOINTS.split(word), _JOINTS.split(meant)
    if "".join(ours) == "".join(theirs):
        return not any(character.isdigit() for character in word)
    wrong = [pair for pair in zip(ours, theirs, strict=False) if pair[0] != pair[1]]
    return (
        len(ours) == len(theirs)
        and len(wrong) == 1
        and min(map(len, wrong[0])) >= SHORTEST
        and re.sub(r"\D", "", word) == re.sub(r"\D", "", meant)
        and _one_letter(*wrong[0])
    )


def _one_letter(word: str, meant: str) -> bool:
    """Is one letter left out, put in or mistaken, or are two neighbours changed?"""
    first = next((at for at, (a, b) in enumerate(zip(word, meant, strict=False)) if a != b), min(len(word), len(meant)))
    ours, theirs = word[first:], meant[first:]
    swapped = ours[1::-1] == theirs[:2] and ours[2:] == theirs[2:]
    return swapped or ours == theirs[1:] or ours[1:] == theirs or ours[1:] == theirs[1:]
