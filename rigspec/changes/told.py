"""Changes in words: for a crew at a terminal, as Markdown for a review, as JSON for programs."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence

from rigspec.changes.changes import Changes
from rigspec.changes.crew import Act
from rigspec.show.cells import prose, wrap
from rigspec.text.finding import Finding, few

WIDTH = 100
VERSION = 1  # a key that changes its meaning or goes raises it, a new key does not
HEAD = 9  # cells for the verb
MOST = 6  # alike things that are named
_NUMBER = re.compile(r"\[\d+\]|\d+")
CAUTION = "Plug and unplug loudspeakers with the amplifiers off."

TITLES = {"do": "For the crew", "set": "Settings", "pack": "Pack list", "figures": "Figures", "findings": "Findings"}
Line = tuple[str, str]
"""A verb and what it is done to."""


def lines(found: Changes) -> list[tuple[str, list[Line]]]:
    """All that is told, by section, alike things once."""
    sections = [
        ("do", [(act.verb, text) for act, text in _folded(found.acts)]),
        ("set", [(sort, text) for sort, text in _settings(found)]),
        ("pack", [("pack", text) for text in _pack(found)]),
        ("figures", list(_figures(found))),
        ("findings", list(_findings(found))),
    ]
    return [(title, each) for title, each in sections if each]


def changes_text(found: Changes) -> str:
    """For people, 100 cells wide."""
    told = [_wrapped(verb, text) for _, each in lines(found) for verb, text in each]
    if not told:
        return "No change: nothing to do, the same figures, the same findings.\n"
    if found.acts:
        told.append(f"{CAUTION}\n")
    return "".join(told) + _line(f"{found.category.word}: {_why(found)}")


def changes_markdown(found: Changes) -> str:
    """For a review: a heading, a list for each section."""
    parts = [f"### {_code(found.new)}: {found.category.word}\n\n{_why(found)}\n"]
    for title, each in lines(found):
        parts.append(f"**{TITLES[title]}**\n\n" + "".join(f"- {verb} {_plain(text)}\n" for verb, text in each))
    return "\n".join(parts)


def changes_json(found: Changes) -> str:
    """Everything, one entry for each thing."""
    document = {
        "format": "rigspec-changes",
        "version": VERSION,
        "old": found.old,
        "new": found.new,
        "category": found.category.word,
        "do": [{"verb": act.verb, "text": act.text} for act in found.acts],
        "settings": [
            {"sort": each.sort, "of": each.of, "setting": each.word, "was": each.was, "now": each.now}
            for each in found.dialled
        ],
        "pack": found.pack,
        "figures": [
            {"figure": each.row, "was": each.was.text, "now": each.now.text, "better": each.better}
            for each in found.shifts
        ],
        "gone": [_finding(each) for each in found.gone],
        "new_findings": [_finding(each) for each in found.come],
    }
    return json.dumps(document, indent=2, ensure_ascii=False, default=str) + "\n"


def _finding(each: Finding) -> dict[str, str]:
    return {"rule": each.rule, "severity": each.severity.value, "message": each.message}


def _why(found: Changes) -> str:
    counts = (
        (sum(act.verb != "label" for act in found.acts), "thing to do", "things to do"),
        (sum(each.sort != "label" for each in found.dialled), "setting", "settings"),
        (len(found.come), "new finding", "new findings"),
        (len(found.gone), "finding gone", "findings gone"),
    )
    said = [f"{count} {one if count == 1 else many}" for count, one, many in counts if count]
    return ", ".join(said) or "nothing but names and labels"


def _folded(found: Sequence[Act]) -> Iterator[tuple[Act, str]]:
    """Acts that differ in numbers alone as one, with how many more there are."""
    same: dict[tuple[str, str], list[Act]] = {}
    for act in found:
        alike = act.text if ";" in act.text else _NUMBER.sub("#", act.text)  # a move is told whole
        same.setdefault((act.verb, alike), []).append(act)
    for acts in same.values():
        more = [re.split(r" \(|[,:]", act.text)[0] for act in acts[1:]]
        yield acts[0], f"{acts[0].text}; so too {few(more, MOST)}" if more else acts[0].text


def _settings(found: Changes) -> Iterator[Line]:
    same: dict[tuple[str, str, str, str], list[str]] = {}
    for each in found.dialled:
        same.setdefault((each.sort, each.word, each.was, each.now), []).append(each.of)
    for (sort, word, was, now), of in same.items():
        yield sort, f"{few(of, MOST)} {word} {was} -> {now}"


def _pack(found: Changes) -> Iterator[str]:
    said = [f"{count:+d} {what}" for what, count in sorted(found.pack.items(), key=lambda each: -each[1])]
    if said:
        yield ", ".join(said)


def _figures(found: Changes) -> Iterator[Line]:
    for each in found.shifts:
        word = "figure" if each.better is None else "better" if each.better else "worse"
        yield word, f"{each.row} {each.was.text} -> {each.now.text}"


def _findings(found: Changes) -> Iterator[Line]:
    for each in found.come:
        yield "new", f"{each.severity.value} {each.rule} (line {each.span.line}): {each.message}"
    for each in found.gone:
        yield "gone", f"{each.severity.value} {each.rule}: {each.message}"


def _wrapped(verb: str, text: str) -> str:
    first, *more = wrap(prose(text), WIDTH - HEAD - 1)
    return f"{verb:<{HEAD}} {first}\n" + "".join(f"{'':<{HEAD}} {line}\n" for line in more)


def _line(text: str) -> str:
    return "".join(f"{line}\n" for line in wrap(prose(text), WIDTH))


def _code(text: str) -> str:
    return f"`{text.replace('`', '')}`"


def _plain(text: str) -> str:
    """Words that Markdown leaves as they are."""
    return re.sub(r"([\\`*_<|])", r"\\\1", prose(text))
