"""What is shown of the thing under the cursor, in Markdown."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from attrs import frozen

from rigspec import units
from rigspec.fields import Field
from rigspec.figures import LeadFigures
from rigspec.parse.slips import READING
from rigspec.resolve.names import CALLED
from rigspec.rules import RULES
from rigspec.rules.rule import Rule
from rigspec.server import mentions as m
from rigspec.server.sight import Sight, within
from rigspec.settings import TABLES
from rigspec.show.cells import visible
from rigspec.show.figure_words import words_text
from rigspec.show.why import shown, why_text
from rigspec.source import Span
from rigspec.syntax import Expect, LeadHop, Path, Ref, Token
from rigspec.value import Value
from rigspec.why import DERIVED, derive, everything
from rigspec.working import Step

MOST_THINGS = 6  # things of one reference that are shown one by one
MOST_LINES = 40  # of a working; the command line shows all of it
# Of all figures of a thing, the first of these that it has is shown with its working.
FIRST = ("load", "power", "loss", "current", "draw", "headroom", "level", "difference")
_figure = re.compile(r"([+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?(?:/\d+)?)[ \t]*(.*)", re.DOTALL)


@frozen(repr=False)
class Hover(Value):
    """Markdown, and the characters that it is about."""

    text: str
    span: Span


def hover(sight: Sight, offset: int) -> Hover | None:
    """What there is to say of the place at an offset, or None."""
    mention = sight.mention(offset)
    token = sight.token(offset)
    if token is None:
        return None
    if mention is not None and mention.what != m.FILE:
        span = mention.span
        parts = [_of_mention(sight, mention, offset)]
    else:
        span = Span(sight.source, token.start, token.end)
        parts = _plain(sight, token, offset)
    text = "\n\n".join(part for part in [*parts, *_findings(sight, offset)] if part)
    return Hover(text, span) if text else None


def _plain(sight: Sight, token: Token, offset: int) -> list[str]:
    """What there is to say of a token that is no name."""
    parts = [_conversion(token)] if token.kind == "FIGURE" else []
    parts += _lead(sight, offset)
    if not parts and token.kind == "NAME":
        parts = [_word(token)]
    return parts


def _findings(sight: Sight, offset: int) -> Iterator[str]:
    """What is wrong here and what to change, for editors that show no more of a finding than its message."""
    for finding in sight.report.findings:
        if finding.span.path == sight.source.path and within(finding.span, offset):
            facts = [(word, text) for word, text in (("help", finding.help), ("reason", finding.reason)) if text]
            lines = "\n\n".join(f"{word}: {text}" for word, text in facts)
            yield f"**{finding.severity.value} {finding.rule}**: {finding.message}\n\n{lines}"


def _of_mention(sight: Sight, mention: m.Mention, offset: int) -> str:
    match mention.what:
        case m.RULE:
            rule = RULES.get(mention.name)
            return rule_text(rule) if rule is not None else ""
        case m.KIND:
            return _kind(sight, mention.name)
        case m.SETTING:
            field = TABLES.get(mention.table, {}).get(mention.name)
            return field_text(field) if field is not None else ""
        case m.FIGURE:
            return _figure_word(sight, mention, offset)
        case m.THING | m.PORT:
            return _thing(sight, mention)
    return ""


# ---- things ----------------------------------------------------------------------------------------------------------


def _thing(sight: Sight, mention: m.Mention) -> str:
    name = mention.ref.name if mention.ref is not None else mention.name
    if mention.ref is not None and (mention.what == m.PORT or mention.ref.ports or mention.ref.index):
        keys = sight.keys(mention.ref)
    else:
        keys = [near for key in sight.declared(name) for near in sight.near(key)]
    figures = sight.report.figures
    title = _title(sight, name)
    found = [(key, everything(figures, key)) for key in keys[: MOST_THINGS * 3]]
    told = [(key, steps) for key, steps in found if steps]
    unknown = [f"The load of {key} is not known: {figures.unknown[key]}." for key in keys if key in figures.unknown]
    if not told:
        return "\n\n".join([title, *unknown])
    tables = "\n".join(_table(key, steps) for key, steps in told[:MOST_THINGS])
    rest = f"... and {len(keys) - MOST_THINGS} more" if len(told) > MOST_THINGS else ""
    word, step = _first(told[0][1])
    return "\n\n".join(part for part in (title, tables, rest, *unknown, working(word, told[0][0], step)) if part)


def _title(sight: Sight, name: str) -> str:
    row = sight.names.rows.get(name)
    word = sight.words.get(name, "")
    if not word:
        return f"**{visible(name)}**"
    first = next(iter(row.members.values()), None) if row is not None else None
    kind = f", `{first.kind.name}`" if first is not None and first.kind is not None else ""
    return f"**{visible(name)}**: {CALLED[word]}{kind}"


def _first(steps: Sequence[tuple[str, Step]]) -> tuple[str, Step]:
    by_word = dict(steps)
    for word in FIRST:
        if word in by_word:
            return word, by_word[word]
    return steps[0]


def _table(key: str, steps: Sequence[tuple[str, Step]]) -> str:
    figures = ", ".join(f"{word} {shown(step)}" for word, step in steps)
    return f"- **{key}**: {figures}"


def working(word: str, key: str, step: Step) -> str:
    """How a figure came about, as a block of text; of a long one the beginning."""
    lines = why_text([(word, key, step)]).rstrip("\n").split("\n")
    if len(lines) > MOST_LINES:
        lines = [*lines[:MOST_LINES], "...", f'`rigspec figures FILE --why "{word} of {key}"` shows all of it']
    return fenced("\n".join(lines))


def fenced(text: str, language: str = "text") -> str:
    """Text as a block that Markdown leaves as it is."""
    fence = "```"
    while fence in text:
        fence += "`"
    return f"{fence}{language}\n{text}\n{fence}"


def _figure_word(sight: Sight, mention: m.Mention, offset: int) -> str:
    """The word of a figure in a promise: the figure of what it is promised of, else what the word says."""
    statement = sight.statement(offset)
    node = statement.node if statement is not None else None
    said = fenced(words_text([mention.name]).partition("\n\n")[0].rstrip()) if mention.name in DERIVED else ""
    if not isinstance(node, Expect):
        return said
    refs = [atom for clause in node.clauses for item in clause.items for atom in item.atoms if isinstance(atom, Ref)]
    keys = [key for ref in refs for key in sight.keys(ref)]
    steps = [(key, derive(sight.report.figures, mention.name, key)) for key in keys[:MOST_THINGS]]
    known = [(key, step) for key, step in steps if step is not None]
    parts = [f"- **{mention.name} of {key}**: {shown(step)}" for key, step in known]
    first = [working(mention.name, known[0][0], known[0][1])] if known else []
    return "\n\n".join(["\n".join(parts), *first, said] if parts else [said])


# ---- stock, rules, settings, words -----------------------------------------------------------------------------------


def _kind(sight: Sight, name: str) -> str:
    """A stock item's data, as it stands in its file."""
    stock = sight.kinds.get(name)
    if stock is None:
        return ""
    span = stock.span
    return f"{fenced(span.text, 'rigspec')}\n\n{visible(span.path)}, line {span.line}"


