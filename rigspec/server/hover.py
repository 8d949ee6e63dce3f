"""What is shown of the thing under the cursor, in Markdown."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from shlex import quote

from attrs import frozen

from rigspec.figures import LeadFigures
from rigspec.language.fields import Field
from rigspec.language.settings import TABLES
from rigspec.language.slips import READING
from rigspec.language.syntax import Expect, Listing, Measured, Member, Ref, Stock, Thing, Token
from rigspec.rig.names import CALLED
from rigspec.rules import RULES
from rigspec.rules.rule import Rule
from rigspec.server import mentions as m
from rigspec.server.conversions import said_otherwise
from rigspec.server.snapshot import Snapshot, within
from rigspec.show.cells import visible
from rigspec.show.facts import facts
from rigspec.show.figure_words import words_text
from rigspec.show.why import shown, why_text
from rigspec.text import units
from rigspec.text.source import Span
from rigspec.text.value import Content
from rigspec.why import DERIVED, derive, everything
from rigspec.why.working import Step

MOST_THINGS = 6  # things of one reference that are shown one by one
MOST_LINES = 60  # of a working; the command line shows all of it
# Of all figures of a thing, the first of these that it has is shown with its working.
FIRST = ("load", "power", "loss", "current", "draw", "headroom", "level", "difference")
LANGUAGE = "rig"  # as editors call it, so that they colour what is quoted
# What stands between the things of a path and in a declaration, with one written right.
WORDS = {
    "lead": ("a lead of this size and length", "bass.1 -> lead 2.5 mm2 15 m -> sub[1]"),
    "invert": ("the two conductors are crossed", "bass_send -> invert -> bass.2"),
    "pad": ("the signal loses this much", "left -> pad 13 dB -> powered_left"),
    "delay": ("a delay, as a time or as the distance that sound goes in it", "left -> delay 3 ms -> fill.1"),
    "series": ("one behind the other in one circuit", "bass.1 -> lead 4 mm2 10 m -> series(sub[1], sub[2])"),
    "parallel": ("side by side", "bass.1 -> lead 4 mm2 10 m -> parallel(sub[1], sub[2])"),
    "linked": (
        "the lead from each box of a row to the next",
        "bass.1 -> lead 4 mm2 10 m -> sub[1..4] linked 4 mm2 2 m",
    ),
    "is": ("which kind of gear it is", "amp bass is twin-900"),
    "from": ("what it is fed from", "mains stage from house { breaker 16 A C }"),
    "because": ("the reason, which every exception needs", 'allow lead-loss-high on sub[4] because "one night only"'),
    "against": ("what follows pushes the other way, and is meant to", "group subs: sub[*], against rear[*]"),
}
_digits = re.compile(r"(\d+)")
_fence = re.compile("`{3,}")


@frozen(eq=False, repr=False)
class Hover(Content):
    """Markdown, and the characters that it is about."""

    text: str
    span: Span

    @property
    def plain(self) -> str:
        """The same for an editor that cannot show Markdown: without the marks of bold words and of quoted blocks."""
        kept, fence = [], ""
        for line in self.text.split("\n"):
            ticks = _fence.match(line)
            if ticks and fence in ("", line):
                fence = "" if fence else ticks[0]
            else:
                kept.append(line if fence else line.replace("**", ""))
        return "\n".join(kept)


def hover(sight: Snapshot, offset: int) -> Hover | None:
    """What there is to say of the place at an offset, or None."""
    mention = sight.mention(offset)
    token = sight.token(offset)
    if token is None:
        return None
    workings: list[str] = []
    if mention is not None and mention.what != m.WORD:
        span = mention.span
        parts = [_of_mention(sight, mention, offset, workings)]
    else:
        span = Span(sight.source, token.start, token.end)
        parts = _plain(sight, token, offset)
    text = "\n\n".join(part for part in [*parts, *_findings(sight, offset), *workings] if part)
    return Hover(text, span) if text else None


def _plain(sight: Snapshot, token: Token, offset: int) -> list[str]:
    """What there is to say of a token that is no name; figures come before what is said of words."""
    if token.kind == "FIGURE":
        return [said_otherwise(token.text), _short_field(_setting_at(sight, offset)), *_leads(sight, offset)]
    return [*_leads(sight, offset), _word(sight, token) if token.kind == "NAME" else ""]


def _findings(sight: Snapshot, offset: int) -> Iterator[str]:
    """What is wrong here, with all that the command line says of it but the places."""
    for finding in sight.report.findings:
        if finding.span.path == sight.source.path and within(finding.span, offset):
            lines = "\n\n".join(f"{word}: {text}" for word, text in facts(finding) if word != "fix")
            yield f"**{finding.severity.value} {finding.rule}**: {finding.message}\n\n{lines}"


def _of_mention(sight: Snapshot, mention: m.Mention, offset: int, workings: list[str]) -> str:
    """What there is to say of a name; a working, which is long, is put into ``workings``: it comes last."""
    match mention.what:
        case m.RULE:
            rule = RULES.get(mention.name)
            return rule_text(rule) if rule is not None else ""
        case m.KIND:
            return _kind(sight, mention.name)
        case m.SETTING:
            field = TABLES.get(mention.table, {}).get(mention.name)
            return field_text(field) if field is not None else ""
        case m.CHOICE:
            field = _setting_at(sight, offset)
            return field_text(field) if field is not None else ""
        case m.FILE:
            return _file(sight, mention)
        case m.FIGURE:
            return _figure_word(sight, mention, offset, workings)
        case m.THING | m.PORT:
            return _thing(sight, mention, workings)
    return ""


# ---- things ----------------------------------------------------------------------------------------------------------


def _thing(sight: Snapshot, mention: m.Mention, workings: list[str]) -> str:
    ref = mention.ref
    name = ref.name if ref is not None else mention.name
    if ref is not None and mention.what == m.PORT and not ref.ports:  # `from a`: an input of what is being set
        name = _set_at(sight, mention.span.start)
        keys = [f"{key}.{mention.name}" for key in sight.declared(name)]
    elif ref is not None and (ref.ports or ref.index):
        keys = sight.keys(ref)
    else:
        keys = [near for key in sight.declared(name) for near in sight.near(key)]
    keys.sort(key=_naturally)
    figures = sight.report.figures
    found = [(key, everything(figures, key)) for key in keys[: MOST_THINGS * 3]]
    told = [(key, steps) for key, steps in found if steps]
    parts = [_title(sight, name), _list(sight, name)]
    if told:
        parts.append("\n".join(_table(key, steps) for key, steps in told[:MOST_THINGS]))
    if len(told) > MOST_THINGS:
        parts.append(f"... and {len(keys) - MOST_THINGS} more")
    parts += [f"The load of {key} is not known: {figures.unknown[key]}." for key in keys if key in figures.unknown]
    if told:
        workings.append(working(sight, *_first(told)))
    return "\n\n".join(part for part in parts if part)


def _naturally(key: str) -> list[tuple[int, str]]:
    """Keys in the order that people count in: sub[9] before sub[10]."""
    return [(int(part), "") if part.isdigit() else (0, part) for part in _digits.split(key)]


def _set_at(sight: Snapshot, offset: int) -> str:
    """The thing whose settings stand at an offset."""
    statement = sight.statement(offset)
    node = statement.node if statement is not None else None
    return node.refs[0].name if isinstance(node, Member) else node.name if isinstance(node, Thing) else ""


def _list(sight: Snapshot, name: str) -> str:
    """A list as it is written."""
    for file in sight.files.values():
        for statement in file.statements:
            if isinstance(statement.node, Listing) and statement.node.name == name:
                return fenced(statement.node.span.text, LANGUAGE)
    return ""


def _title(sight: Snapshot, name: str) -> str:
    row = sight.names.rows.get(name)
    word = sight.words.get(name, "")
    if not word:  # its finding says all
        return ""
    first = next(iter(row.members.values()), None) if row is not None else None
    kind = f", `{first.kind.name}`" if first is not None and first.kind is not None else ""
    return f"**{visible(name)}**: {CALLED[word]}{kind}"


def _first(told: Sequence[tuple[str, Sequence[tuple[str, Step]]]]) -> tuple[str, str, Step]:
    """Of all figures of some things the one that is asked for most, with the thing that has it."""
    for word in FIRST:
        for key, steps in told:
            for other, step in steps:
                if other == word:
                    return word, key, step
    key, steps = told[0]
    return steps[0][0], key, steps[0][1]


def _table(key: str, steps: Sequence[tuple[str, Step]]) -> str:
    figures = ", ".join(f"{word} {shown(step)}" for word, step in steps)
    return f"- **{key}**: {figures}"


def working(sight: Snapshot, word: str, key: str, step: Step) -> str:
    """How a figure came about, as a block of text; of a long one the beginning."""
    lines = why_text([(word, key, step)]).rstrip("\n").split("\n")
    if len(lines) > MOST_LINES:
        command = f'rigspec figures {quote(sight.report.source.path)} --why "{word} of {key}"'
        lines = [*lines[:MOST_LINES], "...", f"`{command}` shows all of it"]
    return fenced("\n".join(lines))


def fenced(text: str, language: str = "text") -> str:
    """Text as a block that Markdown leaves as it is."""
    fence = "```"
    while fence in text:
        fence += "`"
    return f"{fence}{language}\n{text}\n{fence}"


def _figure_word(sight: Snapshot, mention: m.Mention, offset: int, workings: list[str]) -> str:
    """The word of a figure in a promise: the figure of what it is promised of, else what the word says."""
    statement = sight.statement(offset)
    node = statement.node if statement is not None else None
    said = fenced(words_text([mention.name]).partition("\n\n")[0].rstrip()) if mention.name in DERIVED else ""
    if isinstance(node, Measured):
        refs = [reading.ref for reading in node.readings]
    elif isinstance(node, Expect):
        atoms = [atom for clause in node.clauses for item in clause.items for atom in item.atoms]
        refs = [atom for atom in atoms if isinstance(atom, Ref)]
    else:
        return said
    keys = [key for ref in refs for key in sight.keys(ref)]
    steps = [(key, derive(sight.report.figures, mention.name, key)) for key in keys[:MOST_THINGS]]
    known = [(key, step) for key, step in steps if step is not None]
    parts = [f"- **{mention.name} of {key}**: {shown(step)}" for key, step in known]
    if not parts:
        return said
    workings += [working(sight, mention.name, *known[0]), said]
    return "\n".join(parts)


# ---- stock, rules, settings, words -----------------------------------------------------------------------------------


def _kind(sight: Snapshot, name: str) -> str:
    """A stock item's data, as it stands in its file."""
    stock = sight.kinds.get(name)
    if stock is None:
        return ""
    span = stock.span
    return f"{fenced(span.text, LANGUAGE)}\n\n{visible(span.path)}, line {span.line}"


