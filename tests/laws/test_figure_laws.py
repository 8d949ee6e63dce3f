"""From the text of a rig to its figures: loads, shares and polarities against those of the tree that made the text."""

from __future__ import annotations

from fractions import Fraction
from math import prod
from typing import TypeAlias

import pytest
from attrs import evolve
from checking import assert_same_figures, channel_figures, checked, laws
from hypothesis import given
from hypothesis import strategies as st
from model import Boxes, Chain, Cross, Join, Member, Rig, ohm_of, polarity, shares_of
from rigs import rigs

from rigspec.check import Report


def turned(report: Report) -> dict[str, list[tuple[str, bool]]]:
    """For every box the feeds that it plays and whether each is turned, as the checker followed them."""
    return {
        key: sorted((part.feed, (len(part.turns) + len(box.own_turns)) % 2 == 1) for part in box.parts)
        for key, box in report.figures.boxes.items()
    }


@given(rigs())
@laws(120)
def test_loads_and_shares_are_those_of_the_series_and_parallel_formulas_in_fractions(rig: Rig) -> None:
    worked = checked(rig.text).figures
    assert set(worked.channels) == {channel.key for channel in rig.channels}
    for channel in rig.channels:
        found, load = worked.channels[channel.key], ohm_of(channel.chain)
        assert load is not None
        assert found.load_ohm == pytest.approx(float(load), rel=1e-9)
        halves = channel.key.partition(".")[2].split("+")
        expected = {half: pytest.approx(float(load) / 2) for half in halves} if len(halves) == 2 else {}
        assert dict(found.halves) == expected
        shares = dict(shares_of(channel.chain))
        assert {box.key: box.share_volt for box in found.boxes} == pytest.approx(
            {key: float(share) for key, share in shares.items()}, rel=1e-9
        )


@given(rigs())
@laws(120)
def test_power_into_boxes_and_leads_is_the_power_out_of_the_amplifier(rig: Rig) -> None:
    worked = checked(rig.text).figures
    ohms = {member.key: member.ohm for channel in rig.channels for member in members(channel.chain)}
    for channel in worked.channels.values():
        if channel.rated_volt is None:  # below its least load an amplifier has no rated output
            continue
        into_boxes = sum((channel.rated_volt * box.share_volt) ** 2 / float(ohms[box.key]) for box in channel.boxes)
        into_leads = sum(lead.watt for lead in channel.leads if lead.watt is not None)
        assert into_boxes == pytest.approx(sum(box.rated_w or 0.0 for box in channel.boxes), rel=1e-9)
        assert into_boxes + into_leads == pytest.approx(channel.rated_volt**2 / channel.load_ohm, rel=1e-9)
        assert channel.rated_w == pytest.approx(into_boxes + into_leads, rel=1e-9)


def members(chain: Chain) -> list[Member]:
    found: list[Member] = []
    for hop in chain:
        if isinstance(hop, Boxes):
            found += hop.members
        elif isinstance(hop, Join):
            found += [member for branch in hop.branches for member in members(branch)]
    return found


@given(rigs())
@laws(120)
def test_polarity_is_the_count_of_turns_on_the_way(rig: Rig) -> None:
    assert turned(checked(rig.text)) == polarity(rig)


@given(rigs(), st.data())
@laws(80)
def test_one_more_crossing_turns_exactly_what_is_behind_it_and_two_turn_nothing(rig: Rig, data: st.DataObject) -> None:
    number = data.draw(st.integers(0, len(rig.channels) - 1))
    chain = rig.channels[number].chain
    at = data.draw(st.integers(0, len(chain) - 1))
    before = turned(checked(rig.text))
    once = turned(checked(rig.with_chain(number, (*chain[:at], Cross(), *chain[at:])).text))
    behind = {member.key for member in members(chain[at:])}
    assert once == {
        key: sorted((feed, sign ^ (key in behind)) for feed, sign in signs) for key, signs in before.items()
    }
    twice = rig.with_chain(number, (*chain[:at], Cross(), Cross(), *chain[at:]))
    assert turned(checked(twice.text)) == before
    assert_same_figures(channel_figures(checked(twice.text)), channel_figures(checked(rig.text)))


@given(rigs(), st.data())
@laws(60)
def test_a_crossing_before_an_input_turns_all_that_plays_from_it(rig: Rig, data: st.DataObject) -> None:
    fed = [number for number, channel in enumerate(rig.channels) if channel.fed]
    channel = rig.channels[data.draw(st.sampled_from(fed))]
    crossed = evolve(channel.run, hops=(*channel.run.hops, Cross()))
    playing = {each.key for each in rig.channels if each.run is channel.run}
    changed = [evolve(each, run=crossed) if each.key in playing else each for each in rig.channels]
    after = turned(checked(evolve(rig, channels=tuple(changed)).text))
    behind = {member.key for each in rig.channels if each.key in playing for member in members(each.chain)}
    for key, signs in turned(checked(rig.text)).items():
        assert after[key] == sorted((feed, sign ^ (key in behind)) for feed, sign in signs)