def rule_text(rule: Rule) -> str:
    """A rule's explanation."""
    facts = (("Why", rule.reason), ("Limit", rule.limit), ("Source", rule.authority), ("Change", rule.cure))
    lines = "\n\n".join(f"{word}: {text}" for word, text in facts)
    return f"**{rule.name}** ({rule.severity.value}): {rule.summary}\n\n{lines}"


def field_text(field: Field) -> str:
    """What a setting says, and one written right."""
    return f"**{field.word}**: {field.says}\n\n{fenced(field.example, 'rigspec')}"


def _word(token: Token) -> str:
    if token.text not in READING:
        return ""
    called, example = READING[token.text]
    return f"**{token.text}**: {called}\n\n{fenced(example, 'rigspec')}"


# ---- figures as given ------------------------------------------------------------------------------------------------


def _conversion(token: Token) -> str:
    """A figure in the other units of its kind, and for levels, sizes and distances what they are besides."""
    match = _figure.fullmatch(token.text)
    if match is None or not match[2]:
        return ""
    above, _, below = match[1].partition("/")
    try:
        if match[2] == "AWG" and below:
            number = float(1 - int(above))  # 2/0 AWG is -1
        else:
            number = float(above) / (float(below) if below else 1.0)
        found = units.quantity(number, match[2])
    except (units.UnknownUnit, ValueError, ZeroDivisionError):
        return ""
    own = next((unit for unit in units.UNITS if " ".join(match[2].split()) in unit.spellings), None)
    others = [unit for unit in units.units_of(found.kind) if own is None or unit != own.spellings[0]]
    written = [units.show(found.value, found.kind, unit) for unit in others]
    written = [text for text in written if not re.match(r"[+-]?\d\.\d+e|[+-]?0 ", text)]
    extra = list(_besides(found.kind, found.value))
    parts = [*written[:4], *extra]
    said = f"**{' '.join(token.text.split())}**: {_article(found.kind)}"
    return f"{said}\n\n{' = '.join(parts)}" if parts else said


def _article(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"


def _besides(kind: str, value: float) -> Iterator[str]:
    """The same figure as another kind of figure, where a definition says so."""
    from rigspec.rig import SPEED_OF_SOUND_M_PER_S as SPEED
    from rigspec.solve.conductor import awg_area_mm2

    match kind:
        case "level":
            yield f"{units.show(units.DBU_REFERENCE_VOLT * 10 ** (value / 20), 'voltage')} rms"
        case "gauge":
            yield units.show(awg_area_mm2(value), "area")
        case "gain":
            yield f"a factor of {10 ** (value / 20):.4g} in voltage, {10 ** (value / 10):.4g} in power"
        case "length":
            yield f"sound takes {units.show(value / SPEED, 'time')} in air of 20 degC"
        case "time":
            yield f"sound goes {units.show(value * SPEED, 'length')} in air of 20 degC"
        case "frequency" if value > 0:
            yield f"a wave of {units.show(SPEED / value, 'length')} in air of 20 degC"


# ---- leads -----------------------------------------------------------------------------------------------------------


def lead_at(sight: Sight, span: Span) -> list[LeadFigures]:
    """The figures of the leads that stand at a place: of a path for each of a row there are several."""
    return [
        lead for channel in sight.report.figures.channels.values() for lead in channel.leads if lead.piece.span == span
    ]


def _lead(sight: Sight, offset: int) -> list[str]:
    statement = sight.statement(offset)
    node = statement.node if statement is not None else None
    if not isinstance(node, Path):
        return []
    for hop in node.hops:
        if isinstance(hop, LeadHop) and within(hop.span, offset):
            leads = lead_at(sight, hop.span)
            return ["\n".join(map(_lead_text, leads[:MOST_THINGS]))] if leads else []
    return []


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
