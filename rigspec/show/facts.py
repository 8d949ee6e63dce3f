"""What a finding has to say beside its message, in the order in which an engineer asks."""

import re
from collections.abc import Iterator

from rigspec.text.finding import Finding

# That nobody has seen a value in its standard is said where the rule is explained, and not at each finding.
_UNSEEN = re.compile(r",? from memory| \(from memory\)")


def facts(finding: Finding) -> Iterator[tuple[str, str]]:
    """Pairs of a word and what stands behind it: computed, allowed, certain, assumes, why, change, fix;
    empty ones left out.

    The authority follows the limit that it sets; without a limit it follows the reason.
    """
    for word, text in _facts(finding):
        yield word, _UNSEEN.sub("", text)


def _facts(finding: Finding) -> Iterator[tuple[str, str]]:
    authority = f" ({finding.authority})" if finding.authority else ""
    if finding.computed:
        yield "computed", finding.computed
    if finding.allowed:
        yield "allowed", finding.allowed + authority
    if finding.possible:
        decides = f"; {finding.decides}" if finding.decides else ""
        yield "certain", f"no: possible within the tolerances and ranges that are said{decides}"
    elif finding.decides:
        yield "certain", f"yes, whatever the tolerances leave open; {finding.decides}"
    for assumption in finding.assumes:
        yield "assumes", assumption
    if finding.reason:
        yield "why", finding.reason + ("" if finding.allowed else authority)
    elif finding.authority and not finding.allowed:
        yield "source", finding.authority
    if finding.help:
        yield "change", finding.help
    if finding.fix:
        yield "fix", f"{finding.fix.title} (rigspec check --fix)"
