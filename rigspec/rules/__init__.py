"""The rules, by family. Each family's file lists its rules in ``RULES``; the families are listed here and nowhere else."""

from rigspec.rules import reading
from rigspec.rules.rule import Rule

FAMILIES = (reading,)
RULES: dict[str, Rule] = {rule.name: rule for family in FAMILIES for rule in family.RULES}
