"""Pairs of rigs made by a known edit: what is cosmetic, and what the crew has to do. It shares only the parser."""

from __future__ import annotations

import re
from pathlib import Path
from random import Random

from attrs import frozen

from rigspec.language.reader import parse
from rigspec.language.syntax import Path as SignalPath
from rigspec.language.syntax import Thing
from rigspec.text.source import Source

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.rig"))
_LEAD = re.compile(r"lead (\d+(?:\.\d+)? mm2) (\d+(?:\.\d+)?) m\b")


@frozen
class Edit:
    """A text and what was done to it: the verb that must be told, and words that must stand behind it."""

    text: str
    verb: str
    words: tuple[str, ...] = ()


def cosmetic(text: str, random: Random) -> str:
    """The same rig: things renamed, statements in another order, lengths in centimetres, comments."""
    text = _renamed(text, random)
    source = Source("", text)
    statements = [text[each.start : each.tokens[-1].end] for each in parse(source).statements]
    random.shuffle(statements)
    said = "\n# moved\n".join(statements) + "\n"
    return _LEAD.sub(lambda found: f"lead {found[1]} {float(found[2]) * 100:g} cm", said)


def _renamed(text: str, random: Random) -> str:
    """Some of the things called otherwise, wherever their names stand as names."""
    statements = parse(Source("", text)).statements
    names = {each.node.name for each in statements if isinstance(each.node, Thing)}
    chosen = set(random.sample(sorted(names), random.randint(1, len(names))))
    parts, at = [], 0
    for token in (token for each in statements for token in each.tokens):
        if token.kind == "NAME" and token.text in chosen:
            parts += [text[at : token.start], f"{token.text}_too"]
            at = token.end
    return "".join(parts) + text[at:]


def physical(text: str, random: Random) -> Edit | None:
    """One thing done to one path, or to one setting; None where there is no place for it."""
    how = random.choice((_longer, _crossed, _stouter, _turned_down, _moved))
    return how(text, random)


def _paths(text: str) -> list[tuple[int, int]]:
    """Loudspeaker and signal paths that are single: not `each`, no rows as a whole but linked ones."""
    return [
        (each.start, each.tokens[-1].end)
        for each in parse(Source("", text)).statements
        if isinstance(each.node, SignalPath) and not text[each.start :].startswith("each")
    ]


def _in_a_path(text: str, random: Random) -> re.Match[str] | None:
    """A lead of a path, but the first of those that are spoken of by `linked`."""
    found = [
        match
        for start, end in _paths(text)
        for match in _LEAD.finditer(text, start, end)
        if ".." not in text[start : match.start()].rpartition("->")[0]
    ]
    return random.choice(found) if found else None


def _longer(text: str, random: Random) -> Edit | None:
    lead = _in_a_path(text, random)
    if lead is None:
        return None
    longer = f"{float(lead[2]) + 3:g}"
    new = f"{text[: lead.start()]}lead {lead[1]} {longer} m{text[lead.end() :]}"
    return Edit(new, "replace", (f"{float(lead[2]):g} m by", f"{longer} m"))


def _stouter(text: str, random: Random) -> Edit | None:
    lead = _in_a_path(text, random)
    if lead is None:
        return None
    return Edit(f"{text[: lead.start()]}lead 10 mm2 {lead[2]} m{text[lead.end() :]}", "replace", (lead[1], "10 mm2"))


def _crossed(text: str, random: Random) -> Edit | None:
    lead = _in_a_path(text, random)
    if lead is None or "invert" in text[lead.end() : lead.end() + 14]:
        return None
    return Edit(f"{text[: lead.end()]} -> invert{text[lead.end() :]}", "cross", ("->",))


def _turned_down(text: str, random: Random) -> Edit | None:
    found = list(re.finditer(r"attenuator -(\d+) dB", text))
    if not found:
        return None
    match = random.choice(found)
    return Edit(f"{text[: match.start()]}attenuator -3 dB{text[match.end() :]}", "set", (f"-{match[1]} dB -> -3 dB",))


def _moved(text: str, random: Random) -> Edit | None:
    """The last loudspeakers of two paths exchanged, where both are single and of one size of lead."""
    ends = []
    for start, end in _paths(text):
        last = re.search(r"-> lead [\d.]+ mm2 [\d.]+ m -> ([a-z_]+(?:\[\d+\])?)$", text[start:end])
        if last is not None:
            ends.append((start + last.start(1), start + last.end(1), text[start : start + last.start(1)]))
    if len(ends) < 2:
        return None
    (a, b, one), (c, d, other) = sorted(random.sample(ends, 2))
    if text[a:b] == text[c:d] or one.split() == other.split():
        return None
    new = text[:a] + text[c:d] + text[b:c] + text[a:b] + text[d:]
    return Edit(new, "unplug", ("plug it into",))
