"""Channel settings: what is turned, switched and typed in at amplifiers, processors and loudspeakers."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures.protection import ChannelProtection
from rigspec.figures.signal import amplifier_gain_db
from rigspec.language.words import SettingWord
from rigspec.rig.model import Facts, Gear, Output, delay_s, one
from rigspec.sheets.basis import UNSAID, Basis
from rigspec.sheets.leads import texts
from rigspec.sheets.sheet import TICK, Cell, Row, Sheet, SheetMark, Table, filled
from rigspec.text.units import show

OUTPUTS = ("output", "label", "takes", "high-pass", "low-pass", "gain", "delay", "polarity", "limiter", "times", "done")
AMPS = ("channel", "label", "mode", "control", "gain (dB)", "filters", "polarity", "limiter", "times", "done")
MIXES = ("mix", "sum of")
FEEDS = ("feed", "nominal", "peak", "source impedance", "band", "polarity")
SPLITS = ("split", "label", "how", "legs", "loss", "input impedance", "source impedance", "polarity")
BOXES = ("loudspeaker", "set", "done")
OTHERS = ("thing", "of kind", "set in the rig")


def sheet(basis: Basis) -> Sheet:
    """The channel settings."""
    gears = basis.figures.rig.gear.values()
    tables = (
        Table("feeds", "Feeds, as they come", FEEDS, tuple(_feed(gear) for gear in gears if gear.word == "feed")),
        Table("mixes", "Mixes: sums that some gear has to make", MIXES, tuple(_mixes(basis))),
        Table("splits", "Splits", SPLITS, tuple(_split(gear) for gear in gears if gear.word == "split")),
        Table("processors", "Processor outputs", OUTPUTS, tuple(_outputs(basis))),
        Table("amps", "Amplifier channels", AMPS, tuple(_channels(basis))),
        Table("boxes", "At the loudspeakers", BOXES, tuple(_boxes(basis))),
        Table("others", "What the rig says otherwise than the stock", OTHERS, tuple(_others(basis))),
    )
    notes = [
        "Control is the gain control of the channel; gain is that of the whole channel with it.",
        "Limiter: rms holds the mean, peak holds peaks, as the level of the sine that has them.",
        "PROPOSED thresholds are set nowhere in the rig: there the weakest loudspeaker behind reaches its rating."
        " Proposed times, attack/release: by the band, common practice, no source.",
        "Delays in metres are at 343.2 m/s.",
    ]
    cautions = ("Set all of this with the loudspeakers unplugged or the amplifiers off.",)
    intro = "Settings of the rig; where it says nothing, leave the gear flat, without delay and not inverted."
    return Sheet("channels", "Channel settings", intro, filled(tables), tuple(notes), cautions)


def said(facts: Facts, word: SettingWord) -> str:
    """What a setting says behind its word, as it was written."""
    given = facts.get(word)
    return " ".join(given.span.text.split()).removeprefix(word).strip() if given else ""


def _feed(gear: Gear) -> Row:
    facts = gear.facts
    told = [said(facts, word) or UNSAID for word in ("level", "peak", "source", "band")]
    return gear.full, *told, _polarity("inverted" in facts)


def _split(gear: Gear) -> Row:
    facts = gear.facts
    how = next((word for word in ("passive", "transformer", "active") if word in facts), UNSAID)
    told = [said(facts, word) or UNSAID for word in ("loss", "input", "source")]
    label = " ".join(texts(gear, "label"))
    return gear.full, label, how, gear.count("legs", 2), *told, _polarity("inverted" in facts)


def _mixes(basis: Basis) -> Iterable[Row]:
    for roster in basis.figures.rig.rosters_of("mix"):
        parts = [
            f"{part.name}{'.' if part.port else ''}{part.port} {show(part.gain_db, 'gain') if part.gain_db else ''}"
            for part in roster.parts
        ]
        yield roster.name, ", ".join(each.strip() for each in parts)


def _polarity(inverted: bool) -> Cell:
    return SheetMark("INVERTED") if inverted else "normal"


# ---- processors -----------------------------------------------------------------------------------------------------


def _outputs(basis: Basis) -> Iterable[Row]:
    spare = spares(basis)
    for gear in basis.figures.rig.gear.values():
        if gear.word != "processor":
            continue
        for number in range(1, gear.count("outputs", 0) + 1):
            port = str(number)
            facts, key = gear.ports.get(port, {}), f"{gear.full}.{port}"
            if key in spare or key not in basis.figures.rig.wiring.outputs:
                if facts:
                    yield (key, *texts_of(facts), "spare", *_processing(facts), "", "", TICK)
                continue
            limiter, times = _output_limit(basis, key, facts)
            processing = _processing(facts, said(gear.facts, "gain"))
            yield key, *texts_of(facts), _takes(basis, key), *processing, limiter, times, TICK


def texts_of(facts: Facts) -> tuple[str]:
    """The label that a port's settings give it."""
    given = facts.get("label")
    return (" ".join(text for each in given.entries for text in each.texts) if given else "",)


