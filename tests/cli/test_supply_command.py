"""`rigspec supply`: what opposed drive is worth, as an engineer types it."""

import csv
import io
import json
import subprocess
import sys
from pathlib import Path
from time import perf_counter
from xml.etree import ElementTree

import pytest
from running import SLIP, Run

STOCK = """\
stock amp soft {
  channels 2
  rated 900 W at 4 ohm, 550 W at 8 ohm
  rated 980 W at 4 ohm alone
  gain 32 dB
  stage class-ab
  supply { transformer; shared; capacitance 10 mF ± 10 % }
}
stock speaker sub { impedance 4 ohm; rated 1200 W continuous }
feed send { level -8 dBu; band 35 Hz to 95 Hz }
"""
PAIR = """\
amp a is soft
speaker s[1..2] is sub
send -> a.1 -> s[1]
send -> a.2 -> s[2]
group subs: s[*]
"""
OPPOSED = PAIR.replace("send -> a.2 -> s[2]", "send -> invert -> a.2 -> invert -> s[2]")


def written(folder: Path, rig: str, name: str = "hall.rig", mains: str = "230 V 50 Hz") -> str:
    (folder / name).write_text(f'rig "hall" {{ mains {mains} }}\n{STOCK}{rig}', encoding="utf-8")
    return name


def table(run: Run, *words: str) -> list[dict[str, str]]:
    ran = run("supply", *words, "--as", "csv")
    assert (ran.code, ran.err) == (0, "")
    return list(csv.DictReader(io.StringIO(ran.out)))


@pytest.mark.parametrize(
    ("band", "tones"),
    [
        ("35 Hz to 95 Hz", [35, 40, 50, 55, 63, 80]),
        ("35 Hz to 60 Hz", [35, 40, 50, 55]),
        ("58 Hz to 300 Hz", [58, 63, 80, 100]),
        ("125 Hz to 300 Hz", []),
    ],
)
def test_tones_run_through_the_band_of_the_feed_up_to_120_hz(
    band: str, tones: list[float], folder: Path, run: Run
) -> None:
    name = written(folder, PAIR)
    text = (folder / name).read_text(encoding="utf-8")
    (folder / name).write_text(text.replace("35 Hz to 95 Hz", band), encoding="utf-8")
    rows = table(run, name)
    assert [float(row["tone_hz"]) for row in rows] == tones
    assert all(row["channels"] == "a.1 and a.2" for row in rows)
    assert all(row["method"] == "simulation" for row in rows)


def test_opposed_or_in_phase_the_figures_are_the_same_and_the_state_is_told(folder: Path, run: Run) -> None:
    as_it_is, opposed = table(run, written(folder, PAIR)), table(run, written(folder, OPPOSED, "opposed.rig"))
    assert {row["state"] for row in as_it_is} == {"in phase"}
    assert {row["state"] for row in opposed} == {"opposed"}
    for one, other in zip(as_it_is, opposed, strict=True):
        assert float(one["gain_percent"]) == pytest.approx(float(other["gain_percent"]))


def test_the_gain_is_that_of_the_powers_and_lies_in_its_range(folder: Path, run: Run) -> None:
    for row in table(run, written(folder, PAIR)):
        figures = {key: float(value) for key, value in row.items() if key.endswith(("_percent", "_watt"))}
        assert figures["low_percent"] < figures["gain_percent"] < figures["high_percent"]
        assert figures["opposed_watt"] / figures["in_phase_watt"] - 1 == pytest.approx(figures["gain_percent"] / 100)


def test_a_share_that_is_said_narrows_the_range_and_moves_the_gain(folder: Path, run: Run) -> None:
    """What both rails have in common: nobody says it, half of it, three quarters."""
    wide, half, more = (
        table(run, written(folder, PAIR.replace("is soft", f"is soft {{ supply {{ {said} }} }}"), f"{number}.rig"))
        for number, said in enumerate(("capacitance 10 mF", "common 50 %", "common 75 %"))
    )
    for each in ("low_percent", "gain_percent", "high_percent"):
        assert all(row[each] for row in (*wide, *half, *more))
    assert [row["gain_percent"] for row in wide] == [row["gain_percent"] for row in half]
    assert [row["gain_percent"] for row in more] != [row["gain_percent"] for row in half]
    said = " ".join(run("supply", "0.rig").out.split())
    assert "half of its source is taken as common to both rails: no `common` is given" in said
    assert "common" not in run("supply", "1.rig").out


