"""The parts of the documents that are made from the code: text in, text out.

A made part stands between ``<!-- made: NAME -->`` and ``<!-- end -->``. What a name stands for is told by makers, so a
caller that can read files may add its own.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from math import log10
from textwrap import indent

from rigspec.language.chunk import MOST_NESTED, STATEMENT_WORDS
from rigspec.language.fields import NUMBER, Field
from rigspec.language.figure_kinds import FIGURES
from rigspec.language.gear_settings import Table
from rigspec.language.settings import STOCK_SORTS, TABLES
from rigspec.rig.declare import HOP_WORDS
from rigspec.rig.files import DEEPEST_USE, MOST_FILES
from rigspec.rig.measures import LARGEST
from rigspec.rig.names import MOST_MEMBERS
from rigspec.rig.relations import POLARITIES
from rigspec.rules import FAMILIES, RULES
from rigspec.rules.example_stock import EXAMPLE_STOCK
from rigspec.rules.rule import Rule
from rigspec.show.tables import QUESTIONS
from rigspec.text.units import EXAMPLES, UNITS
from rigspec.why import DERIVED

Maker = Callable[[], str]

_made_part = re.compile(r"(<!-- made: (?P<name>[^\n]+?) -->\n).*?(<!-- end -->)", re.DOTALL)

_LOOK_ALIKES = str.maketrans("\u2126\u03bc", "\u03a9\u00b5")  # nobody can tell them apart on a page, so one is shown

# The places of settings in the order of the reference: the table, and what it is called there.
_PLACES = {
    "rig": "`rig`",
    "limits": "`limits` of `rig`",
    "feed": "`feed`",
    "split": "`split`",
    "stock processor": "`stock processor`",
    "processor": "`processor`",
    "processor output": "an output of a processor, such as `xo.1`",
    "stock amp": "`stock amp`",
    "supply": "`supply` of an amplifier",
    "amp": "`amp`",
    "amp channel": "a channel of an amplifier, such as `bass.2`",
    "stock speaker": "`stock speaker`",
    "way": "`low`, `mid` and `high` of a loudspeaker, such as `hang.low`",
    "driver": "`driver` of a loudspeaker or of a way",
    "speaker": "`speaker`",
    "stock lead": "`stock lead`",
    "lead": "`lead`",
    "lead pair": "a pair of a lead, such as `loom.2`",
    "stock panel": "`stock panel`",
    "panel": "`panel`",
    "panel line": "a line of a panel or a leg of a split, such as `wall.2`",
    "mains": "`mains`",
    "place": "`place`",
    "area": "`area`",
    "asks": "`asks` of a loudspeaker or of a way",
    "group": "`group`",
    "stereo": "`stereo`",
    "mix": "`mix`",
    "rack": "`rack`",
    "measured": "`measured`",
}


def refreshed(page: str, makers: Mapping[str, Maker]) -> str:
    """The page with every made part made anew. KeyError where nothing makes a part of that name."""
    return _made_part.sub(lambda part: f"{part[1]}\n{makers[part['name']]().strip()}\n\n{part[3]}", page)


def made_names(page: str) -> list[str]:
    """The names of the made parts of a page, in order."""
    return [part["name"] for part in _made_part.finditer(page)]


def table(heads: list[str], rows: list[list[str]]) -> str:
    """A table in Markdown; a bar inside a cell is escaped."""
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", "\\|") for cell in line) + " |" for line in lines) + "\n"


def _code(words: Sequence[str]) -> str:
    return ", ".join(f"`{word}`" for word in words)


def _either(words: Sequence[str]) -> str:
    return f"{_code(words[:-1])} or `{words[-1]}`" if len(words) > 1 else _code(words)


# ---- the language ----------------------------------------------------------------------------------------------------


def words() -> str:
    """The words that no thing may be called."""
    return f"Statement words: {_code(sorted(STATEMENT_WORDS))}.\n\nHop words: {_code(sorted(HOP_WORDS))}.\n"


def units() -> str:
    """All units by the kind of figure they make."""
    spelt: dict[str, list[str]] = {}
    for unit in UNITS:
        seen = dict.fromkeys(spelling.translate(_LOOK_ALIKES) for spelling in unit.spellings)
        spelt.setdefault(unit.kind, []).append(_code(list(seen)))
    rows = [[kind, "; ".join(spellings), f"`{EXAMPLES[kind]}`"] for kind, spellings in spelt.items()]
    return table(
        ["kind of figure", "units, with other spellings of the same unit behind a comma", "example"],
        [*rows, ["bare number", "none", f"`{EXAMPLES[NUMBER]}`"]],
    )


def takes(field: Field) -> str:
    """What one setting takes, in words."""
    needed = [" or ".join(_kind(kind) for kind in group.split("|")) for group in field.need]
    if field.most:
        needed = [f"{each} up to {field.most}" for each in needed]
    optional = [" or ".join(_kind(kind) for kind in group.split("|")) for group in field.may]
    said = [", ".join(needed)] if needed else []
    said += [f"perhaps {', '.join(optional)}"] if optional else []
    if field.words:
        said.append(f"{'one of' if field.word_needed else 'perhaps'} {_either(field.words)}")
    said += ["names"] if field.refs else []
    said += ["a text"] if field.texts else []
    said += [f"{'nothing, or ' if field.bare else ''}a pair such as `1+2`"] if field.pairs else []
    said += ["settings in braces, see below"] if field.inner else []
    said += ["a range may stand for a figure"] if field.ranges else []
    said += ["several items"] if field.many else []
    said += ["may be given again"] if field.again else []
    said += ["kept, not computed with yet"] if field.kept else []
    return "; ".join(said) or "nothing: the word alone"


def _kind(kind: str) -> str:
    return "a bare number" if kind == NUMBER else kind


def _settings_of(settings: Table, shared: Table) -> str:
    own = [field for word, field in settings.items() if shared.get(word) is not field]
    rows = [[f"`{field.word}`", field.says, takes(field), f"`{field.example}`"] for field in own]
    return table(["setting", "says", "takes", "example"], rows)


def settings() -> str:
    """Every setting by the place where it may stand; what a thing shares with its stock is told once."""
    assert set(_PLACES) == set(TABLES), "every table of settings has its place in the reference"
    parts = []
    for name, title in _PLACES.items():
        of_stock = name in STOCK_SORTS
        part = f"### Settings of {title}\n\n"
        if of_stock:
            part += f"All settings of `stock {name}`, which they then replace for this thing alone, and:\n\n"
        parts.append(part + _settings_of(TABLES[name], TABLES[f"stock {name}"] if of_stock else {}))
    return "\n".join(parts)


HEARD = {
    "level": [["place or area", "nominal level there in dB SPL, in the open; of an area its softest or loudest point"]],
    "evenness": [["area", "how far its softest point is below its loudest, at the nominal level"]],
    "arrival": [["loudspeakers at a place", "when the first of them is there, counted from its feed or after others"]],
}
"""What is heard at places has no working that can be asked for: `rigspec reach` shows it."""


def figures() -> str:
    """The figures that can be promised, measured and asked for: of what, and what each says."""
    rows = []
    for what, kinds in FIGURES.items():
        value = " or ".join(kinds) if kinds else _either(POLARITIES)
        said = [[derived.of, derived.says] for derived in DERIVED.get(what, ())] + HEARD.get(what, [])
        said = said or [["not computed yet", ""]]
        heads = [[f"`{what}`", value.replace("number", "a bare number")], *[["", ""]] * (len(said) - 1)]
        rows += [[*head, *text] for head, text in zip(heads, said, strict=True)]
    return table(["figure", "its value", "of", "says"], rows)


def tables() -> str:
    """The tables of `rigspec figures`: what each shows, and its keys for programs and spreadsheets."""
    rows = [
        [f"`{question.word}`", question.title, ", ".join(f"`{each.key}`" for each in question.columns if each.programs)]
        for question in QUESTIONS.values()
    ]
    return table(["table", "shows", "its keys in JSON and CSV"], rows)


def bounds(file_mib: int) -> str:
    """How large things may be; the size of a file is the reader's own bound."""
    rows = [
        ["size of a file", f"{file_mib} MiB"],
        ["files of one rig", f"{MOST_FILES}"],
        ["depth of `use`", f"{DEEPEST_USE}"],
        ["brackets and braces inside each other", f"{MOST_NESTED}"],
        ["number of a member", f"{MOST_MEMBERS}"],
        ["any number, as written", f"10^{round(log10(LARGEST))}"],
    ]
    return table(["what", "most"], rows)


