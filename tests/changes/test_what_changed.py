"""`rigspec changes`: pairs worked out by hand, and generated ones: nothing physical missed, nothing cosmetic told."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from random import Random

import pytest
from pair_edits import SAMPLES, cosmetic, physical

from rigspec.changes.changes import Category, Changes, changes
from rigspec.changes.told import changes_json, changes_markdown, changes_text
from rigspec.check import Report, check
from rigspec.text.source import Refused, Source

ROOT = Path(__file__).parents[2]
PAIRS, SHARES = 300, 4
RIG = """\
rig "T" { mains 230 V 50 Hz }
stock amp even { channels 4; rated 400 W at 4 ohm, 200 W at 8 ohm; least-load 4 ohm; gain 32 dB }
stock speaker box { impedance 8 ohm; rated 400 W continuous, 1600 W peak }
feed f { level -10 dBu; peak 0 dBu }
amp a is even { attenuator -2 dB }
speaker left is box
speaker right is box
f -> a.1 -> lead 2.5 mm2 10 m "P1" -> left
f -> a.2 -> lead 2.5 mm2 20 m "P2" -> right
spare a.3, a.4
"""


def load(_: str, used: str) -> Source | Refused:
    path = ROOT / "samples" / used
    return Source(used, path.read_text(encoding="utf-8")) if path.is_file() else Refused(used, "it is not there")


def report(text: str, path: str = "t.rig") -> Report:
    return check(Source(path, text), load)


def found(new: str, old: str = RIG) -> Changes:
    return changes(report(old), report(new))


def do(new: str, old: str = RIG) -> list[str]:
    return [f"{act.verb} {act.text}" for act in found(new, old).acts]


def test_nothing_changed_is_said_so() -> None:
    assert changes_text(found(RIG)) == "No change: nothing to do, the same figures, the same findings.\n"
    assert found(RIG).category is Category.COSMETIC


def test_a_lead_that_is_plugged_elsewhere_is_unplugged_there_and_plugged_here() -> None:
    new = RIG.replace("a.2 -> lead", "a.3 -> lead").replace("spare a.3, a.4", "spare a.2, a.4")
    assert do(new) == [
        "unplug what runs from a.2 in; plug it into a.3 in",
        "unplug P2 from a.2 out; plug it into a.3 out",
    ]


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        ('20 m "P2" ->', '20 m "P2" -> invert ->', ["cross a.2 out -> right, P2"]),
        ("2.5 mm2 20 m", "4 mm2 20 m", ["replace a.2 out -> right: 2.5 mm2 20 m by 4 mm2 20 m"]),
        ('"P2"', '"P7"', ["label a.2 out -> right: P2 -> P7"]),
        ("right", "far", ["label right is called far"]),
        ("20 m", "2000 cm", []),
        ("box", "cab", []),
        ("speaker left is box\n", '# the left one\nspeaker left is box { label "L" }\n', []),
    ],
)
def test_what_the_crew_has_to_do(was: str, now: str, said: list[str]) -> None:
    assert do(RIG.replace(was, now)) == said


def test_gear_that_comes_and_goes_is_packed() -> None:
    more = RIG.replace("spare a.3, a.4", 'speaker mid is box\nf -> a.3 -> lead 2.5 mm2 5 m "P3" -> mid\nspare a.4')
    there = found(more)
    assert [f"{act.verb} {act.text}" for act in there.acts] == [
        "put mid (box)",
        "plug feed f -> a.3 in",
        "plug a.3 out -> mid, P3",
    ]
    assert there.pack == {"box": 1, "lead 2.5 mm2 5 m": 1}
    back = found(RIG, more)
    assert back.pack == {"box": -1, "lead 2.5 mm2 5 m": -1}
    assert [act.verb for act in back.acts] == ["unplug", "unplug", "take away"]


def test_settings_figures_and_findings_follow() -> None:
    """By hand: 10 dB less attenuation is impossible here; 8 dB more of it leaves 8 dB more to the clip."""
    softer = found(RIG.replace("attenuator -2 dB", "attenuator -10 dB"))
    (setting,) = softer.dialled
    assert (setting.sort, setting.text) == ("set", "a attenuator -2 dB -> -10 dB")
    (clip,) = [shift for shift in softer.shifts if shift.row == "clips at dBu"]
    assert clip.was.value is not None
    assert clip.now.value == pytest.approx(clip.was.value + 8, abs=0.01)
    assert softer.category is Category.BETTER
    worse = found(RIG.replace("level -10 dBu; peak 0 dBu", "level 4 dBu; peak 17 dBu"))
    assert worse.category is Category.WORSE
    assert [finding.rule for finding in worse.come] == ["amp-clips"]
    third = "speaker more[1..2] is box\nf -> a.3 -> more[1..2] linked 2.5 mm2 1 m -> lead 2.5 mm2 1 m -> left\n"
    loaded = RIG.replace("spare a.3, a.4", f"{third}spare a.1, a.4")
    broken = found(loaded.replace('f -> a.1 -> lead 2.5 mm2 10 m "P1" -> left\n', ""))
    assert broken.category is Category.BREAKING
    assert "load-too-low" in [finding.rule for finding in broken.come]


def test_a_review_and_a_program_are_told_the_same() -> None:
    made = found(RIG.replace("attenuator -2 dB", "attenuator -10 dB"))
    assert "- set a attenuator -2 dB -> -10 dB" in changes_markdown(made)
    assert changes_markdown(made).startswith("### `t.rig`: better")
    told = json.loads(changes_json(made))
    assert (told["format"], told["category"], told["settings"][0]["was"]) == ("rigspec-changes", "better", "-2 dB")


@pytest.mark.parametrize("share", range(SHARES))
def test_generated_pairs(share: int) -> None:
    """Nothing cosmetic is told, nothing physical is missed, and both together are told apart."""
    made = 0
    for seed in range(share, 10 * PAIRS, SHARES):
        random = Random(seed)
        path = SAMPLES[seed // SHARES % len(SAMPLES)]
        text = path.read_text(encoding="utf-8")
        edit = physical(text, random)
        if edit is None:
            continue
        made += 1
        same = cosmetic(text, random)
        old = report(text, path.name)
        told = changes(old, report(same, path.name))
        wrong = [each.text for each in told.acts if each.verb != "label"]
        wrong += [each.text for each in told.dialled if each.sort != "label"]
        assert not wrong, (path.name, seed, wrong[:3])
        assert (told.category, told.pack) == (Category.COSMETIC, {}), (path.name, seed)
        told = changes(old, report(edit.text, path.name))
        said = [(act.verb, act.text) for act in told.acts] + [(each.sort, each.text) for each in told.dialled]
        assert any(verb == edit.verb and all(word in text for word in edit.words) for verb, text in said), (
            path.name,
            seed,
            edit.verb,
            edit.words,
            said,
        )
        if made == PAIRS // SHARES:
            return
    raise AssertionError(f"only {made} pairs")


def run(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "rigspec", "changes", *words]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=60, check=False)


def test_against_a_revision_with_the_stock_of_then(tmp_path: Path) -> None:
    def git(*words: str) -> None:
        who = ("-c", "user.name=Tester", "-c", "user.email=tester@example.org")
        subprocess.run(["git", *who, *words], cwd=tmp_path, check=True, capture_output=True)

    stock = "\n".join(line for line in RIG.splitlines() if line.startswith("stock")) + "\n"
    rig = 'use "stock.rig"\n' + "\n".join(line for line in RIG.splitlines() if not line.startswith("stock")) + "\n"
    (tmp_path / "stock.rig").write_text(stock, encoding="utf-8")
    (tmp_path / "t.rig").write_text(rig, encoding="utf-8")
    git("init", "-q")
    git("add", "-A")
    git("commit", "-q", "-m", "One")
    (tmp_path / "stock.rig").write_text(stock.replace("least-load 4 ohm", "least-load 10 ohm"), encoding="utf-8")
    (tmp_path / "t.rig").write_text(rig.replace("20 m", "25 m"), encoding="utf-8")
    ran = run(tmp_path, "t.rig", "--git", "HEAD")
    assert "a.2 out -> right: 2.5 mm2 20 m by 2.5 mm2 25 m" in ran.stdout
    assert "error load-too-low" in ran.stdout
    assert ran.returncode == 0
    assert run(tmp_path, "t.rig", "--git", "HEAD", "--fail-on", "breaking").returncode == 1
    assert run(tmp_path, "t.rig", "t.rig", "--fail-on", "better").returncode == 0
    assert "there is no revision HEAD~5" in run(tmp_path, "t.rig", "--git", "HEAD~5").stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("t.rig",), "changes compares two files"),
        (("t.rig", "none.rig"), "none.rig"),
        (("t.rig", "--git", "HEAD"), "not a git repository"),
        (("t.rig", "t.rig", "--git", "HEAD"), "with --git there is one file"),
        (("-", "t.rig"), "changes compares files"),
    ],
)
def test_what_cannot_be_compared_is_said(words: tuple[str, ...], said: str, tmp_path: Path) -> None:
    (tmp_path / "t.rig").write_text(RIG, encoding="utf-8")
    ran = run(tmp_path, *words)
    assert ran.returncode == 2
    assert said in ran.stderr + ran.stdout
    assert "Traceback" not in ran.stderr