def test_ratings_hold_at_1_khz_unless_another_tone_is_said(folder: Path, run: Run) -> None:
    """At 60 Hz the rails sag more than at 1 kHz, so a supply that is rated there is a stiffer one."""
    at_bass = PAIR.replace("is soft", "is soft { rated-at 60 Hz }")
    silent, low = table(run, written(folder, PAIR)), table(run, written(folder, at_bass, "low.rig"))
    assert "a is taken as rated at 1 kHz: no `rated-at` is given" in " ".join(run("supply", "hall.rig").out.split())
    assert "taken as rated" not in run("supply", "low.rig").out
    assert float(low[0]["in_phase_watt"]) > float(silent[0]["in_phase_watt"])
    near = next(row for row in low if row["tone_hz"] == "63")
    assert float(near["in_phase_watt"]) == pytest.approx(900, rel=0.02)


def test_a_tone_a_burst_and_a_hit_stand_side_by_side(folder: Path, run: Run) -> None:
    out = run("supply", written(folder, PAIR)).out
    for piece in ("lasting tone", "burst of 4 cycles", "kick, sharp start", "kick, start of 5 ms"):
        assert piece in out
    assert "kick drum gains between" in " ".join(out.split())
    document = json.loads(run("supply", "hall.rig", "--as", "json").out)
    (pair,) = document["amplifiers"][0]["pairs"]
    tone = next(each for each in pair["tones"] if each["tone_hz"] == 50)
    lasting = next(each for each in pair["hits"] if each["signal"] == "lasting tone")
    assert lasting["in_phase_peak_watt"] == pytest.approx(2 * tone["in_phase_watt"])
    assert lasting["gain_percent"] == pytest.approx(tone["gain_percent"])


def test_powers_are_those_of_each_channel_however_many_share(folder: Path, run: Run) -> None:
    """At 100 Hz about the rated power with all driven: 900 W."""
    ratings = "rated 900 W at 4 ohm; rated 1050 W at 4 ohm alone"
    four = PAIR.replace("a is soft", f"a is soft {{ channels 4; {ratings}; supply {{ capacitance 30 mF }} }}")
    four = four.replace("s[1..2]", "s[1..4]") + "send -> a.3 -> s[3]\nsend -> a.4 -> s[4]\n"
    row = table(run, written(folder, four))[-1]
    assert float(row["in_phase_watt"]) == pytest.approx(900, rel=0.1)
    assert row["channels"] == "a.1 and a.2 and a.3 and a.4"


def test_a_tolerance_of_the_reservoir_widens_the_range(folder: Path, run: Run) -> None:
    exact = written(folder, PAIR.replace("is soft", "is soft { supply { capacitance 10 mF } }"), "exact.rig")
    wide, narrow = table(run, written(folder, PAIR))[0], table(run, exact)[0]
    assert float(wide["low_percent"]) < float(narrow["low_percent"])
    assert float(wide["high_percent"]) > float(narrow["high_percent"])
    assert wide["gain_percent"] == narrow["gain_percent"]


def test_people_get_a_table_a_plot_and_a_verdict(folder: Path, run: Run) -> None:
    ran = run("supply", written(folder, OPPOSED))
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.isascii()
    assert max(map(len, ran.out.splitlines())) <= 100
    for piece in (
        "opposed, with both inversions there",
        "walk test",
        "O gain in power when opposed",
        "what one can just hear",
        "Simulated, with a supply that gives the ratings",
        "The mains see no relief",
        "Nothing of this was measured on a real amplifier",
        "Assumed: loads are taken as resistances",
    ):
        assert piece in " ".join(ran.out.split()), piece


@pytest.mark.parametrize(
    ("supply", "piece"),
    [
        ("transformer; separate; capacitance 10 mF", "nothing to give here: each channel has its own supply"),
        ("switch-mode; regulated; shared", "nothing to give here: its supply is regulated"),
        (
            "switch-mode; shared",
            "No number: in a switch-mode supply only the resistance in series with each rail counts",
        ),
        ("transformer; shared; source 50 ohm; rail 100 V", "No number: under these loads its rails collapse"),
        ("transformer; shared; source 1 mohm; rail 1 V", "No number: under these loads its rails collapse"),
        ("transformer; shared; capacitance 4 mF", "No number: x = mains frequency x load x capacitance = 0.80"),
    ],
)
def test_no_number_without_a_reason_for_one(supply: str, piece: str, folder: Path, run: Run) -> None:
    rig = PAIR.replace("is soft", f"is soft {{ supply {{ {supply} }} }}")
    ran = run("supply", written(folder, rig))
    assert piece in " ".join(ran.out.split())
    assert all(row["gain_percent"] == "" and row["why"] for row in table(run, "hall.rig"))