def _processing(facts: Facts, whole: str = "") -> tuple[Cell, ...]:
    polarity = SheetMark("OFF (muted)") if "muted" in facts else _polarity("inverted" in facts)
    gain = said(facts, "gain")
    if whole:
        gain = f"{gain or 'none'}, and {whole} of the whole processor"
    return said(facts, "high-pass"), said(facts, "low-pass"), gain, _delay(facts), polarity


def _delay(facts: Facts) -> str:
    given = one(facts, "delay", "time") or one(facts, "delay", "length")
    if given is None:
        return ""
    shown = show(delay_s(given), "time")
    return shown if given.kind == "time" else f"{shown} ({given.text})"


def _takes(basis: Basis, key: str) -> str:
    output = basis.figures.rig.wiring.outputs[key]
    inputs = basis.figures.signals.inputs(output)
    return ", ".join(f"{name.rpartition('.')[2]} {show(gain, 'gain') if gain else ''}".strip() for name, gain in inputs)


def _output_limit(basis: Basis, key: str, facts: Facts) -> tuple[Cell, str]:
    if "limit" in facts:
        return said(facts, "limit"), _times_said(facts)
    found = basis.figures.protection.outputs.get(key)
    powered = [
        each
        for each in basis.figures.protection.powered.values()
        if each.points[:1] and each.points[0].output.key == key
    ]
    if found is None and powered:
        levels = [each.at_point_dbu for each in powered if each.at_point_dbu is not None]
        return (f"PROPOSED: peak {show(min(levels), 'level')}" if levels else ""), ""
    if found is None:
        return "", ""
    proposed = []
    for watches, channel in (("rms", found.rms), ("peak", found.peak)):
        dbu = channel.at_point_dbu(watches) if channel else None
        if dbu is not None:
            proposed.append(f"{watches} {show(dbu, 'level')}")
    strictest = found.rms or found.peak
    return _proposed(proposed), _times(strictest) if strictest and proposed else ""


def _proposed(levels: list[str]) -> str:
    return f"PROPOSED: {', '.join(levels)}" if levels else ""


def _times(protection: ChannelProtection) -> str:
    times = protection.times
    return "" if times is None else f"{show(times.attack_s, 'time')} / {show(times.release_s, 'time')}"


def _times_said(facts: Facts) -> str:
    found = [said(facts, "attack"), said(facts, "release")]
    return " / ".join(each or "not said" for each in found) if any(found) else "not said"


# ---- amplifiers -----------------------------------------------------------------------------------------------------


def spares(basis: Basis) -> set[str]:
    """The names of things and ports that are spares."""
    parts = [part for roster in basis.figures.rig.rosters_of("spare") for part in roster.parts]
    return {part.key for part in parts}


def _channels(basis: Basis) -> Iterable[Row]:
    spare = spares(basis)
    for gear in basis.figures.rig.gear.values():
        if gear.word != "amp":
            continue
        for number in range(1, gear.count("channels", 1) + 1):
            port, key = str(number), f"{gear.full}.{number}"
            facts = {**gear.facts, **gear.ports.get(port, {})}
            if key in spare or gear.full in spare:
                yield key, "", "spare: control closed", "", "", "", "", "", "", TICK
                continue
            db, _ = amplifier_gain_db(gear, port)
            turned = "inverted" in gear.ports.get(port, {})
            polarity: Cell = SheetMark("OFF (muted)") if "muted" in facts else _polarity(turned)
            filters = ", ".join(f"{word} {said(facts, word)}" for word in ("high-pass", "low-pass") if word in facts)
            limiter, times = _channel_limit(basis, gear, port, facts)
            label = texts_of(gear.ports.get(port, {}))[0] or " ".join(texts(gear, "label"))
            control = said(facts, "attenuator") or "not said"
            gain: Cell = "not known" if db is None else round(db, 2)
            yield key, label, _mode(basis, gear, number), control, gain, filters, polarity, limiter, times, TICK


