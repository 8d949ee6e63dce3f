"""Settings to facts: every figure gets its kind and value, every setting is held against the table of its place."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from rigspec.language.fields import ABOVE_ZERO, LEAD_SPEC, NOT_NEGATIVE, NUMBER, Field, alternatives
from rigspec.language.settings import ONE_OF, TABLES
from rigspec.language.syntax import Atom, Block, Figure, Item, Pair, Range, Ref, Setting, Text
from rigspec.language.words import ChoiceWord, SettingWord
from rigspec.rig.faults import Faults as Faults
from rigspec.rig.measures import article, either, measure, span_measure
from rigspec.rig.model import Entry, Facts, Given, Measure
from rigspec.rig.separators import settings_of
from rigspec.rig.spoken import SPOKEN, setting_fix
from rigspec.text.finding import Edit, Fix, Label
from rigspec.text.near import near
from rigspec.text.source import Span
from rigspec.text.units import FigureKind

_letter_and_number = re.compile(r"([A-Z])(\d+)").fullmatch  # `C16`, as it is printed on a breaker


def entry(field: Field, atoms: Sequence[Atom], span: Span, faults: Faults) -> Entry:
    """One item held against what its setting takes."""
    kinds = list(dict.fromkeys(kind for group in field.need + field.may for kind in alternatives(group)))
    measures: list[Measure] = []
    words: list[ChoiceWord] = []
    refs: list[Ref] = []
    texts: list[str] = []
    pairs: list[tuple[int, int]] = []
    start, strayed = faults.count, False
    # Figures without a unit come last: by then it is known which kinds are still open.
    for atom in sorted(atoms, key=lambda each: isinstance(each, Figure) and not each.unit):
        before = faults.count
        if isinstance(atom, Figure) and kinds:
            open_kinds = _open_kinds(field, measures, kinds)
            found = measure(atom, kinds if atom.unit else open_kinds, faults, open_kinds)
            _keep(None if strayed else found, measures, faults)
        elif isinstance(atom, Range) and kinds and field.ranges:
            _keep(span_measure(atom, kinds, faults), measures, faults)
        elif isinstance(atom, Ref) and atom.plain and (word := next((w for w in field.words if w == atom.name), None)):
            words.append(word)
        elif isinstance(atom, Ref) and atom.plain and atom.name == "at" and len(kinds) > 1:
            continue
        elif isinstance(atom, Ref) and field.refs:
            refs.append(atom)
        elif isinstance(atom, Text) and field.texts:
            texts.append(atom.value)
        elif isinstance(atom, Pair) and field.pairs:
            pairs.append((atom.first, atom.second))
        elif faults.count == before:
            misspelt = isinstance(atom, Ref) and near(atom.name, field.words).words
            if faults.count == start or misspelt:  # behind another slip it is the rest of that
                _cannot_stand(field, atom, atoms, faults)
            strayed = strayed or not misspelt
    # What a lead in a path may be is judged as a whole, elsewhere.
    if field is not LEAD_SPEC and not (field.range_only and faults.count > start):
        measures = [each for each in measures if _possible(field, each, faults)]
    made = Entry(tuple(measures), tuple(words), tuple(refs), tuple(texts), tuple(pairs), span)
    if len(measures) > 1:
        _one_of_each(field, made, faults)
    return made


def _possible(field: Field, measure: Measure, faults: Faults) -> bool:
    """Can a thing have this figure at all? A fault if not: what is impossible must not go into a computation."""
    bad = ""
    if field.range_only and measure.low == measure.high:
        bad = f"`{field.word}` needs a range, from one figure to another"
    elif measure.kind in ABOVE_ZERO and (measure.low < 0 or (measure.low == 0 and not field.zero)):
        bad = f"{article(measure.kind)} of {measure.text} is impossible: it is above zero"
    elif measure.kind in NOT_NEGATIVE and measure.low < 0:
        bad = f"`{field.word} {measure.text}` is impossible: it is not below zero"
    elif field.whole and measure.kind == NUMBER and (measure.value % 1 or measure.value < (0 if field.zero else 1)):
        bad = f"`{field.word} {measure.text}` is impossible: it is a whole number from 1"
    elif field.most and measure.high > field.most:
        bad = f"`{field.word} {measure.text}` is impossible: it is at most {field.most}"
    elif field.share and measure.kind in (NUMBER, "ratio") and measure.low > 1:
        bad = f"`{field.word} {measure.text}` is impossible: it is a part of the whole"
    if bad:
        label = "cannot be" if "impossible" in bad else "one figure only"
        faults.add("setting-value", measure.span, bad, label=label, help=f"write it like this: {field.example}")
    return not bad


def _one_of_each(field: Field, entry: Entry, faults: Faults) -> None:
    """Of alternatives (a size in mm2 or AWG) an item holds one."""
    for group in field.need + field.may:
        found = [measure for measure in entry.measures if measure.kind in alternatives(group)]
        if len(found) > 1:
            what = "size" if group == "area|gauge" else group.replace("|", " or ")
            faults.add(
                "setting-value",
                found[1].span,
                f"`{found[1].text}` is a second {what} beside `{found[0].text}`",
                label="said twice",
                related=(Label(found[0].span, "said here already"),),
                help="keep one of the two",
            )


def _open_kinds(field: Field, measures: Sequence[Measure], kinds: Sequence[FigureKind]) -> Sequence[FigureKind]:
    """The kinds that a field still needs once some figures are there, else those it still takes, else all."""
    taken = {measure.kind for measure in measures}
    for groups in (field.need, field.may):
        still = [kind for group in groups if not taken & set(alternatives(group)) for kind in alternatives(group)]
        if still:
            return still
    return kinds


def _keep(found: Measure | None, measures: list[Measure], faults: Faults) -> None:
    if found is None:
        return
    if any(other.kind == found.kind for other in measures):
        faults.add(
            "setting-value",
            found.span,
            f"a second {found.kind} in one item",
            help="separate items with a comma, or leave one figure out",
        )
        return
    measures.append(found)


def _word_meant(field: Field, atom: Ref, others: Sequence[Atom], faults: Faults) -> bool:
    """Is a word that the setting takes written as on the thing itself: `type C` for `C`, or `C16` for `16 A C`?"""
    position = others.index(atom)
    after = others[position + 1] if position + 1 < len(others) else None
    glued = _letter_and_number(atom.name)
    if glued and glued[1] in field.words and "current" in field.need:
        label, instead = "letter and figure in one", f"{glued[2]} A {glued[1]}"
        edit = Edit(atom.span, instead)
        message = f"`{atom.name}` is a figure and a letter: they stand apart, the figure with its unit"
    elif isinstance(after, Ref) and after.name in field.words:
        label, instead = f"`{after.name}` says it alone", ""
        edit = Edit(Span(atom.span.source, atom.span.start, after.span.start), "")
        message = f"`{atom.name}` says nothing before `{after.name}`"
    else:
        return False
    told = [instead if each is atom else each.span.text for each in others]
    right = " ".join(word for word in (field.word, *told) if word)
    fix = Fix(f"write `{right}`", (edit,))
    faults.add("setting-value", atom.span, message, label=label, help=f"write it like this: {right}", fix=fix)
    return True


def _cannot_stand(field: Field, atom: Atom, others: Sequence[Atom], faults: Faults) -> None:
    if isinstance(atom, Ref) and field.words:
        if _word_meant(field, atom, others, faults):
            return
        meant = near(atom.name, field.words, elsewhere=SPOKEN)
        faults.add(
            "setting-value",
            atom.span,
            f"`{atom.span.text}` is not a word that `{field.word}` takes",
            label=meant.question or f"it takes {', '.join(field.words)}",
            help=f"write one of {', '.join(field.words)}, like this: {field.example}",
            fix=meant.fix(atom.span),
        )
        return
    faults.add(
        "setting-value",
        atom.span,
        f"`{atom.span.text}` says nothing in `{field.word}`",
        label="cannot stand here",
        help=f"write it like this: {field.example}",
    )


def _complete(field: Field, setting: Setting, entries: Sequence[Entry], faults: Faults) -> None:
    """Does every item hold what the setting needs? One fault a setting is enough."""
    bad = None
    if len(entries) > 1 and not field.many:
        bad = "takes one item, not several"
    elif not (entries or field.bare) and (field.need or field.refs or field.texts or field.pairs or field.word_needed):
        bad = "says nothing yet"
    for each in entries:
        missing = [group for group in field.need if not any(each.get(kind) for kind in alternatives(group))]
        if missing and not bad:
            bad = f"needs {either(alternatives(missing[0]))}"
        if field.word_needed and not each.words and not bad:
            bad = f"needs one of the words {', '.join(field.words)}"
        for lacks, what in ((field.texts and not each.texts, "a text"), (field.pairs and not each.pairs, "a pair")):
            if lacks and not bad:
                bad = f"needs {what}"
    if bad is None and setting.block is not None and not field.inner:
        bad = "takes no settings of its own"
    if bad is None and field.inner and setting.block is None:
        bad = "needs its own settings in braces"
    if bad:
        faults.add(
            "setting-value",
            setting.word_span,
            f"`{field.word}` {bad}",
            label=field.says,
            help=f"write it like this: {field.example}",
        )


def facts(block: Block | None, table_name: str, holder: str, faults: Faults) -> Facts:
    """The settings of a block as facts, each held against the table of its place."""
    if block is None:
        return {}
    table = TABLES[table_name]
    result: dict[SettingWord, Given] = {}
    for setting in settings_of(block, table, faults):
        field = table.get(setting.word)
        if field is None:
            _unknown_setting(setting, table_name, holder, faults)
            continue
        earlier = result.get(field.word)
        if earlier is not None and not field.again:
            faults.add(
                "setting-twice",
                setting.word_span,
                f"`{setting.word}` is set twice",
                label="set again here",
                related=(Label(earlier.span, "set here already"),),
                help="keep one of the two",
            )
            continue
        before = faults.count
        entries = tuple(_entries(field, setting.items, faults))
        if faults.count == before:
            _complete(field, setting, entries, faults)
        inner = facts(setting.block, field.inner, setting.word, faults) if field.inner else None
        if earlier is not None:
            entries = earlier.entries + entries
        result[field.word] = Given(field.word, entries, inner, setting.span)
    for choices in ONE_OF.get(table_name, ()):
        made = [result[word] for word in choices if word in result]
        if len(made) > 1:
            faults.add(
                "setting-value",
                made[1].span,
                f"{holder} cannot be {made[0].word} and {made[1].word}",
                label="against what is said before",
                related=(Label(made[0].span, "said here"),),
                help="keep one of the two",
            )
    return result


def _entries(field: Field, items: Sequence[Item], faults: Faults) -> Iterable[Entry]:
    for item in items:
        yield entry(field, item.atoms, item.span, faults)


def _unknown_setting(setting: Setting, table_name: str, holder: str, faults: Faults) -> None:
    table = TABLES[table_name]
    meant = near(setting.word, table, elsewhere=SPOKEN)
    faults.add(
        "setting-unknown",
        setting.word_span,
        f"{holder} has no setting `{setting.word}`",
        label=meant.question or "unknown setting",
        help=f"write one of the settings here: {', '.join(sorted(table))}",
        fix=setting_fix(meant, setting, table),
    )


def merged(base: Facts, over: Facts) -> Facts:
    """The facts of ``base`` with those of ``over`` in their place; inner settings are merged likewise.

    What says the same thing in another way takes its place too: a sensitivity that of a gain, and a gain that of it.
    """
    if not over:
        return base
    result = dict(base)
    swaps: tuple[tuple[SettingWord, SettingWord], ...] = (("sensitivity", "gain"), ("gain", "sensitivity"))
    for one, other in swaps:
        if one in over and other not in over:
            result.pop(other, None)
    for word, given in over.items():
        below = base.get(word)
        if below is not None and below.inner and given.inner:
            given = Given(word, given.entries, merged(below.inner, given.inner), given.span)
        result[word] = given
    return result
