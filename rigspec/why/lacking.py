"""Why a figure is not there: nobody computes it, it is a figure of other things, or the rig does not say enough."""

from __future__ import annotations

from rigspec.figures import Figures
from rigspec.figures.crossovers import crossover_of
from rigspec.rig.model import Gear
from rigspec.why import DERIVED

BAND_FIGURES = ("low-edge", "high-edge", "attenuation", "crossover")


def why_lacking(figures: Figures, word: str, key: str, name: str) -> str:
    """In words why a thing has no figure of this word; ``name`` is the thing's own, without a port."""
    gear = figures.rig.gear.get(name)
    if key in figures.unknown:
        return figures.unknown[key]
    if gear is not None and gear.word == "place":
        return f"this version computes no {word} at a place"
    of_channel, of_box = key in figures.channels, key in figures.boxes
    if word in ("power", "voltage") and (of_channel or (of_box and word == "power")):
        amplifier = (figures.channels.get(key) or figures.channels[figures.boxes[key].channel]).gear
        return f"no `rated` power of {amplifier.full} at this load is given"
    if word in ("damping", "source") and (of_channel or of_box):
        return _no_damping(figures, word, key)
    if word in ("level", "headroom", "clip-level") and of_channel:
        return _no_level(figures, word, key)
    if word in BAND_FIGURES and key in figures.bands.boxes:
        return _band_unknown(figures, word, key)
    return _other_sort(figures, word, key, gear)


def of_its_sort(word: str, key: str, gear: Gear) -> bool:
    """Is this a figure that a loudspeaker or an amplifier's channel like this one has, once it is connected?"""
    sort = {"speaker": "loudspeaker", "amp": "amplifier"}.get(gear.word)
    whole = not gear.ways and gear.word != "amp"
    return sort is not None and whole == (key == gear.full) and any(sort in each.of for each in DERIVED.get(word, ()))


def _no_damping(figures: Figures, word: str, key: str) -> str:
    box = figures.boxes.get(key)
    channel = figures.channels.get(key) or figures.channels[figures.boxes[key].channel]
    if channel.source_ohm is None:
        return f"no `damping` of {channel.gear.full} is given"
    if box is None:
        return f"damping is a figure of a loudspeaker, and {key} is a channel"
    return f"{key} hangs in series with others, and they damp it by their own impedance"


def _no_level(figures: Figures, word: str, key: str) -> str:
    """What the rig does not say although a level of a channel rests on it."""
    channel = figures.channels[key]
    if not channel.parts:
        return f"no feed reaches {key}"
    gear = figures.rig.gear
    feeds = [part.feed for part in channel.parts if gear[part.feed].measure("level", "level") is None]
    unknown = [
        part.unknown or f"a gain on the way to {key} is not known" for part in channel.parts if part.gain_db is None
    ]
    if feeds:
        return f"no `level` of {' and '.join(dict.fromkeys(feeds))} is given"
    if unknown:
        return unknown[0]
    if word != "level" and channel.input_dbu is not None:
        return f"nothing on the way to {key} is known to clip, or limiters never let it"
    return f"the feeds of {key} cancel each other, and nothing is left of them"


def _unconnected(figures: Figures, key: str, gear: Gear) -> str:
    run, sink = figures.trace.runs.get(key), figures.rig.wiring.sinks.get(key)
    doubt = figures.rig.doubt_of(gear) or (run and run.doubt)
    if doubt or (gear.word == "speaker" and sink is not None and sink.joint in figures.trace.doubtful):
        return "a fault on the way leaves it unknown"
    if key in figures.trace.arrivals:
        return f"the load that {key} is a part of is not known"
    return f"no path leads to {key}" if gear.word == "speaker" else f"no loudspeaker hangs on {key}"


def _other_sort(figures: Figures, word: str, key: str, gear: Gear | None) -> str:
    of_word = list(dict.fromkeys(derived.of for derived in DERIVED.get(word, ())))
    if not of_word:
        return f"this version computes no {word}"
    sorts = {each.of for all_of in DERIVED.values() for each in all_of if each.make(figures, key) is not None}
    if sorts & set(of_word):
        return "the rig and its stock do not say all that it rests on"
    if gear is not None and of_its_sort(word, key, gear):
        return _unconnected(figures, key, gear)
    if word == "difference":
        return "a difference is between two things or more, or in a group"
    return f"{key} has no {word}: that is a figure of {' or '.join(of_word)}"


def _band_unknown(figures: Figures, what: str, key: str) -> str:
    """Why one of these figures of a loudspeaker is not known."""
    band = figures.bands.boxes.get(key)
    if band is None or not band.parts:
        return f"no feed reaches {key}"
    filters = [each for part in band.parts for each in part.filters]
    unsaid = next((each for each in filters if each.made is None), None)
    if what == "crossover":
        own = crossover_of(figures.bands.crossovers, figures.bands.boxes, key)
        return own.unjudged if own else f"no band that ends where that of {key} begins is known"
    if unsaid is not None:
        return f"the {unsaid.word} of {unsaid.key} has no slope that can be computed"
    if what == "attenuation":
        given = band.own is not None and band.own.low > 0
        return f"a fault on the way to {key} leaves it unknown" if given else f"no `band` of {key} is given"
    return f"nothing bounds what reaches {key} {'from below' if what == 'low-edge' else 'from above'}"
