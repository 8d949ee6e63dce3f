"""Nothing wrong gets committed: the hooks for pre-commit, the plain hook and the build server's recipe, as the page
gives them, each run for real."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest
from jsonschema import Draft4Validator
from tools import ROOT, environment, run

RIG = "hall.rig"
STOCK = """\
stock amp twin {
  channels 2
  rated 400 W at 4 ohm, 250 W at 8 ohm
  least-load 4 ohm
  gain 29 dB
  owned 2
}
stock speaker top { impedance 8 ohm; rated 350 W continuous, 1400 W peak; owned 4 }
"""
RIGHT = """\
rig "Net loft" { mains 230 V 50 Hz }
use "house.rig"

feed desk { level 4 dBu; peak 17 dBu }
amp tops is twin { attenuator -12 dB }
speaker front[1..2] is top
desk -> tops.1 -> lead 2.5 mm2 12 m -> front[1..2] linked 2.5 mm2 6 m
"""
WRONG = RIGHT.replace("-> front[", "-> fornt[")
RAGGED = RIGHT.replace("desk ->", "desk    ->")


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A repository of somebody's rigs, with its stock committed."""
    folder = tmp_path / "shows"
    folder.mkdir()
    git(folder, "init", "-q", "-b", "main")
    (folder / "house.rig").write_text(STOCK, encoding="utf-8")
    (folder / RIG).write_text(RIGHT, encoding="utf-8")
    git(folder, "add", "-A")
    git(folder, "commit", "-q", "-m", "Stock")
    return folder


def git(folder: Path, *words: str, fine: bool = True, **more: str) -> subprocess.CompletedProcess[str]:
    who = ("-c", "user.name=Tester", "-c", "user.email=tester@example.org")
    return run(["git", *who, *words], folder.parent, folder, fine=fine, timeout=300, GIT_CONFIG_NOSYSTEM="1", **more)


def commit(folder: Path, text: str, **more: str) -> subprocess.CompletedProcess[str]:
    (folder / RIG).write_text(text, encoding="utf-8")
    git(folder, "add", "-A")
    return git(folder, "commit", "-m", "A show", fine=False, **more)


def recipe_of(begins: str, language: str) -> str:
    """The first fenced block of a language behind these words in the page about using it."""
    page = (ROOT / "grammar/using.md").read_text(encoding="utf-8").partition(begins)[2]
    block = re.search(rf"^```{language}\n(.*?)^```$", page, re.MULTILINE | re.DOTALL)
    assert block is not None
    return block[1]


def hooks_repository(folder: Path) -> str:
    """This project, as it stands here, in a repository of its own; the commit."""
    for name in ("rigspec", "grammar", "samples", "pyproject.toml", "README.md", "LICENSE", ".pre-commit-hooks.yaml"):
        kind = shutil.copytree if (ROOT / name).is_dir() else shutil.copy
        kind(ROOT / name, folder / name)  # type: ignore[operator]
    git(folder, "init", "-q", "-b", "main")
    (folder / ".gitignore").write_text("__pycache__/\n", encoding="utf-8")
    git(folder, "add", "-A")
    git(folder, "commit", "-q", "-m", "All")
    return git(folder, "rev-parse", "HEAD").stdout.strip()


