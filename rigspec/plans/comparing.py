"""Plans side by side on one screen, with a verdict of each; the same for programs."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from math import log10

from attrs import frozen

from rigspec.plans.plan import Fact, Plan
from rigspec.show.cells import prose, wrap
from rigspec.show.loudness import loudness
from rigspec.show.table import table
from rigspec.text.finding import Severity
from rigspec.text.value import Value

WIDTH = 100
VERSION = 1  # a key that changes its meaning or goes raises it, a new key does not
BREAKS = "!"
NOTHING = "-"
HEARD_DB = 0.05  # a step that is shown as 0.0 dB is none
CAUTION = "Rated, not measured. Outputs and mains are dangerous to touch; such levels can harm hearing."


@frozen(eq=False, repr=False)
class Step(Value):
    """How much louder than the first plan one plan is, by the power into the loudspeakers of one kind."""

    kind: str
    step_db: float


def steps(first: Plan, plan: Plan) -> list[Step]:
    """What each kind of loudspeaker that both have gains or loses, in dB of all its power."""
    both = [kind for kind in first.watts if first.watts[kind] > 0 and plan.watts.get(kind, 0.0) > 0]
    return [Step(kind, 10 * log10(plan.watts[kind] / first.watts[kind])) for kind in both]


def compared(plans: Sequence[Plan]) -> str:
    """The plans on one screen, 100 cells wide: what differs in a table, what does not in a sentence, verdicts."""
    names = _names(plans)
    rows = [(row, [plan.facts.get(row) for plan in plans]) for row in _rows(plans)]
    differing = [(row, facts) for row, facts in rows if len({fact.text if fact else "" for fact in facts}) > 1]
    same = [f"{row} {facts[0].text}" for row, facts in rows if (row, facts) not in differing and facts[0]]
    cells = [[row, *map(_cell, facts)] for row, facts in differing]
    cells += [[f"louder by, {kind}", *found] for kind, found in _louder(plans)]
    parts = [table(["", *names], cells, width=WIDTH)] if cells else [_wrapped("The plans come to the same.")]
    if any(fact and fact.breaks for _, facts in differing for fact in facts):
        parts[0] += _wrapped(f"{BREAKS} breaks a limit")
    if same:
        parts.append(_wrapped("Same in all: " + "; ".join(same)))
    parts.append(
        "".join(_wrapped(f"{name}: {verdict(plans[0], plan)}") for name, plan in zip(names, plans, strict=True))
    )
    parts.append(_wrapped(CAUTION))
    return "\n".join(parts)


def verdict(first: Plan, plan: Plan) -> str:
    """A plan in a sentence: whether it works, how much louder it is than the first, and what decides it."""
    errors, warnings = plan.counts[Severity.ERROR], plan.counts[Severity.WARNING]
    found = plan.first
    if errors and found is not None:
        works = f"does not work, {_count(errors, 'error')}: {found.message} (line {found.span.line})"
    elif warnings and found is not None:
        works = f"works badly, {_count(warnings, 'warning')}: {found.message} (line {found.span.line})"
    else:
        works = "works"
    said = [works]
    if plan is not first and not errors:
        said += [_louder_by(steps(first, plan)), _by_opposed(first, plan)]
    if not errors:
        said.append(plan.limits)
    return "; ".join(each for each in said if each)


def _louder_by(found: Sequence[Step]) -> str:
    if not found:
        return "it has no loudspeaker of a kind that the first plan has"
    furthest = max(found, key=lambda step: abs(step.step_db))
    if abs(furthest.step_db) < HEARD_DB:
        return "as loud as the first"
    of = f" in {furthest.kind}" if len(found) > 1 else ""
    word = "louder" if furthest.step_db > 0 else "softer"
    heard = loudness(furthest.step_db).replace("as loud", word) if furthest.step_db > 0 else loudness(furthest.step_db)
    return f"{abs(furthest.step_db):.1f} dB {word} than the first{of}: {heard}"


def _by_opposed(first: Plan, plan: Plan) -> str:
    """What opposed drive adds that the first plan does not have."""
    ours, theirs = (each.facts.get("opposed drive") for each in (plan, first))
    if ours is None or not ours.value or (theirs is not None and theirs.value):
        return ""
    return f"opposed drive adds {ours.value:.1f} dB at best: {loudness(ours.value, bass=True)}"


def _louder(plans: Sequence[Plan]) -> Iterator[tuple[str, list[str]]]:
    """A row for each kind whose power differs."""
    found = [{step.kind: step.step_db for step in steps(plans[0], plan)} for plan in plans]
    for kind in plans[0].watts:
        values = [each.get(kind) for each in found]
        if any(value is not None and abs(value) >= HEARD_DB for value in values):
            yield kind, [NOTHING, *(NOTHING if value is None else f"{value:+.1f} dB" for value in values[1:])]


def compared_json(plans: Sequence[Plan]) -> str:
    """The same for programs: facts with their words and figures, steps in dB against the first."""
    document = {
        "format": "rigspec-compare",
        "version": VERSION,
        "plans": [
            {
                "file": plan.path,
                "title": plan.title,
                "facts": {
                    row: {"text": fact.text, "value": fact.value, "breaks": fact.breaks}
                    for row, fact in plan.facts.items()
                },
                "louder_db": {step.kind: step.step_db for step in steps(plans[0], plan)},
                "findings": {severity.value: count for severity, count in plan.counts.items()},
                "verdict": verdict(plans[0], plan),
            }
            for plan in plans
        ],
    }
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"


def _rows(plans: Sequence[Plan]) -> list[str]:
    """The rows of all plans in the order of the first that has them."""
    rows: list[str] = []
    for plan in plans:
        at = 0
        for row in plan.facts:
            if row in rows:
                at = rows.index(row) + 1
            else:
                rows.insert(at, row)
                at += 1
    return rows


def _names(plans: Sequence[Plan]) -> list[str]:
    """What the columns are called: the names of the files, whole paths where two are alike."""
    short = [plan.path.rpartition("/")[2].removesuffix(".rig") for plan in plans]
    return short if len(set(short)) == len(short) else [plan.path for plan in plans]


def _cell(fact: Fact | None) -> str:
    if fact is None:
        return NOTHING
    return f"{BREAKS} {fact.text}" if fact.breaks else fact.text


def _count(count: int, word: str) -> str:
    return f"{count} {word if count == 1 else f'{word}s'}"


def _wrapped(text: str) -> str:
    first, *more = wrap(prose(text), WIDTH)
    return "".join(f"{line}\n" for line in (first, *more))
