"""What is said of the feeds, and how loud their shares are together."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import frozen

from rigspec.figures.signal.part import Contribution, Level
from rigspec.language.words import SettingWord
from rigspec.rig.model import Measure, Rig
from rigspec.solve.decibel import dbu_to_volt, volt_to_dbu
from rigspec.solve.summing import Share, together_volt
from rigspec.text.value import Value

LEVELS: tuple[SettingWord, ...] = ("level", "peak")


@frozen(eq=False, repr=False)
class Feeds(Value):
    """The levels of the feeds, by word and feed, and the stereo pair that a feed belongs to."""

    levels: Mapping[SettingWord, Mapping[str, Measure | None]]
    pair_of: Mapping[str, str]

    def said(self, feed: str, word: SettingWord) -> Measure | None:
        """The ``level`` or ``peak`` of a feed, as it is said; None for other words."""
        return self.levels[word].get(feed) if word in self.levels else None

    def level(
        self, parts: tuple[Contribution, ...], word: SettingWord = "level", *, limited: bool = True
    ) -> Level | None:
        """The nominal ``level`` or the ``peak`` level of a signal; None where a feed's, or a gain, is not known.

        ``limited``: with what limiters on the way take from it. -inf where a feed cancels itself.
        """
        if not parts:
            return None
        levels = self.levels[word]
        found, exact = [], True
        for part in parts:
            said = levels.get(part.feed)
            if said is None or part.gain_db is None:
                return None
            exact = exact and said.low == said.high
            found.append(said.value + part.gain_db - (part.held_db(word) if limited else 0.0))
        level = self._together(parts, found)
        return level if exact else self._with_ends(level, parts, word, limited=limited)

    def _with_ends(self, level: Level, parts: tuple[Contribution, ...], word: SettingWord, *, limited: bool) -> Level:
        """A level with the ends that the tolerances of the feeds leave, and which of them moves it most.

        All feeds are moved together. Where some arrive turned, what one loses to another counts too: those are also
        moved against the rest, to their ends; that alike shares may cancel in between is not looked for. Behind a
        limiter that holds several feeds this is right to some tenths of a dB: what it leaves of them also depends on
        how loud they are against each other.
        """
        said = {part.feed: measure for part in parts if (measure := self.levels[word].get(part.feed)) is not None}
        turned = {part.feed for part in parts if part.inverted}
        ways = (1, -1) if turned and len(turned) < len(said) else (1,)

        def moved(end: int, ends: Mapping[str, int]) -> Level:
            dbus = []
            for part in parts:
                each, side = said[part.feed], ends.get(part.feed, 0)
                dbu = each.high if side > 0 else each.low if side < 0 else each.value
                dbus.append(dbu + (part.gain_db or 0.0) - (part.held_db(word, end) if limited else 0.0))
            return self._together(parts, dbus)

        sides = [{feed: side * (way if feed in turned else 1) for feed in said} for side in (-1, 1) for way in ways]
        low, high = ([level, *(moved(end, each) for each in sides)] for end in (-1, 1))
        ends = (
            Level(min(each.dbu for each in low), min(each.worst_dbu for each in low)),
            Level(max(each.dbu for each in high), max(each.worst_dbu for each in high)),
        )
        inexact = [feed for feed, measure in said.items() if measure.low != measure.high]
        alone = [(moved(0, {feed: -1}).worst_dbu, moved(0, {feed: 1}).worst_dbu) for feed in inexact]
        moves = (0.0 if down == up else abs(up - down) for down, up in alone)
        return Level(level.dbu, level.worst_dbu, ends, tuple(zip((said[feed] for feed in inexact), moves, strict=True)))

    def gain_db(self, parts: tuple[Contribution, ...]) -> float | None:
        """The gain from a feed to here, the worst where several ways of it meet; None for several feeds."""
        if len({part.feed for part in parts}) != 1:
            return None
        gains = [part.gain_db for part in parts if part.gain_db is not None]
        return None if len(gains) < len(parts) else self._together(parts, gains).worst_dbu

    def _together(self, parts: tuple[Contribution, ...], levels: list[float]) -> Level:
        """The level of shares together, each with its own."""
        if len(parts) == 1:
            return Level(levels[0], levels[0])
        shares = []
        for part, dbu in zip(parts, levels, strict=True):
            volt = -dbu_to_volt(dbu) if part.inverted else dbu_to_volt(dbu)
            shares.append(Share(volt, part.feed, self.pair_of.get(part.feed, part.feed), part.delay_s, part.high_hz))
        whole, worst = together_volt(shares)
        return Level(volt_to_dbu(whole), volt_to_dbu(worst))


def feeds_of(rig: Rig) -> Feeds:
    """What feeds and stereo pairs say."""
    feeds = [gear for gear in rig.gear.values() if gear.word == "feed"]
    levels = {word: {gear.full: gear.measure(word, "level") for gear in feeds} for word in LEVELS}
    return Feeds(levels, {part.name: each.name for each in rig.rosters_of("stereo") for part in each.parts})
