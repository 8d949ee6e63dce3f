"""``rigspec explain``: what a rule is about."""

from __future__ import annotations

import sys
from collections.abc import Iterator

from rigspec.cli import terminal
from rigspec.cli.command import nearest
from rigspec.cli.trouble import UsageError
from rigspec.rules import FAMILIES, RULES
from rigspec.rules.rule import Rule
from rigspec.show.cells import wrap


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Explain one rule, or list them all; the exit code."""
    if not words:
        terminal.say("".join(_list()))
        return 0
    name = words[0]
    rule = RULES.get(name) or RULES.get("-".join(name.lower().replace("_", " ").split()))
    if rule is None and (figures := _figures(name)):
        terminal.say(figures)
        return 0
    if rule is None:
        within = [other for other in RULES if name.lower() in other]
        near = nearest(name, list(RULES)) or (f"did you mean {' or '.join(within[:3])}? " if within else "")
        raise UsageError(1, f"there is no rule {name}", f"{near}`rigspec explain` lists all of them")
    terminal.say("".join(_page(rule, terminal.use_colour(options["--colour"], sys.stdout), terminal.width(sys.stdout))))
    return 0


def _figures(name: str) -> str:
    """What the word of a figure says, or what all of them say; nothing where it is no such word."""
    from rigspec.show.figure_words import words_text
    from rigspec.why import DERIVED

    return words_text(list(DERIVED)) if name == "figures" else words_text([name]) if name in DERIVED else ""


def _list() -> Iterator[str]:
    """All rules by family, their names, severities and summaries in columns."""
    longest = max(map(len, RULES))
    for number, family in enumerate(FAMILIES):
        title = (family.__doc__ or family.__name__.rpartition(".")[2]).strip().splitlines()[0]
        yield f"{'' if number == 0 else chr(10)}{title}\n"
        for rule in family.RULES:
            yield f"  {rule.name:<{longest}}  {rule.severity.value:<7}  {rule.summary}\n"
    yield "\n`rigspec explain RULE` tells why, where the limit comes from and what to change.\n"
    yield "`rigspec explain figures` lists the figures that can be promised and asked for.\n"


def _page(rule: Rule, colour: bool, width: int) -> Iterator[str]:
    """One rule on one screen."""
    head = f"{rule.severity.value} {rule.name}: {rule.summary}"
    yield f"\x1b[1m{head}\x1b[0m\n\n" if colour else f"{head}\n\n"
    facts = (("why", rule.reason), ("limit", rule.limit), ("source", rule.authority), ("change", rule.cure))
    for word, text in facts:
        lead = f"{word:>8}: "
        for line in wrap(text, max(20, width - len(lead))):
            yield f"{lead}{line}\n"
            lead = " " * len(lead)
    for word, text in (("wrong", rule.bad), ("right", rule.good)):
        yield f"\n{word:>8}:\n"
        for line in text.rstrip("\n").split("\n"):
            yield f"{' ' * 10}{line}".rstrip() + "\n"
