"""What the rules about limiters share: which are judged, how they are called and written, and what to show of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import floor, log10

from rigspec.figures import ChannelFigures, Figures
from rigspec.figures.limiters import SetLimiter
from rigspec.figures.protection import ChannelProtection, Weakest
from rigspec.rules.loads import suited
from rigspec.rules.places import declared
from rigspec.rules.powers import over_ratings
from rigspec.solve.decibel import dbu_to_volt
from rigspec.solve.limiter import SINE_CREST_FACTOR
from rigspec.text.finding import Label, few
from rigspec.text.units import show

TOLD_DB = 0.25  # half of the half decibel in which most limiters are set (common practice, no source)

Judged = tuple[ChannelProtection, SetLimiter]

_UNWORDED = "this limiter says neither `rms` nor `peak`, and is taken for one that watches peaks"


def judged_limiters(figures: Figures) -> Iterator[Judged]:
    """Every limiter with every channel behind it whose loudspeakers suit it."""
    for channel in suited(figures):
        protection = figures.protection.channels[channel.key]
        for limiter in protection.limiters:
            yield protection, limiter


def channel_order(channel: ChannelFigures) -> tuple[str, int, str]:
    """Channels in an order that does not depend on the order of statements: by name, number and port."""
    return channel.gear.name, channel.gear.number or 0, channel.output.port


def each_limiter(found: Iterable[tuple[float, Judged]]) -> Iterator[tuple[ChannelProtection, SetLimiter, list[str]]]:
    """One finding for each limiter that is written, by the channel with which it is worst; and all such channels."""
    places: dict[tuple[object, str], list[tuple[float, Judged]]] = {}
    for how_bad, each in found:
        places.setdefault((each[1].said.span, each[1].watches), []).append((how_bad, each))
    for several in places.values():
        several.sort(key=lambda each: channel_order(each[1][0].channel))
        protection, limiter = max(several, key=lambda each: round(each[0], 6))[1]
        yield protection, limiter, [each[0].channel.key for _, each in several]


# ---- how limiters are called and written ----------------------------------------------------------------------------


def limiter_name(limiter: SetLimiter) -> str:
    return f"the limiter of {limiter.output.key}"


def written(limiter: SetLimiter, output_dbu: float, *, down: bool = False) -> str:
    """A threshold at the amplifier's output, as one would write it where the limiter is set.

    ``down`` rounds it down to a tenth of a dB, or to three digits of a voltage, so that it still protects.
    """
    there = limiter.dbu - limiter.output_dbu + output_dbu
    if limiter.said.kind == "level":
        return f"{show(floor(there * 10 + 1e-6) / 10 if down else there, 'level')} {limiter.watches}"
    volt = dbu_to_volt(output_dbu if limiter.on_amplifier else there)
    volt *= SINE_CREST_FACTOR if limiter.watches == "peak" else 1.0
    if down and volt > 0:
        step = 10.0 ** (floor(log10(volt)) - 2)
        volt = floor(volt / step + 1e-6) * step
    return f"{show(volt, 'voltage')} {limiter.watches}"


def at_output(protection: ChannelProtection, limiter: SetLimiter, output_dbu: float) -> str:
    """A threshold in volts at the amplifier's output."""
    crest = SINE_CREST_FACTOR if limiter.watches == "peak" else 1.0
    kind = "rms" if limiter.watches == "rms" else "at the peaks"
    return f"{show(dbu_to_volt(output_dbu) * crest, 'voltage')} {kind} out of {protection.channel.key}"


def threshold(protection: ChannelProtection, limiter: SetLimiter, output_dbu: float) -> str:
    """A threshold as it is written and in volts at the amplifier's output, once where both are the same."""
    there = at_output(protection, limiter, output_dbu)
    same = limiter.on_amplifier and limiter.said.kind == "voltage"
    return there if same else f"{written(limiter, output_dbu)}, {there}"


def weakest_of(protection: ChannelProtection, limiter: SetLimiter) -> Weakest | None:
    return protection.rms if limiter.watches == "rms" else protection.peak


def most_of(protection: ChannelProtection, limiter: SetLimiter) -> tuple[float, str] | None:
    """The highest level that can come to a limiter, at the amplifier's output, and what gives no more; None if unknown.

    A peak limiter lets a sine through that just reaches it, so no mean level before an rms limiter is higher.
    """
    most = list(protection.ceilings)
    peak = strictest(protection, "peak") if limiter.watches == "rms" else None
    if peak is not None:
        most.append((peak.output_dbu, f"the peak limiter of {peak.output.key} acts"))
    return min(most, default=None)


def limiter_places(protection: ChannelProtection, limiter: SetLimiter, weakest: Weakest | None) -> tuple[Label, ...]:
    labels = []
    if weakest is not None:
        labels.append(Label(weakest.rating.span, f"{weakest.box.key} stands {weakest.rating.text}"))
        labels += declared([weakest.box])
    if not limiter.on_amplifier:
        labels.append(Label(protection.channel.output.span, f"it stands before {protection.channel.key}"))
    return tuple(labels)


def also_for(keys: list[str], protection: ChannelProtection) -> str:
    others = [key for key in keys if key != protection.channel.key]
    return f"; so it is for {few(others)}" if others else ""


def limiter_assumes(protection: ChannelProtection, limiter: SetLimiter, weakest: Weakest | None) -> tuple[str, ...]:
    notes = [] if limiter.worded else [_UNWORDED]
    if weakest is not None and weakest.assumed:
        notes.append(f"{weakest.assumed}; crest factor 2, IEC 60268-5, from memory")
    if protection.unrated and limiter.watches == "rms":
        notes.append(f"{protection.unrated[0]} has no continuous rating and is left out")
    return (*notes, *(() if limiter.on_amplifier else protection.channel.level_assumes))


def strictest(protection: ChannelProtection, watches: str) -> SetLimiter | None:
    found = [each for each in protection.limiters if each.watches == watches]
    return min(found, key=lambda each: each.output_dbu, default=None)


def told_as_over(figures: Figures, protection: ChannelProtection) -> bool:
    """Are its loudspeakers over their ratings at the feed's levels? Then that is the finding."""
    return protection.channel.key in over_ratings(figures)
