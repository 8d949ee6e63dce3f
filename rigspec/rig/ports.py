"""The ports of gear: what it is left and entered by, and in which table of settings each sort of port stands."""

from __future__ import annotations

from typing import assert_never

from rigspec.rig.model import Gear

PORT_TABLES = {
    "amp": "amp channel",
    "processor": "processor output",
    "panel": "panel line",
    "lead": "lead pair",
    "split": "panel line",
    "speaker": "way",
}
MOST_INPUTS = 26  # as many as there are letters


def ports_of(gear: Gear) -> list[str]:
    """The ports that a thing has, a loudspeaker its ways; the inputs of a processor are called otherwise."""
    match gear.word:
        case "speaker":
            return list(gear.ways)
        case "amp":
            count = gear.count("channels", 2)
        case "processor":
            count = gear.count("outputs", 2)
        case "split":
            count = gear.count("legs", 2)
        case "panel":
            count = gear.count("lines", 1)
        case "lead":
            count = gear.count("pairs", 1)
        case "mains":
            count = gear.count("outlets", 1)
        case "feed" | "mix" | "place" | "area":
            count = 0
        case _:
            assert_never(gear.word)
    return [str(number) for number in range(1, count + 1)]


def input_letters(gear: Gear) -> list[str]:
    """The inputs of a processor: a, b, c ..."""
    return [chr(ord("a") + number) for number in range(min(gear.count("inputs", 1), MOST_INPUTS))]
