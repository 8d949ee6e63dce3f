"""Why something is not known, so that nothing is concluded from it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import Enum

from rigspec.language.syntax import Block
from rigspec.language.words import SettingWord
from rigspec.text.finding import Finding


class Doubt(Enum):
    """What is not known of a thing, a kind, a name or a joint. Asked as `doubt`, which is None where nothing is."""

    FAULT = "its statement, its settings or those of its kind have a fault"
    BESIDE = "one of its settings has a fault, and its load does not rest on that one"
    KIND = "its kind is not known"
    LATER = "settings are made on it later that cannot be read, or on a name that nobody has and that may mean it"
    PARENT = "what feeds it with mains is not known"
    UNREAD = "a statement that cannot be read names it"
    MEANT = "a statement with a fault names it, or a name that nobody has may mean it"
    MISSING = "a file could not be had, so any name may be in it, and may be used there"
    WIRING = "it lies where a path has a fault"


_OF_ALL: tuple[SettingWord, ...] = (
    *("label", "weight", "height", "owned", "latency", "delay", "draw", "programme", "inrush", "leakage"),
    *("power-factor", "mains", "limit", "attack", "release", "high-pass", "low-pass"),
)
# Settings on which neither the wiring nor the load of a thing rests: with a slip in one, the load is judged as before.
BESIDE_LOAD: Mapping[str, tuple[SettingWord, ...]] = {
    "amp": (*_OF_ALL, "gain", "sensitivity", "attenuator", "input", "stage", "efficiency", "idle"),
    "speaker": (*_OF_ALL, "rated", "sensitivity", "band", "asks", "at", "aim"),
}


def of_faults(found: Iterable[Finding], block: Block | None, word: str) -> Doubt | None:
    """What faults in the statement of a thing leave in doubt: all of it, or only what does not bear on its load."""
    found = list(found)
    if not found:
        return None
    beside = [each.span for each in (block.settings if block else ()) if each.word in BESIDE_LOAD.get(word, ())]
    held = all(any(span.start <= each.span.start and each.span.end <= span.end for span in beside) for each in found)
    return Doubt.BESIDE if held else Doubt.FAULT


def graver(one: Doubt | None, other: Doubt | None) -> Doubt | None:
    """Of two doubts of a thing the one that leaves less to conclude; the first where they leave alike."""
    return other if one is None or (one is Doubt.BESIDE and other is not None) else one