def test_an_unknown_reservoir_gives_the_direction_and_the_reason(folder: Path, run: Run) -> None:
    text = STOCK.replace("; capacitance 10 mF ± 10 %", "")
    (folder / "hall.rig").write_text(f'rig "hall" {{ mains 230 V 50 Hz }}\n{text}{PAIR}', encoding="utf-8")
    said = " ".join(run("supply", "hall.rig").out.split())
    assert "No number: the capacitance of its rails is not given" in said
    assert "Opposed drive gives more power below 50 Hz, and nothing or a little less above 60 Hz" in said


def test_series_resistance_is_all_that_counts_in_a_switch_mode_supply(folder: Path, run: Run) -> None:
    rig = PAIR.replace("is soft", "is soft { supply { switch-mode; shared; source 0.2 ohm } }")
    rows = table(run, written(folder, rig))
    assert {row["method"] for row in rows} == {"rail resistance"}
    assert {round(float(row["gain_percent"]), 2) for row in rows} == {round(100 * ((4.4 / 4.2) ** 2 - 1), 2)}


@pytest.mark.parametrize(
    ("stage", "piece"),
    [
        ("half-bridge", "at full output a half-bridge stage takes its current from one rail"),
        ("class-h", "at full output a class-H stage takes its current from the upper rails"),
    ],
)
def test_stages_of_other_sorts_have_a_figure_where_resistance_alone_gives_it(
    stage: str, piece: str, folder: Path, run: Run
) -> None:
    resistive = f"is soft {{ stage {stage}; supply {{ switch-mode; shared; source 0.2 ohm }} }}"
    rows = table(run, written(folder, PAIR.replace("is soft", resistive)))
    assert {round(float(row["gain_percent"]), 2) for row in rows} == {round(100 * ((4.4 / 4.2) ** 2 - 1), 2)}
    assert piece in " ".join(run("supply", "hall.rig").out.split())


def test_on_a_mains_transformer_half_bridges_gain_less_and_class_h_tells_why_it_has_no_figure(
    folder: Path, run: Run
) -> None:
    """A half bridge gives back what a linear stage would burn, so its rails sag less (circuit simulation)."""
    linear = table(run, written(folder, PAIR))
    half = table(run, written(folder, PAIR.replace("is soft", "is soft { stage half-bridge }"), "half.rig"))
    assert {row["method"] for row in half} == {"simulation"}
    assert 0 < float(half[0]["gain_percent"]) < float(linear[0]["gain_percent"])
    (row,) = table(run, written(folder, PAIR.replace("is soft", "is soft { stage class-h }"), "h.rig"))
    assert row["gain_percent"] == ""
    assert "a class-H stage draws on its upper rails near the peak alone" in row["why"]


@pytest.mark.parametrize(
    ("rig", "line"),
    [
        (
            PAIR.replace("is soft", "is soft { supply { transformer; separate } }"),
            "Opposed drive has nothing to give here: each channel has its own supply, so none relieves the other (a).",
        ),
        (
            PAIR.replace("send -> a.2 -> s[2]\n", "spare a.2, s[2]\n"),
            "Opposed drive has nothing to give here: no more than one of its channels is driven (a).",
        ),
    ],
)
def test_a_rig_without_shared_supplies_gets_one_line(rig: str, line: str, folder: Path, run: Run) -> None:
    out = run("supply", written(folder, rig)).out
    assert " ".join(out.split()) == f"hall {line}"


