"""What may be written otherwise without a change: layout, comments, order, units, names, and the cut into files."""

from __future__ import annotations

import random
import re

import pytest
from checking import assert_same_figures, channel_figures, checked, laws, said
from hypothesis import given
from hypothesis import strategies as st
from model import Rig
from restyle import boundaries, line_may_end, real, respelt, restyled
from rigs import rigs

from rigspec.language.format import Unprovable, canonical
from rigspec.language.reader import parse
from rigspec.language.syntax import File, Node
from rigspec.text.source import Source

SEEDS = st.integers(0, 2**32 - 1)


def read(text: str) -> File:
    return parse(Source("test.rig", text))


def nodes(file: File) -> list[Node | None]:
    return [statement.node for statement in file.statements]


def comments(file: File) -> list[tuple[int, str]]:
    """Every comment with the number of its statement, found anew from the statements' own tokens."""
    found = []
    for number, statement in enumerate(file.statements):
        found += [(number, comment.text) for token in statement.tokens for comment in token.comments]
        found += [(number, statement.after.text)] if statement.after else []
    return found + [(len(file.statements), comment.text) for comment in file.tail]


def hashes(text: str) -> list[str]:
    """The comments of a text, found without the reader: from `#` outside double quotes to the end of its line."""
    return [match[1].rstrip() for match in re.finditer(r'"(?:[^"\\\n]|\\.)*"|(#[^\n]*)', text) if match[1] is not None]


def texts(rig: Rig) -> list[str]:
    return [statement.text for statement in rig.statements()]


# ---- layout ---------------------------------------------------------------------------------------------------------


@given(rigs(), SEEDS)
@laws(100)
def test_layout_means_nothing_and_the_canonical_form_is_fixed_and_keeps_all_comments(rig: Rig, seed: int) -> None:
    plain, text = read(rig.text), restyled(texts(rig), seed)
    loose = read(text)
    assert not plain.slips
    assert not loose.slips
    assert nodes(loose) == nodes(plain)
    assert [comment for _, comment in comments(loose)] == hashes(text)
    formatted = canonical(Source("test.rig", text))
    tidy = read(formatted)
    assert nodes(tidy) == nodes(plain)
    assert comments(tidy) == comments(loose)
    assert canonical(Source("test.rig", formatted)) == formatted
    assert max(len(line.partition("#")[0].rstrip()) for line in formatted.split("\n")) <= 180
    assert not re.search(r"[ \t]\n|\n\n\n|\r|\t", formatted)


@given(rigs(), SEEDS)
@laws(30)
def test_figures_and_names_are_kept_as_their_author_spelt_them(rig: Rig, seed: int) -> None:
    text = restyled(texts(rig), seed)

    def spelt(some: str) -> list[str]:
        return ["".join(token.text.split()) for token in real(some) if token.kind != "SEP"]

    assert spelt(canonical(Source("test.rig", text))) == spelt(text)


@given(rigs(), st.data())
@laws(25)
def test_a_comment_at_every_token_boundary_is_kept_and_never_changes_a_meaning_unsaid(
    rig: Rig, data: st.DataObject
) -> None:
    everything = texts(rig)
    for number in data.draw(st.sets(st.integers(0, len(everything) - 1), min_size=5, max_size=8)):
        neighbours = (everything[number - 1], everything[(number + 1) % len(everything)])
        for before, after, bracket in boundaries(everything[number]):
            for indent in ("    ", ""):
                same = inject(neighbours, everything[number], before.end, after.start, indent)
                if not same:
                    must_be_told(everything, number, before.end, after.start, indent)
                if line_may_end(before, after, bracket) and indent:
                    must_be_allowed(neighbours, everything[number], before.end, after.start)


def around(neighbours: tuple[str, str], statement: str) -> str:
    return f"{neighbours[0]}\n{statement}\n{neighbours[1]}\n"


