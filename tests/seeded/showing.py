"""The measured table as Markdown: what each sort of mutant came to, and what is not found, with the reason."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from .criteria import PROMISED
from .measuring import MOST_OF_EACH, Row, Table, Verdict

# Why the checker is silent about what the judge's criteria of the scope "not yet" say.
NOT_YET_REASONS = (
    (r"stands implausibly far", "places serve the sound levels, which are not computed yet"),
    (r"no lead lies between", "a channel without any lead is taken as said"),
)

# Why it is silent about a promised criterion, where it is.
MISSED_REASONS = (
    (r"is set and goes nowhere", "a processor counts as connected when one of its outputs is"),
    (r"gets no signal|is connected to nothing", "a powered box counts as connected when it has its mains"),
    (r"", "no rule looks at it"),
)
# Why a finding of some rule does not show the line to mend.
ELSEWHERE_REASONS = (
    (r"goes nowhere", "it stands at the output that is left over, not at the path that took another one"),
    (r"nothing-connected", "it shows the channel and its boxes, not the switch on the amplifier"),
    (r"expect-unmet", "it shows the promise and the paths, not the declarations that the figure rests on"),
    (r"name-unknown", "it stands at the uses; the list with the slip is no declaration that it points back to"),
    (r"", "its labels are on the paths"),
)


def percent(part: int, whole: int) -> str:
    return f"{100 * part / whole:.1f} %" if whole else "–"


def markdown(table: Table, most: int = MOST_OF_EACH) -> str:
    total, readable = table.total, table.readable
    lines = [
        f"{total.made} mutants, at most {most} of each sort from each sample, evenly over the file, out of"
        f" {table.possible} that the operators make. *Made* splits into those that *matter* (a criterion is crossed"
        " that the clean rig does not cross), those that matter only by figures that this version does not compute"
        " (*not yet*), and those that cross nothing (*harmless*). *At the line*: a finding, or one of its related"
        " places, stands on an edited line, or names the thing that the edit took out.",
        "",
        "| mutant | made | harmless | not yet | matter | found | at the line | |",
        "| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |",
    ]
    lines += [_row(row) for row in table.rows]
    lines += [_row(total, "**"), _row(readable, "**")]
    lines += ["", "Not found, though it matters:", "", *_listed(table.missed)]
    lines += ["", "Found, but with no place on the edited line:", "", *_listed(table.elsewhere)]
    lines += ["", "An error or a warning, though no criterion is crossed:", "", *_alarmed(table.alarmed)]
    lines += ["", "Not judged yet:", "", *_later(table.later)]
    return "\n".join(lines) + "\n"


def _row(row: Row, bold: str = "") -> str:
    name = f"{bold}{row.operator}{bold}"
    share = percent(row.there, row.matter)
    return (
        f"| {name} | {row.made} | {row.harmless} | {row.later} | {row.matter} | {row.found} | {row.there} | {share} |"
    )


def _listed(verdicts: Sequence[Verdict]) -> list[str]:
    """One line for each sort of mutant and criterion, with the reason, how often, and one example."""
    sorts: dict[tuple[str, str], list[Verdict]] = {}
    for verdict in verdicts:
        words = min(words for scope, words in verdict.crossed if scope == PROMISED)
        rules = ", ".join(sorted({finding.rule for finding in verdict.new}))
        why = f"{rules}: {_reason(ELSEWHERE_REASONS, f'{words} {rules}')}" if rules else _reason(MISSED_REASONS, words)
        sorts.setdefault((verdict.mutant.operator, f"{_unnamed(words)}; {why}"), []).append(verdict)
    return [f"- {operator}: {what} ({_example(found)})" for (operator, what), found in sorts.items()] or ["- nothing"]


def _alarmed(verdicts: Iterable[Verdict]) -> list[str]:
    said = [f"- {each.mutant.operator}: {each.new[0].rule} ({_example([each])})" for each in verdicts]
    return said or ["- nothing"]


def _reason(reasons: Iterable[tuple[str, str]], words: str) -> str:
    return next((why for pattern, why in reasons if re.search(pattern, words)), words)


def _later(verdicts: Iterable[Verdict]) -> list[str]:
    counted: dict[str, list[Verdict]] = {}
    for verdict in verdicts:
        words = min(words for _, words in verdict.crossed)
        counted.setdefault(_reason(NOT_YET_REASONS, words), []).append(verdict)
    return [f"- {why} ({_example(found)})" for why, found in counted.items()] or ["- nothing"]


def _example(found: Sequence[Verdict]) -> str:
    first = found[0]
    count = f"{len(found)} times, " if len(found) > 1 else ""
    edit = f"`{_short(first.was)}` -> `{_short(first.now)}`" if first.was and first.now else ""
    edit = edit or (f"`{_short(first.was)}` taken out" if first.was else f"`{_short(first.now)}` put in")
    return f"{count}{first.sample}.rig line {first.line}: {edit}"


def _short(text: str) -> str:
    return text if len(text) <= 40 else text[:37] + "..."


def _unnamed(words: str) -> str:
    """The criterion without the members of rows in it, so that like stands with like."""
    return re.sub(r"\[\d+\]", "[n]", words)