def rule_text(rule: Rule) -> str:
    """A rule's explanation, in the words of `rigspec explain`."""
    facts = (("why", rule.reason), ("limit", rule.limit), ("source", rule.authority), ("change", rule.cure))
    lines = "\n\n".join(f"{word}: {text}" for word, text in facts)
    examples = "\n\n".join(
        f"{word}:\n\n{fenced(text.rstrip(), LANGUAGE)}" for word, text in (("wrong", rule.bad), ("right", rule.good))
    )
    return f"**{rule.severity.value} {rule.name}**: {rule.summary}\n\n{lines}\n\n{examples}"


def field_text(field: Field) -> str:
    """What a setting says, and one written right."""
    return f"**{field.word}**: {field.says}\n\n{fenced(field.example, LANGUAGE)}"


def _word(sight: Snapshot, token: Token) -> str:
    """What a word of the language says: one that begins a statement may say something else within one."""
    statement = sight.statement(token.start)
    begins = statement is not None and statement.start == token.start
    known = (READING.get(token.text) if begins else None) or WORDS.get(token.text) or READING.get(token.text)
    return f"**{token.text}**: {known[0]}\n\n{fenced(known[1], LANGUAGE)}" if known is not None else ""


def _setting_at(sight: Snapshot, offset: int) -> Field | None:
    """The setting that an offset lies in."""
    statement = sight.statement(offset)
    found = None
    for each in m.of_statement(sight.file, statement, sight.words, sight.kinds) if statement is not None else ():
        if each.what == m.SETTING and each.span.start <= offset:
            found = each
    return TABLES.get(found.table, {}).get(found.name) if found is not None else None


