"""Tables about loudspeakers: how they are connected, and the power that reaches them."""

from __future__ import annotations

from collections.abc import Iterator

from rigspec.figures import BoxFigures, Figures
from rigspec.show.tables.channels import all_assumes, range_of
from rigspec.show.tables.question import Column, Question


def rows(figures: Figures) -> list[BoxFigures]:
    return list(figures.boxes.values())


def polarity(box: BoxFigures) -> str:
    """The net polarity of a loudspeaker, and of each driver that is turned inside it."""
    ways = {(len(part.turns) + len(box.own_turns)) % 2 for part in box.parts} or {len(box.own_turns) % 2}
    if len(ways) > 1:
        return "differs by feed"
    inverted = ways.pop() == 1
    words = ("inverted", "normal")
    gear, way = box.box.gear, box.box.way
    given = (gear.way(way) if way else gear.facts).get("drivers")
    drivers = [(ref.name, "inverted" in each.words) for each in given.entries for ref in each.refs] if given else []
    if not any(turned for _, turned in drivers):
        return words[not inverted]
    return ", ".join(f"{name} {words[inverted == turned]}" for name, turned in drivers)


def _inversion_count(box: BoxFigures) -> int:
    return max((len(part.turns) for part in box.parts), default=0) + len(box.own_turns)


def _inverted_by(box: BoxFigures) -> list[str]:
    """Every turn on the way of every feed, in words."""
    found = [(f"{part.feed}: ", turn) for part in box.parts for turn in part.turns]
    return [f"{before}{turn.text}" for before, turn in [*found, *(("", turn) for turn in box.own_turns)]]


def _share_percent(box: BoxFigures) -> float | None:
    """What the feeds bring as a share of what the loudspeaker stands: of the two powers the one nearer to its limit."""
    pairs = ((box.nominal_w, box.continuous), (box.peak_w, box.peak))
    shares = [100 * watt / rated.value for watt, rated in pairs if watt is not None and rated and rated.value > 0]
    return max(shares, default=None)


def _assumes(figures: Figures) -> Iterator[tuple[str, str]]:
    for channel in figures.channels.values():
        for text in channel.load_assumes:
            yield text, channel.key


QUESTIONS: tuple[Question, ...] = (
    Question(
        word="speakers",
        title="Loudspeakers: polarity, loss in the leads, damping factor with leads and amplifier",
        columns=(
            Column("loudspeaker", "loudspeaker", lambda b: b.key).says("the loudspeaker or its way, by its full name"),
            Column("channel", "on", lambda b: b.channel).says("the channel that it hangs on"),
            Column("impedance_ohm", "rated ohm", lambda b: b.box.impedance_ohm).says("the rated impedance"),
            Column("polarity", "polarity", polarity).says(
                "the net polarity from each feed, drivers that are inverted inside named"
            ),
            Column("inversions", "inversions", _inversion_count, holds="number").says(
                "how often plus and minus are exchanged on its way"
            ),
            Column("inverted_by", "inverted by", _inverted_by, people=False, holds="list").says(
                "every inversion on the way, in words"
            ),
            Column(
                "feeds",
                "feeds",
                lambda b: list(dict.fromkeys(part.feed for part in b.parts)),
                people=False,
                holds="list",
            ).says("the feeds that reach it"),
            Column("loss_db", "loss dB", lambda b: b.loss_db, 2).says(
                "what the leads take from the level, against the same without leads"
            ),
            Column("loss_range", "least..most", lambda b: range_of(b.loss_low_db, b.loss_high_db, 2), programs=False),
            Column("least_loss_db", "least", lambda b: b.loss_low_db, people=False).says(
                "the least that the loss may be by the tolerances that are given"
            ),
            Column("most_loss_db", "most", lambda b: b.loss_high_db, people=False).says(
                "the most that the loss may be by the tolerances that are given"
            ),
            Column("damping", "damping", lambda b: b.damping, holds="number").says(
                "the damping factor at the loudspeaker, leads included"
            ),
        ),
        rows=rows,
        worst=lambda b: b.loss_high_db,
        mark="loses most on its way",
        assumes=_assumes,
    ),
    Question(
        word="powers",
        title="Power at each loudspeaker: at the amplifier's rated output, at the feeds' level, at their peaks",
        columns=(
            Column("loudspeaker", "loudspeaker", lambda b: b.key).says("the loudspeaker or its way, by its full name"),
            Column("channel", "on", lambda b: b.channel).says("the channel that it hangs on"),
            Column("rated_watt", "rated W", lambda b: b.rated_w).says(
                "the power that reaches it at the rated output of its amplifier"
            ),
            Column("nominal_watt", "W at level", lambda b: b.nominal_w).says(
                "the power that reaches it at the nominal levels of the feeds"
            ),
            Column("continuous_rating_watt", "stands W", lambda b: b.continuous.value if b.continuous else None).says(
                "its continuous rating"
            ),
            Column("peak_watt", "peak W", lambda b: b.peak_w).says(
                "the power that reaches it at the highest peaks of the feeds"
            ),
            Column("peak_rating_watt", "stands peak W", lambda b: b.peak.value if b.peak else None).says(
                "its peak rating"
            ),
            Column("share_percent", "% of rating", _share_percent).says(
                "of the continuous and the peak power the one nearer to its rating, in percent of that"
            ),
        ),
        rows=rows,
        worst=lambda b: _share_percent(b) or 0.0,
        mark="comes nearest to what it stands, or goes furthest beyond it",
        assumes=all_assumes,
    ),
)