def test_pre_commit_refuses_a_wrong_rig_and_lets_it_pass_once_it_is_right(project: Path, tmp_path: Path) -> None:
    hooks = tmp_path / "rigspec"
    hooks.mkdir()
    rev = hooks_repository(hooks)
    recipe = recipe_of("With pre-commit", "yaml")
    assert "repo: ../rigspec" in recipe
    (project / ".pre-commit-config.yaml").write_text(recipe.replace("COMMIT", rev), encoding="utf-8")
    own = {"PRE_COMMIT_HOME": str(tmp_path / "pre-commit"), "PIP_CACHE_DIR": str(Path.home() / ".cache" / "pip")}
    program = Path(sys.executable).parent / "pre-commit"
    assert program.exists(), "pre-commit is missing: pip install -e '.[dev]'"
    run([str(program), "install"], project.parent, project, **own)

    refused = commit(project, WRONG, **own)
    said = refused.stdout + refused.stderr
    assert refused.returncode != 0
    assert "nothing is called `fornt`" in said, said
    assert re.search(r"format rigs\.+Passed", said), said
    assert re.search(r"check rigs\.+Failed", said), said

    untidy = commit(project, RAGGED, **own)
    assert untidy.returncode != 0
    assert "files were modified by this hook" in untidy.stdout + untidy.stderr
    assert (project / RIG).read_text(encoding="utf-8") == RIGHT

    spread = STOCK.replace("least-load 4 ohm", "least-load 8 ohm")  # a change in the stock alone breaks a rig
    (project / "house.rig").write_text(spread, encoding="utf-8")
    broken = commit(project, RIGHT, **own)
    assert broken.returncode != 0
    assert "error load-too-low" in broken.stdout + broken.stderr

    (project / RIG).write_text(RIGHT, encoding="utf-8")
    git(project, "rm", "-q", "-f", "house.rig")  # and so does deleting it, of which pre-commit passes on no file
    gone = git(project, "commit", "-m", "A show", fine=False, **own)
    assert gone.returncode != 0
    assert "error use-missing" in gone.stdout + gone.stderr

    (project / "house.rig").write_text(STOCK, encoding="utf-8")
    passed = commit(project, RIGHT.replace("12 m", "14 m"), **own)
    assert passed.returncode == 0, passed.stdout + passed.stderr
    assert git(project, "log", "--format=%s").stdout.splitlines() == ["A show", "Stock"]


def test_the_plain_hook_refuses_and_passes(project: Path) -> None:
    hook = project / ".git" / "hooks" / "pre-commit"
    hook.write_text(recipe_of("Without it, as `.git/hooks/pre-commit`", "sh"), encoding="utf-8")
    hook.chmod(0o755)
    refused = commit(project, WRONG)
    assert refused.returncode != 0
    assert "nothing is called `fornt`" in refused.stdout + refused.stderr
    untidy = commit(project, RAGGED)
    assert untidy.returncode != 0
    assert RIG in untidy.stdout + untidy.stderr
    passed = commit(project, RIGHT.replace("12 m", "14 m"))
    assert passed.returncode == 0, passed.stdout + passed.stderr


def test_the_recipe_for_a_build_server(project: Path) -> None:
    lines = recipe_of("On a build server", "sh").splitlines()
    assert len(lines) == 3
    environ = environment(project.parent)

    def codes() -> list[int]:
        return [
            subprocess.run(["sh", "-c", line], cwd=project, env=environ, timeout=60, check=False).returncode
            for line in lines
        ]

    assert codes() == [0, 0, 0]
    assert results(project) == ([], [])

    (project / RIG).write_text(WRONG.replace("desk ->", "desk    ->"), encoding="utf-8")
    assert codes() == [1, 0, 1]
    assert results(project) == (["name-unknown"], ["name-unknown"])


def results(project: Path) -> tuple[list[str], list[str]]:
    """The rules in what the build server gets: by SARIF, held against its schema, and by JUnit."""
    log = json.loads((project / "rigspec.sarif").read_text(encoding="utf-8"))
    schema = json.loads((ROOT / "tests/show/sarif-2.1.0-rtm.5.json").read_text(encoding="utf-8"))
    Draft4Validator(schema).validate(log)
    suites = ElementTree.parse(project / "rigspec.xml").getroot()
    cases = [case for case in suites.iter("testcase") if case.find("failure") is not None]
    failures = [failure for case in cases for failure in case.iter("failure")]
    assert int(suites.get("failures", "-1")) == len(cases)
    return [each["ruleId"] for each in log["runs"][0]["results"]], [each.get("type", "") for each in failures]
