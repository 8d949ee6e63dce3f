"""Rules about what the text says: slips, names, units. They are found while the text is read and bound."""

from rigspec.rules.rule import Rule
from rigspec.text.finding import Severity

_LANGUAGE = "the rig language, grammar/reference.md"


def _rule(name: str, summary: str, reason: str, limit: str, cure: str, bad: str, good: str) -> Rule:
    """A rule of the language itself: what breaks it will not work."""
    return Rule(name, Severity.ERROR, summary, reason, limit, _LANGUAGE, cure, bad, good)


RULES = (
    _rule(
        "syntax",
        "a statement cannot be read",
        "what cannot be read is not checked, so a fault in this statement would stay hidden",
        "every statement follows the grammar, grammar/rigspec.lark",
        "write the statement as in the example that the finding shows",
        "feed { level 4 dBu }\n",
        "feed send { level 4 dBu }\nsend -> mon\nspeaker mon is active\n",
    ),
    _rule(
        "use-missing",
        "a used file cannot be had",
        "names from that file are unknown, so what depends on them is not checked",
        "a used file is a regular file *.rig inside the project's folder, not hidden there, and can be read",
        "give its path relative to this file, with forward slashes",
        'use "no-such-stock.rig"\n',
        'use "shelf.rig"\n--- shelf.rig\nstock speaker spare-box { impedance 8 ohm }\n',
    ),
    _rule(
        "use-loop",
        "files use each other in a circle",
        "each file here would have to be read before itself",
        "the files that a rig uses form a tree",
        "move what both need into a third file",
        'use "other.rig"\n--- other.rig\nuse "rig.rig"\n',
        'use "other.rig"\n--- other.rig\nstock speaker spare-box { impedance 8 ohm }\n',
    ),
    _rule(
        "list-loop",
        "a list holds itself",
        "what is in it would never come to an end, so nothing can be said of it",
        "a list may hold other lists that do not lead back to it",
        "name the things themselves",
        "amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 10 m -> s\ngroup all: tops, s\ngroup tops: all\n",
        "amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 10 m -> s\ngroup all: tops\ngroup tops: s\n",
    ),
    _rule(
        "name-unknown",
        "nothing has this name",
        "a path or a list that names nothing cannot be built or checked",
        "every name is declared once, in the rig or in a file it uses",
        "correct the name, or declare the thing",
        "amp bass is twin\nspeaker s is sub\nbas.1 -> lead 2.5 mm2 10 m -> s\n",
        "amp bass is twin\nspeaker s is sub\nbass.1 -> lead 2.5 mm2 10 m -> s\n",
    ),
    _rule(
        "name-twice",
        "a name is given twice",
        "it would not be known which of the two is meant",
        "things, rows, lists and stock kinds each have a name of their own",
        "rename one; members of a row must not overlap",
        "speaker s[1..2] is sub\nspeaker s[2..3] is sub\nspare s[*]\n",
        "speaker s[1..2] is sub\nspeaker s[3..4] is sub\nspare s[*]\n",
    ),
    _rule(
        "name-reserved",
        "a thing is called like a word of the language",
        "it would be read as a word of the language, not as a name",
        "statement words and the words for hops are no names",
        "choose another name",
        "speaker invert is sub\nspare invert\n",
        "speaker inverted_sub is sub\nspare inverted_sub\n",
    ),
    _rule(
        "kind-unknown",
        "a thing has no kind, or one that the stock does not hold",
        "without its data nothing can be computed for it",
        "amplifiers and loudspeakers are of a kind that a stock statement describes",
        "correct the kind's name, or describe it with `stock`",
        "speaker s is subb\nspare s\n",
        "speaker s is sub\nspare s\n",
    ),
    _rule(
        "member-unknown",
        "a row has no such member",
        "it is not clear which things are meant, or some of them do not exist",
        "members are those in the brackets of the declaration",
        "name members that exist, or declare more of them",
        "speaker s[1..2] is sub\nspare s[3]\n",
        "speaker s[1..2] is sub\nspare s[1], s[2]\n",
    ),
    _rule(
        "port-unknown",
        "a thing has no such channel, output, leg, line, pair or way",
        "the plug would find no socket",
        "the numbers that the stock or the thing's settings give",
        "use a number that exists, or say which one is meant",
        "amp bass is twin\nspeaker s is sub\nbass.3 -> lead 2.5 mm2 10 m -> s\n",
        "amp bass is twin\nspeaker s is sub\nbass.2 -> lead 2.5 mm2 10 m -> s\n",
    ),
    _rule(
        "setting-unknown",
        "a setting that nothing here takes",
        "it would be ignored, and its author would think that it counts",
        "the settings listed in the reference for this place",
        "correct the word; the finding lists what may stand here",
        "feed send { levle 4 dBu }\nsend -> mon\nspeaker mon is active\n",
        "feed send { level 4 dBu }\nsend -> mon\nspeaker mon is active\n",
    ),
    _rule(
        "setting-twice",
        "a setting is made twice",
        "order does not matter in this language, so neither can win",
        "each setting once for each thing",
        "keep one of the two",
        "feed send { level 4 dBu; level 0 dBu }\nsend -> mon\nspeaker mon is active\n",
        "feed send { level 4 dBu; peak 18 dBu }\nsend -> mon\nspeaker mon is active\n",
    ),
    _rule(
        "setting-value",
        "a setting says too little, too much or something else",
        "half a setting cannot be computed with",
        "what the reference says that the setting takes",
        "write it as in the example that the finding shows",
        "feed send { band 35 Hz }\nfeed other { level }\nsend -> mon\nother -> mon2\n"
        "speaker mon is active\nspeaker mon2 is active\n",
        "feed send { band 35 Hz to 95 Hz }\nsend -> mon\nspeaker mon is active\n",
    ),
    _rule(
        "unit-missing",
        "a bare number where a unit belongs",
        "a bare number could be metres or feet; nobody should have to guess",
        "every physical figure carries its unit",
        "write the unit behind the number",
        "amp bass is twin\nspeaker s is sub\nbass.1 -> lead 2.5 mm2 15 -> s\n",
        "amp bass is twin\nspeaker s is sub\nbass.1 -> lead 2.5 mm2 15 m -> s\n",
    ),
    _rule(
        "unit-unknown",
        "a unit that this language does not know",
        "a figure without a known unit cannot be computed with",
        "the units listed in the reference",
        "use one of the units that the finding proposes",
        "amp bass is twin\nspeaker s is sub\nbass.1 -> lead 2.5 mm2 15 metres -> s\n",
        "amp bass is twin\nspeaker s is sub\nbass.1 -> lead 2.5 mm2 15 m -> s\n",
    ),
    _rule(
        "unit-mismatch",
        "a figure of another kind than its place takes",
        "a level is not a gain and a length is not a size; mixing them gives wrong results",
        "the kinds of figure that the setting or hop takes",
        "write a figure of the right kind",
        "feed send { level 4 dB }\nsend -> mon\nspeaker mon is active\n",
        "feed send { level 4 dBu }\nsend -> mon\nspeaker mon is active\n",
    ),
    _rule(
        "figure-unknown",
        "a promise or a reading about a figure that does not exist",
        "it could never be kept or broken",
        "the figures listed in the reference under `expect`",
        "name one of them, with a value of its kind",
        "amp bass is twin\nspeaker s is sub\nbass.1 -> lead 2.5 mm2 9 m -> s\nexpect laod of bass.1 >= 4 ohm\n",
        "amp bass is twin\nspeaker s is sub\nbass.1 -> lead 2.5 mm2 9 m -> s\nexpect load of bass.1 >= 4 ohm\n",
    ),
    _rule(
        "allow-unknown",
        "an exception from a rule that does not exist, or without a reason",
        "it excuses nothing, or nobody will know why",
        '`allow RULE on THING because "..."` names a rule that `rigspec explain` lists',
        "correct the rule's name; give the reason",
        "amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 90 m -> s\n"
        'allow lead-los-high on s because "one night only"\n',
        "amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 90 m -> s\n"
        'allow lead-loss-high on s because "one night only"\n',
    ),
)