LANGUAGE: dict[str, Maker] = {
    "words": words,
    "units": units,
    "settings": settings,
    "figures": figures,
    "tables": tables,
}
"""The makers of the parts that the language itself determines."""


# ---- the rules -------------------------------------------------------------------------------------------------------


def rules_page() -> str:
    """The rule reference: every rule in its own words, by family."""
    contents = "".join(
        f"- {_title(family.__doc__)}: {', '.join(f'[{rule.name}](#{rule.name})' for rule in family.RULES)}\n"
        for family in FAMILIES
    )
    families = "".join(f"\n## {_title(family.__doc__)}\n" + "".join(map(_rule, family.RULES)) for family in FAMILIES)
    return f"""\
# The rules

This page is made from the rules themselves; `rigspec explain RULE` shows the same at the terminal. There are
{len(RULES)} rules. An error will hurt gear or people, or will not work. A warning works badly. Advice is power or
clarity left unused. Each rule says why it matters, where its limit comes from and what to change. The tests check
every example that is a rig, the wrong ones and the right ones.

{contents}
## The stock of the examples

The examples use this small invented stock. Its figures mean nothing beyond them. In an example a line `--- NAME`
begins another file, and a line that starts with `$` is a command.

```rig as-written
{EXAMPLE_STOCK}```
{families}"""


def _title(doc: str | None) -> str:
    return (doc or "").strip().splitlines()[0].rstrip(".")


def _rule(rule: Rule) -> str:
    facts = (("Why", rule.reason), ("Limit", rule.limit), ("Source", rule.authority), ("Change", rule.cure))
    said = "".join(f"- {word}: {text}\n" for word, text in facts)
    return f"""
### {rule.name}

{rule.severity.value.capitalize()}: {rule.summary}.

{said}
Wrong:

{indent(rule.bad.rstrip(), "    ")}

Right:

{indent(rule.good.rstrip(), "    ")}
"""