@given(rigs())
@laws(60)
def test_an_unrelated_amplifier_changes_no_other_channels_figures(rig: Rig) -> None:
    other = (
        "stock amp stranger-2 { channels 2; rated 300 W at 4 ohm; gain 26 dB }\namp stranger is stranger-2\n"
        "stock speaker strange-box { impedance 4 ohm }\nspeaker strange[1..2] is strange-box\nfeed strange_send\n"
        "strange_send -> stranger.1 -> lead 2.5 mm2 15 m -> strange[1..2] linked 2.5 mm2 2 m\n"
    )
    before, after = channel_figures(checked(rig.text)), channel_figures(checked(rig.text + other))
    strange = {"stranger.1", "box strange[1]", "box strange[2]"}
    assert set(after) == set(before) | strange
    assert_same_figures({key: after[key] for key in before}, before)


# ---- the plain laws, said in rigs of a few lines ---------------------------------------------------------------------

OHMS = st.integers(20, 640).map(lambda tenths: Fraction(tenths, 10))


def load_of(boxes: list[Fraction], way: str) -> float:
    """The load that a channel sees through ``way`` with these boxes, called b1, b2 ... in it."""
    kinds = "".join(
        f"stock speaker k{n} {{ impedance {float(ohm):.12g} ohm }}\nspeaker b{n} is k{n}\n"
        for n, ohm in enumerate(boxes, 1)
    )
    text = f"stock amp a {{ channels 1; rated 900 W at 4 ohm }}\namp x is a\n{kinds}x -> {way}\n"
    return checked(text).figures.channels["x.1"].load_ohm


@given(st.lists(OHMS, min_size=1, max_size=8))
@laws(60)
def test_in_series_ohms_add_in_parallel_siemens_add(boxes: list[Fraction]) -> None:
    names = [f"b{n}" for n in range(1, len(boxes) + 1)]
    lead = "lead 2.5 mm2 0 m"
    side_by_side = 1 / sum(1 / ohm for ohm in boxes)
    assert load_of(boxes, f"{lead} -> series({', '.join(names)})") == pytest.approx(float(sum(boxes)))
    assert load_of(boxes, f"parallel({', '.join(f'{lead} -> {n}' for n in names)})") == pytest.approx(
        float(side_by_side)
    )
    assert load_of(boxes, f" -> {lead} -> ".join(names)) == pytest.approx(float(side_by_side))
    assert load_of(boxes, f"series({', '.join(f'parallel({n})' for n in names)})") == pytest.approx(float(sum(boxes)))


Nest: TypeAlias = "Fraction | tuple[str, list[Nest]]"
NESTS = st.recursive(
    OHMS,
    lambda inner: st.tuples(st.sampled_from(["series", "parallel"]), st.lists(inner, min_size=1, max_size=3)),
    max_leaves=9,
)


def told(nest: Nest, boxes: list[Fraction]) -> tuple[str, Fraction]:
    """A nest of joins in words, and its impedance; its boxes are added to ``boxes``."""
    if isinstance(nest, Fraction):
        boxes.append(nest)
        return f"b{len(boxes)}", nest
    word, inner = nest
    words, ohms = zip(*(told(each, boxes) for each in inner), strict=True)
    return f"{word}({', '.join(words)})", sum(ohms) if word == "series" else 1 / sum(1 / ohm for ohm in ohms)


@given(NESTS)
@laws(120)
def test_series_and_parallel_nest_to_any_depth_without_a_lead_between(nest: Nest) -> None:
    boxes: list[Fraction] = []
    way, ohm = told(nest, boxes)
    assert load_of(boxes, way) == pytest.approx(float(ohm))


@given(OHMS, st.integers(1, 40))
@laws(60)
def test_equal_boxes_linked_without_length_divide_the_load(ohm: Fraction, count: int) -> None:
    text = (
        f"stock speaker k {{ impedance {float(ohm):.12g} ohm }}\nspeaker b[1..{count}] is k\n"
        "stock amp a { channels 2; rated 900 W at 4 ohm }\namp x is a\nx.1 -> b[*] linked 2.5 mm2 0 m\n"
    )
    assert checked(text).figures.channels["x.1"].load_ohm == pytest.approx(float(ohm / count))


@given(st.lists(st.integers(0, 5), min_size=1, max_size=6))
@laws(40)
def test_inverting_twice_is_not_inverting(crossings: list[int]) -> None:
    way = " -> ".join(f"{'invert -> ' * count}lead 2.5 mm2 1 m -> b{n}" for n, count in enumerate(crossings))
    boxes = "".join(f"speaker b{n} is k\n" for n in range(len(crossings)))
    gear = f"feed f\nstock speaker k {{ impedance 8 ohm }}\n{boxes}stock amp a {{ channels 2 }}\namp x is a\n"
    report = checked(f"{gear}f -> x.1 -> {way}\n")
    signs = [prod((-1) ** count for count in crossings[: n + 1]) for n in range(len(crossings))]
    assert turned(report) == {f"b{n}": [("f", sign < 0)] for n, sign in enumerate(signs)}