def _mode(basis: Basis, gear: Gear, number: int) -> Cell:
    for word in ("bridge", "joined"):
        given = gear.facts.get(word)
        for first, second in [pair for each in (given.entries if given else ()) for pair in each.pairs]:
            if number not in (first, second):
                continue
            pair = f"{first}+{second}"
            if word == "joined":
                return f"input switch {pair}: " + ("its own input" if number == first else f"takes input {first}")
            bridged = f"{gear.full}.{pair}" in basis.figures.rig.wiring.outputs
            load = "one load between the hot poles" if bridged else "one load on each channel"
            return SheetMark(f"BRIDGE {pair}") if number == first and bridged else f"bridge switch {pair}: {load}"
    pair = next((each.port for each in _bridged(basis, gear) if str(number) in each.halves), "")
    return SheetMark(f"BRIDGE {pair}") if pair else "its own input"


def bridges(basis: Basis) -> list[str]:
    """The bridged pairs that drive something."""
    return [key for key, output in basis.figures.rig.wiring.outputs.items() if output.bridged]


def _bridged(basis: Basis, gear: Gear) -> list[Output]:
    outputs = basis.figures.rig.wiring.outputs.values()
    return [output for output in outputs if output.gear is gear and output.bridged]


def _channel_limit(basis: Basis, gear: Gear, port: str, facts: Facts) -> tuple[Cell, str]:
    if "limit" in facts:
        return said(facts, "limit"), _times_said(facts)
    key = next((each.key for each in _bridged(basis, gear) if port == each.first), "")
    protection = basis.figures.protection.channels.get(key or f"{gear.full}.{port}")
    if protection is None:
        return "", ""
    if protection.points:
        return f"at {protection.points[0].output.key}", ""
    levels = [
        f"{watches} {show(dbu, 'level')}"
        for watches in ("rms", "peak")
        if (dbu := protection.at_input_dbu(watches)) is not None
    ]
    return _proposed(levels), _times(protection) if levels else ""


# ---- loudspeakers ---------------------------------------------------------------------------------------------------


def _boxes(basis: Basis) -> Iterable[Row]:
    for gear in basis.figures.rig.gear.values():
        if gear.word != "speaker":
            continue
        tap = gear.measure("tap", "power")
        if tap is not None:
            yield gear.full, f"tap {tap.text} ({said(gear.facts, 'taps')})", TICK
        elif gear.says("taps"):
            yield gear.full, SheetMark("NO TAP SAID"), TICK
        if gear.says("powered"):
            drive = said(gear.facts, "drive")
            yield gear.full, f"input control so that {drive or 'a level nobody says'} gives its full output", TICK


# ---- whatever else --------------------------------------------------------------------------------------------------

TOLD = {
    "amp": {"bridge", "joined", "attenuator", "high-pass", "low-pass", "limit", "attack", "release", "label"},
    "processor": {"gain", "label"},
    "speaker": {"at", "aim", "tap", "label"},
    "lead": {"ends", "label", "size", "length", "connectors", "pairs", "inverted"},
    "panel": {"label"},
}
"""Settings of things that stand elsewhere on the sheets."""


def _others(basis: Basis) -> Iterable[Row]:
    """What a thing is set to in its braces and no other table tells: then its kind is not all there is to say."""
    for gear in basis.figures.rig.gear.values():
        told = TOLD.get(gear.word)
        if told is None:
            continue
        kind = gear.kind.facts if gear.kind else {}
        own = [each for word, each in gear.facts.items() if word not in told and kind.get(word) is not each]
        words = [" ".join(each.span.text.split()) for each in own]
        if gear.word == "amp":
            words += [
                f"channel {port}: gain {said(facts, 'gain')}" for port, facts in gear.ports.items() if "gain" in facts
            ]
        if gear.word == "panel":
            words += [f"line {port} CROSSED inside" for port, facts in gear.ports.items() if "inverted" in facts]
        if words:
            yield gear.full, gear.kind.name if gear.kind else "none", "; ".join(words)
