"""How a figure came about, as it is read."""

import json
from pathlib import Path

from rigspec.check import check
from rigspec.rig.model import Measure
from rigspec.show.why import DEEPEST, WIDTH, filled, nodes_of, shown, why_json, why_text
from rigspec.text.source import Refused, Source, Span
from rigspec.why import derive
from rigspec.why.working import Step, given, taken

RIG = Source("hall.rig", "lead 4 mm2 12 m\nspeaker s { impedance 8 ohm }\n")


def measure(text: str, kind: str, value: float) -> Measure:
    start = RIG.text.index(text)
    return Measure(kind, value, value, value, text, Span(RIG, start, start + len(text)))


LENGTH = given("length, one way", measure("12 m", "length", 12.0), "l")
PER_M = taken("resistance of one conductor", 0.00495, "resistance per length", "nobody said it", "r", "IEC 60228")
LEAD = Step("the lead", 0.1188, "resistance", "R", "2 * l * r", "", "circuit theory", rests_on=(LENGTH, PER_M))
BOX = given("rated impedance of s", measure("8 ohm", "resistance", 8.0), "Z")


def test_a_tree_is_read_like_this() -> None:
    load = Step("load of a.1", 8.1188, "resistance", "Z", "R + Z", "", "circuit theory", rests_on=(LEAD, BOX))
    share = Step(
        "voltage at s for 1 V", 8 / 8.1188, "number", "k", "Z / (R + Z)", "", "a divider", rests_on=(LEAD, BOX)
    )
    power = Step(
        "power into s", 97.1, "power", "P", "", "by hand", "a trade's habit", assumed="a sine", rests_on=(share, load)
    )
    turned = Step("polarity of s", "inverted", "", method="one turn", authority="circuit theory", rests_on=(LEAD,))
    assert why_text([("power", "s", power), ("polarity", "s", turned)]) == (
        """\
P: power into s = 97.1 W
  method: by hand
  source: a trade's habit
  assumed: a sine
  - k: voltage at s for 1 V = 0.985
    formula: Z / (R + Z)
    numbers: 8 / (0.1188 + 8)
    source: a divider
    - [1] R: the lead = 0.119 ohm
      formula: 2 * l * r
      numbers: 2 * 12 * 0.00495
      source: circuit theory
      - l: length, one way = 12 m, hall.rig:1 `12 m`
      - r: resistance of one conductor = 4.95 ohm/km
        source: IEC 60228
        assumed: nobody said it
    - Z: rated impedance of s = 8 ohm, hall.rig:2 `8 ohm`
  - Z: load of a.1 = 8.12 ohm
    formula: R + Z
    numbers: 0.1188 + 8
    source: circuit theory
    - R: the lead = 0.119 ohm, see [1]
    - Z: rated impedance of s = 8 ohm, hall.rig:2 `8 ohm`

polarity of s = inverted
  method: one turn
  source: circuit theory
  - R: the lead = 0.119 ohm, see [1]

In formulas figures are in m, ohm, ohm/m; ^ is a power.
"""
    )


def chain(length: int) -> Step:
    step = BOX
    for number in range(length):
        step = Step(f"behind lead {number}", 8.0 + number, "resistance", "Z", "R + Z", "", "-", rests_on=(LEAD, step))
    return step


def test_what_lies_deep_begins_a_list_of_its_own() -> None:
    length = 3 * DEEPEST
    text = why_text([("load", "a.1", chain(length))])
    lists = text.split("\n\n")
    assert [part.splitlines()[0] for part in lists[:-1]] == [
        "Z: behind lead 23 = 31 ohm",
        "[2] Z: behind lead 14 = 22 ohm",
        "[3] Z: behind lead 5 = 13 ohm",
    ]
    assert "- Z: behind lead 14 = 22 ohm, see [2] below" in lists[0]
    assert text.count("behind lead 14") == 2
    assert text.count("length, one way") == 1


def test_a_line_of_a_thousand_loudspeakers_is_no_harm() -> None:
    root = chain(1000)
    text = why_text([("load", "a.1", root)])
    assert all(f"behind lead {number} = " in text for number in range(1000))
    assert len(json.loads(why_json("hall.rig", [("load", "a.1", root)]))["steps"]) == 1000 + 4


def test_equal_steps_are_one_whoever_made_them() -> None:
    one, two = (Step("x", 1.0, "number", symbol, rests_on=(LENGTH,), method="m") for symbol in ("a", "b"))
    nodes, roots = nodes_of([Step("sum", 2.0, "number", "s", "a + b", rests_on=(one, two))])
    assert len(nodes) == 3
    assert nodes[roots[0]].below == (("a", 1), ("b", 1))
    other = Step("x", 1.5, "number", "a", rests_on=(LENGTH,), method="m")
    assert len(nodes_of([one, other])[0]) == 3


def test_numbers_take_the_place_of_symbols_and_of_nothing_else() -> None:
    symbols = {"L": taken("", -3.25, "gain", ""), "L_1": taken("", 1e-7, "gain", ""), "sign": Step("", "normal", "")}
    assert (
        filled("max(L, L_1) + Lx * 10^(L/20) + sign", symbols) == "max((-3.25), 1e-07) + Lx * 10^((-3.25)/20) + normal"
    )


def test_values_are_shown_in_the_units_of_the_trade() -> None:
    assert shown(taken("", 287.15, "temperature", "")) == "14 degC"
    assert shown(taken("", 0.031, "resistance", "")) == "31 mohm"
    assert shown(Step("", "inverted", "")) == "inverted"


def test_long_texts_are_wrapped_and_nothing_acts_on_the_terminal() -> None:
    long = Step("a name " * 30, 1.0, "number", "a", " + ".join(["b"] * 90), assumed="\x1b[2J why " * 20)
    text = why_text([("load", "a", long)])
    assert max(map(len, text.splitlines())) <= WIDTH
    assert "\x1b" not in text
    assert text.splitlines()[1].startswith("  ")


def test_the_working_of_a_sample_stands_on_its_lines() -> None:
    path = Path(__file__).parents[2] / "samples" / "opposed-bass.rig"

    def load(using: str, used: str) -> Source | Refused:
        file = Path(using).parent / used
        return Source(str(file), file.read_text(encoding="utf-8"))

    figures = check(Source(str(path), path.read_text(encoding="utf-8")), load).figures
    step = derive(figures, "power", "sub[2]")
    assert step is not None
    text = why_text([("power", "sub[2]", step)])
    assert text.startswith("P: power into sub[2] with bass.1 at its rated output = 427 W\n  formula: (U * k)^2 / Z\n")
    told = json.loads(why_json(str(path), [("power", "sub[2]", step)]))
    for each in told["steps"]:
        if each["place"]:
            file = Path(each["place"]["path"]).read_text(encoding="utf-8").splitlines()
            line, column = each["place"]["line"], each["place"]["column"]
            assert file[line - 1][column - 1 :].startswith(each["place"]["text"].splitlines()[0])
