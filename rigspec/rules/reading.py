"""Rules about what the text says: slips, names, units. They are found while the text is read and bound."""

from rigspec.finding import Severity
from rigspec.rules.rule import Rule

RULES = (
    Rule(
        name="syntax",
        severity=Severity.ERROR,
        summary="a statement cannot be read",
        reason="what cannot be read is not checked, so a fault in this statement would stay hidden",
        limit="every statement follows the grammar",
        authority="the rig language's grammar, grammar/rigspec.lark",
        cure="write the statement as in the example that the finding shows",
        bad="feed { level 4 dBu }\n",
        good="feed send { level 4 dBu }\n",
    ),
)