def test_supply_figures_have_their_working(folder: Path, run: Run) -> None:
    asked = run("figures", written(folder, PAIR), "--why", "opposed-gain of a.1").out
    gain = float(table(run, "hall.rig")[0]["gain_percent"])
    assert f"when opposed = {gain:.3g} %" in asked
    for piece in ("P_opp / P_in - 1", "rated power with all driven at 4 ohm = 900 W", "reservoir of each rail = 10 mF"):
        assert piece in asked
    supply = "switch-mode; shared; capacitance 2 mF; rail 100 V; trip 120 V"
    climbing = PAIR.replace("is soft", f"is soft {{ stage half-bridge; supply {{ {supply} }} }}")
    assert (
        "dV: climb of a resting rail"
        in run("figures", written(folder, climbing, "climb.rig"), "--why", "climb of a.1").out
    )


def test_the_gain_can_be_promised(folder: Path, run: Run) -> None:
    kept, broken = PAIR + "expect opposed-gain of a.1 >= 5 %\n", PAIR + "expect opposed-gain of a.1 >= 90 %\n"
    assert "90 %" not in run("check", written(folder, kept)).out
    assert "90 %" in run("check", written(folder, broken, "b.rig")).out


def test_a_supply_that_is_described_in_full_speaks_below_the_least_reservoir_too(folder: Path, run: Run) -> None:
    rig = PAIR.replace("is soft", "is soft { supply { capacitance 4 mF; source 0.15 ohm; rail 100 V } }")
    rows = table(run, written(folder, rig))
    assert {row["method"] for row in rows} == {"simulation"}
    assert float(rows[0]["gain_percent"]) > 20
    assert "Simulated as the supply is described" in " ".join(run("supply", "hall.rig").out.split())


def test_a_rating_that_is_missing_follows_from_class_b_and_that_is_said(folder: Path, run: Run) -> None:
    text = STOCK.replace("  rated 980 W at 4 ohm alone\n", "").replace("550 W", "490 W")
    (folder / "hall.rig").write_text(f'rig "hall" {{ mains 230 V 50 Hz }}\n{text}{PAIR}', encoding="utf-8")
    said = " ".join(run("supply", "hall.rig").out.split())
    assert "Assumed: no rating of a with one channel driven is given" in said
    missing = table(run, "hall.rig")
    given = table(run, written(folder, PAIR))  # 980 W alone are twice 490 W
    assert [row["gain_percent"] for row in missing] == [row["gain_percent"] for row in given]


def test_half_bridges_tell_how_far_their_rails_climb(folder: Path, run: Run) -> None:
    supply = "switch-mode; shared; capacitance 2 mF; rail 100 V; trip 120 V"
    rig = PAIR.replace("is soft", f"is soft {{ stage half-bridge; supply {{ {supply} }} }}")
    document = json.loads(run("supply", written(folder, rig), "--as", "json").out)
    (pump,) = document["amplifiers"][0]["pumping"]
    assert pump["tone_hz"] == 35
    assert pump["in_phase_volt"] == pytest.approx(2 * 0.05066 * 100 / (35 * 4 * 0.002), rel=1e-3)
    assert pump["opposed_volt"] == 0
    assert pump["reached"]
    assert "it protects itself at 120 V, which is reached" in " ".join(run("supply", "hall.rig").out.split())


def test_pumping_is_reckoned_at_what_arrives_where_that_is_less_than_the_worst(folder: Path, run: Run) -> None:
    supply = "switch-mode; shared; capacitance 2 mF; rail 100 V; trip 120 V"
    rig = PAIR.replace("is soft", f"is soft {{ stage half-bridge; supply {{ {supply} }} }}")
    name = written(folder, rig)
    text = (folder / name).read_text(encoding="utf-8")
    (folder / name).write_text(text.replace("level -8 dBu;", "level -20 dBu; peak -8 dBu;"), encoding="utf-8")
    (pump,) = json.loads(run("supply", name, "--as", "json").out)["amplifiers"][0]["pumping"]
    arrives = 2**0.5 * 0.7746 * 10 ** ((-8 + 32) / 20) / 100  # -8 dBu, 32 dB of gain, over 100 V
    assert pump["swing_percent"] / 100 == pytest.approx(arrives, rel=1e-3)
    assert pump["rise_volt"] < 2 * 0.05066 * 100 / (35 * 4 * 0.002)