def inject(neighbours: tuple[str, str], statement: str, end: int, start: int, indent: str) -> bool:
    """A comment and a line end there: no less and no more than the line end alone, and no comment is lost.

    True if what they do is nothing, a slip, or, inside braces, what `;` does in their place.
    """

    def put(gap: str) -> str:
        return around(neighbours, f"{statement[:end]}{gap}{statement[start:]}")

    text = put(f" # c\n{indent}")
    file, bare, plain = read(text), read(put(f"\n{indent}")), read(around(neighbours, statement))
    assert [comment for _, comment in comments(file)] == ["# c"]
    assert nodes(file) == nodes(bare)
    assert len(file.slips) == len(bare.slips)
    if file.slips:
        with pytest.raises(Unprovable):
            canonical(Source("test.rig", text))
        return True
    formatted = canonical(Source("test.rig", text))
    assert nodes(read(formatted)) == nodes(file)
    assert comments(read(formatted)) == comments(file)
    return nodes(file) == nodes(plain) or nodes(file) == nodes(read(put(" ; ")))


def must_be_told(everything: list[str], number: int, end: int, start: int, indent: str) -> None:
    """A line end that cuts one right statement into two right ones leaves a name, and the check says so."""
    statement = everything[number]
    cut = [*everything[:number], f"{statement[:end]} # c\n{indent}{statement[start:]}", *everything[number + 1 :]]
    before, after = checked("\n".join(everything)), checked("\n".join(cut))
    told = {finding.rule for finding in after.findings} - {finding.rule for finding in before.findings}
    assert told & {"name-unknown", "kind-unknown", "gear-misplaced", "lead-incomplete"}, cut[number]


def must_be_allowed(neighbours: tuple[str, str], statement: str, end: int, start: int) -> None:
    text = around(neighbours, f"{statement[:end]} # c\n    {statement[start:]}")
    file = read(text)
    assert nodes(file) == nodes(read(around(neighbours, statement))), text
    assert [number for number, _ in comments(file)] == [1], text


@pytest.mark.parametrize(
    "text",
    [
        "# c\na -> b",
        "a -> b  # c",
        "a # c\n  -> b",
        "a -> # c\n  b",
        "a -> parallel( # c\nseries # c\n( # c\nb # c\n, # c\nlead\n2 mm2 # c\n9 m # c\n-> e # c\n) # c\n, d # c\n)",
        "group g: # c\n  a # c\n  , # c\n  b",
        "amp x is y { # c\n  gain 3 dB # c\n  # c\n  rated 5 W # c\n  , # c\n  6 W # c\n  # c\n}  # c",
        "amp x is y { # c\n} # c",
        "expect load of a, # c\n  b # c\n  , c >= 4 ohm # c",
        "stock speaker k { low { # c\n impedance 8 ohm # c\n; # c\n } # c\n }",
    ],
)
def test_places_where_comments_may_stand(text: str) -> None:
    file = read(text + "\n")
    assert not file.slips
    assert nodes(file) == nodes(read(re.sub(r" # c\n|# c\n", "\n", text)))
    assert [number for number, _ in comments(file)] == [0] * text.count("# c")
    assert comments(read(canonical(Source("test.rig", text)))) == comments(file)


# ---- order, units, files, names --------------------------------------------------------------------------------------


@given(rigs(), st.randoms(use_true_random=False))
@laws(60)
def test_order_of_statements_changes_nothing(rig: Rig, dice: random.Random) -> None:
    everything = texts(rig)
    before = checked("\n".join(everything))
    dice.shuffle(everything)
    after = checked("\n".join(everything))
    assert said(after) == said(before)
    assert_same_figures(channel_figures(after), channel_figures(before))


@given(rigs(), SEEDS)
@laws(80)
def test_spelling_of_units_changes_nothing(rig: Rig, seed: int) -> None:
    dice = random.Random(seed)
    before, after = checked(rig.text), checked("\n".join(respelt(text, dice) for text in texts(rig)))
    assert_same_figures(channel_figures(after), channel_figures(before))

    def verdicts(report: object) -> list[tuple[object, ...]]:
        # At one place findings stand by their words, which quote figures as they are spelt.
        return sorted((rule, severity, subject) for *_, rule, severity, subject, _ in said(report))  # type: ignore

    assert verdicts(after) == verdicts(before)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("500 W", "0.5 kW"),
        ("15 m", "1500 cm"),
        ("4 dBu", "1.781512503836 dBV"),
        ("8 \u2126", "8 \u03a9"),
        ("8 ohm", "8 \u2126"),
        ("5 \u00b5s", "5 \u03bcs"),
        ("5 us", "0.005 ms"),
        ("1/8", "0.125"),
        ("12.5 %", "0.125e2 %"),
        ("12 in", "1 ft"),
        ("0 degC", "273.15 K"),
    ],
)
def test_two_spellings_of_one_figure(one: str, other: str) -> None:
    from rigspec.language.settings import TABLES
    from rigspec.language.syntax import Setting, Thing
    from rigspec.rig.faults import Faults
    from rigspec.rig.measures import measure

    kinds = sorted({kind for table in TABLES.values() for field in table.values() for kind in field.kinds} | {"number"})
    values = []
    for text in (one, other):
        node = read(f"panel p {{ x {text} }}").statements[0].node
        assert isinstance(node, Thing)
        assert node.block is not None
        setting: Setting = node.block.settings[0]
        faults = Faults()
        found = measure(setting.items[0].atoms[0], kinds, faults)  # type: ignore[arg-type]
        assert not faults.found
        assert found is not None
        values.append((found.kind, found.value))
    assert values[0][0] == values[1][0]
    assert values[0][1] == pytest.approx(values[1][1], rel=1e-11)


