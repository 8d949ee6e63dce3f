"""The rules, by family. Each family's file lists its rules in ``RULES``; the families are listed only here."""

from rigspec.rules import (
    carriers,
    files,
    inversions,
    leads,
    levels,
    loading,
    loads,
    polarity,
    powers,
    promises,
    reading,
    switches,
    unknown,
    unused,
    ways,
    wiring,
)
from rigspec.rules.rule import Rule

FAMILIES = (
    files,
    reading,
    wiring,
    carriers,
    switches,
    loads,
    unknown,
    unused,
    ways,
    powers,
    leads,
    levels,
    loading,
    polarity,
    inversions,
    promises,
)
RULES: dict[str, Rule] = {rule.name: rule for family in FAMILIES for rule in family.RULES}