def test_curves_are_drawn_to_a_file_and_to_standard_output(folder: Path, run: Run) -> None:
    name = written(folder, PAIR.replace("subs", "subs"))
    ran = run("supply", name, "--curve", "bass.svg")
    assert (ran.code, ran.err) == (0, "")
    drawn = (folder / "bass.svg").read_text(encoding="utf-8")
    assert run("supply", name, "--as", "svg").out == drawn
    root = ElementTree.fromstring(drawn)
    lines = [each for each in root.iter() if each.tag.endswith("polyline")]
    dashes = {each.get("stroke-dasharray") for each in lines}
    words = " ".join(each.text or "" for each in root.iter() if each.tag.endswith("text"))
    for title in ("power per channel", "gain of a lasting tone when opposed", "gain by reservoir of a rail"):
        assert title in words
    assert {None, "7 4"} <= dashes, "each curve has a dash of its own"


def test_a_curve_goes_nowhere_but_into_an_svg(folder: Path, run: Run) -> None:
    name = written(folder, PAIR)
    before = (folder / name).read_text(encoding="utf-8")
    ran = run("supply", name, "--curve", name)
    assert ran.code == 2
    assert "the curves are written as SVG" in ran.err
    assert (folder / name).read_text(encoding="utf-8") == before
    assert run("supply", name, "--curve", "no/such/folder/a.svg").code == 2


def test_an_amplifier_is_asked_for_by_its_name(folder: Path, run: Run) -> None:
    rig = PAIR + PAIR.replace("amp a", "amp b").replace("s[1..2]", "t[1..2]").replace("a.", "b.").replace(
        "s[", "t["
    ).replace("group subs", "group more").replace("amp b is", "amp b is")
    name = written(folder, rig)
    assert {row["amplifier"] for row in table(run, name)} == {"a", "b"}
    assert {row["amplifier"] for row in table(run, name, "b")} == {"b"}
    ran = run("supply", name, "c")
    assert ran.code == 2
    assert "no amplifier c" in ran.err


def test_a_rig_with_slips_shows_what_it_can_and_says_so(folder: Path, run: Run) -> None:
    ran = run("supply", written(folder, PAIR + SLIP))
    assert ran.code == 1
    assert "has an error" in ran.err
    assert run("supply", "nowhere.rig").code == 2


def test_sixty_hertz_mains_shift_the_gain_up(folder: Path, run: Run) -> None:
    fifty, sixty = table(run, written(folder, PAIR)), table(run, written(folder, PAIR, "b.rig", "120 V 60 Hz"))
    at = {row["tone_hz"]: float(row["gain_percent"]) for row in fifty}
    later = {row["tone_hz"]: float(row["gain_percent"]) for row in sixty}
    assert at["63"] < 3
    assert later["63"] > 5


# ---- what a check loads, and how long the command takes ------------------------------------------------------------


def loaded(folder: Path, name: str) -> set[str]:
    code = (
        "import sys; from rigspec.cli.main import main; main(['check', sys.argv[1]]);"
        "print(*[m for m in sys.modules if m.startswith('rigspec')])"
    )
    ran = subprocess.run([sys.executable, "-c", code, name], cwd=folder, capture_output=True, text=True, check=True)
    return set(ran.stdout.split())


def test_a_check_loads_the_simulation_only_where_there_is_such_a_pair(folder: Path) -> None:
    study = {"rigspec.figures.supplies", "rigspec.figures.opposed_hits", "rigspec.show.supply"}
    solved = {"rigspec.solve.rails", "rigspec.solve.supply_fit", "rigspec.figures.opposed"}
    with_pair = loaded(folder, written(folder, PAIR))
    assert solved <= with_pair
    assert not study & with_pair
    without = loaded(folder, written(folder, PAIR.replace("send -> a.2 -> s[2]\n", "spare a.2, s[2]\n")))
    assert not (study | solved | {"rigspec.solve.pumping", "rigspec.figures.pumped"}) & without


def test_eight_amplifiers_take_about_a_second(folder: Path, run: Run) -> None:
    """Each with a reservoir of its own, so that none is worked out for another; tones and hits, with their ranges."""
    rig = []
    for number in range(1, 9):
        rig += [
            f"amp a{number} is soft {{ supply {{ capacitance {9 + number} mF }} }}",
            f"speaker s{number}[1..2] is sub",
        ]
        rig += [f"send -> a{number}.{each} -> s{number}[{each}]" for each in (1, 2)]
    name = written(folder, "\n".join(rig) + "\n")
    start = perf_counter()
    rows = table(run, name)
    assert len(rows) == 8 * 6
    assert perf_counter() - start < 3  # on a busy machine; it takes about 1 s