@pytest.mark.parametrize("limit", ["2.7 ohm", "2700 mohm", "0.0027 kohm", "2.70 \u2126"])
def test_a_limit_that_is_a_rounded_fraction_is_kept_by_the_fraction_in_every_spelling(limit: str) -> None:
    # Three boxes of 8 ohm are 8/3 ohm, which data sheets print as 2.7 (design: compare with printed precision in mind).
    assert "load-too-low" not in rules_broken(limit, 3, "8 ohm")
    assert "load-too-low" in rules_broken(limit, 4, "8 ohm")


@pytest.mark.parametrize("limit", ["4 ohm", "0.004 kohm", "4000 mohm", "4.0 ohm", "4.00 \u03a9"])
def test_a_limit_of_a_whole_number_is_that_number_in_every_spelling(limit: str) -> None:
    assert "load-too-low" not in rules_broken(limit, 2, "8 ohm")
    assert "load-too-low" in rules_broken(limit, 2, "7.9 ohm")


def rules_broken(limit: str, boxes: int, impedance: str) -> set[str]:
    report = checked(
        f"stock amp a {{ channels 1; rated 900 W at 8 ohm; least-load {limit} }}\namp x is a\n"
        f"stock speaker k {{ impedance {impedance} }}\nspeaker b[1..{boxes}] is k\nx.1 -> b[*] linked 2.5 mm2 0 m\n"
    )
    return {finding.rule for finding in report.findings}


@given(rigs(), SEEDS)
@laws(60)
def test_a_rig_cut_into_files_is_the_same_rig(rig: Rig, seed: int) -> None:
    dice = random.Random(seed)
    parts: list[list[str]] = [[], [], []]
    for text in texts(rig):
        parts[dice.randrange(3)].append(text)
    for number, path in ((0, "house.rig"), (1, "gear.rig")):  # each uses the next
        parts[number].insert(dice.randrange(len(parts[number]) + 1), f'use "{path}"')
    files = {"house.rig": "\n".join(parts[1]), "gear.rig": "\n".join(parts[2])}
    before, after = checked(rig.text), checked("\n".join(parts[0]), files)
    assert said(after) == said(before)
    assert_same_figures(channel_figures(after), channel_figures(before))
    assert after.files == ("test.rig", "house.rig", "gear.rig")


_named = re.compile(r"(?!L\d)[A-Za-z][\w-]*\d+(?:-kind)?").fullmatch  # what rigs() calls things


@given(rigs(words=False))
@laws(60)
def test_other_names_change_nothing_but_the_names(rig: Rig) -> None:
    words = {token.text for text in texts(rig) for token in real(text) if token.kind == "NAME"}
    # Where one of several things is named as an example, it is the first by name: the new names keep that order.
    other = {name: f"n{number:03}-zz\u00e9" for number, name in enumerate(sorted(filter(_named, words)))}

    def renamed(text: str) -> str:
        return re.sub(r"(?<![\w-])[A-Za-z][\w-]*", lambda match: other.get(match[0], match[0]), text)

    def by_token(text: str) -> str:
        parts, end = [], 0
        for token in real(text):
            parts += [text[end : token.start], other.get(token.text, token.text)]
            end = token.end
        return "".join(parts)

    before, after = checked(rig.text), checked("\n".join(map(by_token, texts(rig))))
    assert said(after) == sorted(said(before, renamed))
    assert_same_figures(channel_figures(after), channel_figures(before, renamed))