def _short_field(field: Field | None) -> str:
    return f"`{field.word}`: {field.says}" if field is not None else ""


def _file(sight: Snapshot, mention: m.Mention) -> str:
    """What a file that is used holds, by its statements."""
    from posixpath import basename, normpath

    name = mention.name
    used = [path for path in sight.files if basename(path) == basename(normpath(name)) and path != sight.source.path]
    if len(used) != 1:
        return ""
    counts: dict[str, int] = {}
    for statement in sight.files[used[0]].statements:
        node = statement.node
        what = f"stock {node.sort}" if isinstance(node, Stock) else getattr(node, "word", "")
        if what:
            counts[what] = counts.get(what, 0) + 1
    held = ", ".join(f"{count} {what}" for what, count in counts.items())
    return f"**{visible(name)}**: {held}" if held else ""


# ---- leads -----------------------------------------------------------------------------------------------------------


def _leads(sight: Snapshot, offset: int) -> list[str]:
    """The figures of the leads at an offset: of a path for each of a row there are several."""
    channels = sight.report.figures.channels.values()
    path = sight.source.path
    leads = [
        lead
        for channel in channels
        for lead in channel.leads
        if lead.piece.span.path == path and within(lead.piece.span, offset)
    ]
    return ["\n".join(dict.fromkeys(map(_lead_text, leads[:MOST_THINGS])))] if leads else []


def _lead_text(lead: LeadFigures) -> str:
    parts = [f"loop {units.show(lead.loop_ohm, 'resistance')}", f"loss {units.show(lead.loss_db, 'gain')}"]
    if lead.ampere is not None:
        parts.append(f"{units.show(lead.ampere, 'current')} at rated output")
    if lead.watt is not None:
        parts.append(f"{units.show(lead.watt, 'power')} burnt")
    if lead.capacity_ampere is not None:
        parts.append(f"carries {units.show(lead.capacity_ampere, 'current')} for ever")
    if lead.copper_c is not None:
        parts.append(f"copper {lead.copper_c:.0f} degC")
    return f"- **lead of {lead.channel}**: {', '.join(parts)}"
