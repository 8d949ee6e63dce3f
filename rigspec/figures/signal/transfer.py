"""What each sort of gear, and each way from one to the next, does to a signal."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from rigspec.figures.signal.amplifier import amplifier_gain, switched_input
from rigspec.figures.signal.feeds import Feeds
from rigspec.figures.signal.filters import filters_set
from rigspec.figures.signal.limits import held, limits_said
from rigspec.figures.signal.loading import Loading
from rigspec.figures.signal.part import Contribution, louder
from rigspec.figures.trace import Arrival, Turn
from rigspec.rig.model import Facts, Gear, Output, delay_s, inversion, one
from rigspec.solve.decibel import ratio_to_gain

BRIDGE_DB = ratio_to_gain(2.0)  # twice the voltage between the two hot poles


def behind_way(arrival: Arrival, parts: tuple[Contribution, ...], loading: Loading | None) -> tuple[Contribution, ...]:
    """The signal of an output behind its way to a sink; ``loading`` is None where the output is one of power."""
    gain_db, note = arrival.gain_db, ""
    if loading is not None:
        gain_db, note = gain_db - loading.loss_db, loading.note
    parts = tuple(louder(part, gain_db, arrival.turns) for part in parts)
    if not note and not arrival.delay_s:
        return parts
    return tuple(
        evolve(
            part,
            delay_s=part.delay_s + arrival.delay_s,
            assumes=(*part.assumes, note) if note and note not in part.assumes else part.assumes,
        )
        for part in parts
    )


def of_feed(gear: Gear) -> tuple[Contribution, ...]:
    band = gear.measure("band", "frequency")
    turns = _turned_by(gear.facts, f"the feed {gear.full} comes inverted")
    low, high = (band.low, band.high) if band else (None, None)
    part = Contribution(gear.full, turns, 0.0, 0.0, low, high, own_low_hz=low, own_high_hz=high)
    return _filtered((part,), gear.facts, gear.full)  # what the desk does to it


def inside_powered(gear: Gear, parts: tuple[Contribution, ...]) -> tuple[Contribution, ...]:
    """The signal behind the filters and the delay of a powered loudspeaker."""
    return _later(_filtered(parts, gear.facts, gear.full), gear)


def of_mix(arriving: tuple[tuple[tuple[Contribution, ...], float], ...]) -> tuple[Contribution, ...]:
    """Signals added up, each with its gain."""
    return tuple(louder(part, gain_db) for parts, gain_db in arriving for part in parts)


def behind_split(output: Output, parts: tuple[Contribution, ...]) -> tuple[Contribution, ...]:
    loss = output.gear.measure("loss", "gain")
    gain_db = -abs(loss.value) if loss else 0.0
    turns = _port_turns(output.gear, output.port, "this leg is inverted")
    return tuple(louder(part, gain_db, turns) for part in parts)


def behind_processor(
    output: Output, arriving: tuple[tuple[tuple[Contribution, ...], float], ...], feeds: Feeds
) -> tuple[Contribution, ...]:
    """The signal at an output, from those at the inputs that it takes, each with the gain that it gives this one."""
    gear, port = output.gear, output.port
    facts = gear.ports.get(port, {})
    own = one(facts, "gain", "gain")
    whole = gear.measure("gain", "gain")
    gain_db = (own.value if own else 0.0) + (whole.value if whole else 0.0)
    turns = _turned_by(facts, f"output {gear.full}.{port} is switched inverted")
    parts = [louder(part, gain_db + add, turns) for at_input, add in arriving for part in at_input]
    return _limited(_later(_filtered(parts, facts, output.key), gear), facts, output.key, 0.0, feeds)


def behind_amplifier(output: Output, arriving: tuple[Contribution, ...], feeds: Feeds) -> tuple[Contribution, ...]:
    """The signal at a channel or a bridged pair."""
    gear, halves = output.gear, output.halves
    channel = halves[0]
    turns: tuple[Turn, ...] = ()
    if len(halves) == 2:
        if channel != output.first:
            turns += (Turn(gear.span, f"the plus pole is channel {channel}, which a bridge inverts"),)
    else:
        turns += switched_input(gear, channel)[1]
    facts = {**gear.facts, **gear.ports.get(channel, {})}
    turns += _port_turns(gear, channel, "this channel is inverted")
    gain = amplifier_gain(gear, channel)
    gain_db = gain.db if gain.db is None or len(halves) < 2 else gain.db + BRIDGE_DB
    parts = tuple(louder(part, gain_db, turns, gain.unknown) for part in arriving)
    parts = _later(_filtered(parts, facts, output.key), gear)
    if gain.assumes:
        parts = tuple(evolve(part, assumes=(*part.assumes, gain.assumes)) for part in parts)
    return parts if gain_db is None else _limited(parts, facts, output.key, gain_db, feeds)


def _limited(
    parts: tuple[Contribution, ...], facts: Facts, key: str, offset_db: float, feeds: Feeds
) -> tuple[Contribution, ...]:
    """The parts behind the limiters of an output or a channel; ``offset_db`` is the gain of a channel."""
    if "limit" not in facts:
        return parts
    for limit in limits_said(facts, offset_db):
        parts = held(parts, limit, key, offset_db, feeds.level(parts), feeds.level(parts, "peak"))
    return parts


def _later(parts: tuple[Contribution, ...], gear: Gear) -> tuple[Contribution, ...]:
    """The parts behind gear that takes time of its own."""
    latency = gear.measure("latency", "time")
    if latency is None:
        return parts
    return tuple(evolve(part, latency_s=part.latency_s + latency.value) for part in parts)


def _port_turns(gear: Gear, port: str, text: str) -> tuple[Turn, ...]:
    turns = []
    given = inversion(gear.facts, port)
    if given is not None:
        turns.append(Turn(given.span, f"{text}: {gear.full}.{port}"))
    own = gear.ports.get(port, {}).get("inverted")
    if own is not None:
        turns.append(Turn(own.span, f"{text}: {gear.full}.{port}"))
    return tuple(turns)


def _turned_by(facts: Facts, text: str) -> tuple[Turn, ...]:
    given = facts.get("inverted")
    return () if given is None else (Turn(given.span, text),)


def _filtered(parts: Sequence[Contribution], facts: Facts, key: str) -> tuple[Contribution, ...]:
    """The parts behind the filters and the delay of an output or a channel."""
    passed = filters_set(facts, key)
    delay = one(facts, "delay", "time") or one(facts, "delay", "length")
    if not passed and delay is None:
        return tuple(parts)
    late_s = delay_s(delay) if delay else 0.0
    lows = [each.corner.value for each in passed if each.high_pass]
    highs = [each.corner.value for each in passed if not each.high_pass]
    return tuple(
        evolve(
            part,
            low_hz=max((hz for hz in (part.low_hz, *lows) if hz is not None), default=None),
            high_hz=min((hz for hz in (part.high_hz, *highs) if hz is not None), default=None),
            delay_s=part.delay_s + late_s,
            filters=part.filters + passed,
        )
        for part in parts
    )
