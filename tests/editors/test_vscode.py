"""The extension for VS Code, built by npm: its types, its package, its grammar on every sample, and its client."""

from __future__ import annotations

import json
import re
import shutil
import struct
import sys
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest
from oracle import SAMPLES, pieces
from tools import ROOT, run, wrong_rig

from rigspec.check import check
from rigspec.language.format import canonical
from rigspec.language.reader import parse
from rigspec.text.source import Refused, Source

HOME = ROOT / "editors" / "vscode"
SCOPES = {
    "statement": "keyword.control.statement.rig",
    "name": "entity.name.function.rig",
    "sort": "storage.type.sort.rig",
    "kind": "entity.name.type.kind.rig",
    "hop": "keyword.control.hop.rig",
    "joint": "keyword.operator.word.rig",
    "setting": "support.type.property-name.rig",
    "choice": "constant.language.choice.rig",
    "figure": "support.function.figure.rig",
    "rule": "support.constant.rule.rig",
    "number": "constant.numeric.rig",
    "unit": "keyword.other.unit.rig",
    "port": "variable.parameter.port.rig",
    "text": "string.quoted.double.rig",
    "comment": "comment.line.number-sign.rig",
    "plain": "variable.other.rig",
}
Npm = Callable[..., str]


@pytest.fixture(scope="module")
def npm(tmp_path_factory: pytest.TempPathFactory) -> Npm:
    """Runs a script of the package, in a copy with everything that it needs from npm, at the locked versions."""
    folder = tmp_path_factory.mktemp("vscode")
    built = folder / "vscode"
    shutil.copytree(HOME, built, ignore=shutil.ignore_patterns("node_modules", "dist", "*.vsix"))
    version = run(["node", "--version"], folder, folder).stdout.strip()
    assert int(version.removeprefix("v").partition(".")[0]) >= 20, f"node is {version}: the tests need 20 or newer"
    settings = ("--prefer-offline", "--no-audit", "--no-fund", "--ignore-scripts")
    npm_home = {"npm_config_cache": str(Path.home() / ".npm")}  # shared with whoever runs the tests
    run(["npm", "ci", *settings], folder, built, timeout=300, **npm_home)

    def script(name: str, *words: str, **more: str) -> str:
        arguments = ["--", *words] if words else []
        return run(["npm", "run", "-s", name, *arguments], folder, built, timeout=180, **npm_home, **more).stdout

    script.folder = built  # type: ignore[attr-defined]
    return script


def test_the_types_hold(npm: Npm) -> None:
    npm("typecheck")


def test_the_package_is_built_and_holds_what_it_names(npm: Npm) -> None:
    npm("package")
    with zipfile.ZipFile(npm.folder / "rigspec.vsix") as package:  # type: ignore[attr-defined]
        names = {name.removeprefix("extension/") for name in package.namelist()}
        manifest = json.loads(package.read("extension/package.json"))
        bundle = package.read("extension/dist/extension.js").decode()
    contributes = manifest["contributes"]
    paths = [contributes["languages"][0]["configuration"], contributes["grammars"][0]["path"]]
    named = [manifest["main"], manifest["icon"], contributes["snippets"][0]["path"], *paths]
    assert {path.removeprefix("./") for path in named} <= names
    assert "LICENSE.txt" in names
    assert not any(name.startswith(("node_modules", "src", "test")) for name in names)
    assert "rigspec[serve]" in bundle


def test_the_assertions_about_the_grammar_hold(npm: Npm) -> None:
    assert "run successfuly" in npm("test:grammar")


def test_the_grammar_colours_every_sample_as_the_parser_reads_it(npm: Npm) -> None:
    folder = npm.folder / "test/grammar/made"  # type: ignore[attr-defined]
    folder.mkdir()
    count = 0
    for sample in SAMPLES:
        text = readable(sample)
        if text:
            name = "-".join(sample.relative_to(ROOT / "samples").parts)
            (folder / name).write_text(with_assertions(text), encoding="utf-8")
            count += 1
    assert count >= 12
    # the script's own pattern stands before ours
    said = npm("test:grammar", "test/grammar/made/*.rig")
    assert said.count("run successfuly") >= count, said


def test_a_wrong_colour_is_seen(npm: Npm) -> None:
    folder = npm.folder / "test/grammar/wrong"  # type: ignore[attr-defined]
    folder.mkdir()
    (folder / "wrong.rig").write_text(with_assertions("feed left\n").replace("entity.name", "entity.nome"))
    done = run(["npm", "run", "-s", "test:grammar", "--", "test/grammar/wrong/*.rig"], folder, folder, fine=False)
    assert done.returncode != 0
    assert "missing required scopes" in done.stdout


def readable(sample: Path) -> str:
    """The text of a sample without the statements that have slips; they are what nobody can say the colours of."""
    text = sample.read_text(encoding="utf-8")
    file = parse(Source("", text))
    cut = [(each.tokens[0].start, each.tokens[-1].end) for each in file.statements if each.node is None]
    for start, end in reversed(cut):
        text = text[:start] + text[end:]
    return text


def with_assertions(text: str) -> str:
    """A text with what each of its pieces is, as the grammar's tester reads it."""
    lines = text.splitlines()
    below: dict[int, list[str]] = {}
    for piece in pieces(text):
        scope = SCOPES.get(piece.what)
        if piece.what == "operator":
            scope = f"keyword.operator.{'arrow' if piece.text == '->' else 'comparison'}.rig"
        assert scope is not None, piece
        size = len(piece.text)
        mark = "#" + " " * (piece.column - 1) + "^" * size if piece.column else f"# <{'-' * size}"
        below.setdefault(piece.line, []).append(f"{mark} {scope}")
    body = [row for number, line in enumerate(lines) for row in (line, *below.get(number, ()))]
    return "\n".join(['# SYNTAX TEST "source.rig" "made"', *body, ""])


def test_the_client_shows_what_check_says_and_applies_a_fix(npm: Npm, tmp_path: Path) -> None:
    rig = wrong_rig(tmp_path)
    program = str(Path(sys.executable).parent / "rigspec")
    findings = tmp_path / "findings.json"
    said = run([program, "check", "--as", "json", str(rig)], tmp_path, tmp_path, fine=False)
    findings.write_text(said.stdout, encoding="utf-8")
    npm("bundle")
    without = str(tmp_path / "nowhere")
    out = npm("test:host", RIGSPEC=program, RIG=str(rig), FINDINGS=str(findings), WITHOUT=without)
    assert re.search(r"^# pass 6$", out, re.MULTILINE), out
    assert re.search(r"^# fail 0$", out, re.MULTILINE)


def test_every_snippet_is_one_that_can_be_read_and_is_in_canonical_form() -> None:
    snippets = json.loads((HOME / "snippets/rig.json").read_text(encoding="utf-8"))
    assert len({snippet["prefix"] for snippet in snippets.values()}) == len(snippets)
    for name, snippet in snippets.items():
        body = snippet["body"]
        text = filled("\n".join(body) if isinstance(body, list) else body).rstrip() + "\n"
        source = Source(name, text)
        assert parse(source).slips == (), name
        assert canonical(source) == text, name


def test_no_snippet_gives_a_reason_of_its_own_so_that_none_is_forgotten() -> None:
    snippets = json.loads((HOME / "snippets/rig.json").read_text(encoding="utf-8"))
    report = check(Source("rig", filled(snippets["Exception"]["body"])), lambda _, path: Refused(path, "none"))
    assert "an exception needs its reason" in {finding.message for finding in report.findings}


def filled(body: str) -> str:
    """A snippet as it stands when nothing is typed into it."""
    first = dict(re.findall(r"\$\{(\d+):([^}]*)\}", body))
    text = re.sub(r"\$\{\d+\|([^,|]*)[^|]*\|\}", r"\1", body)
    text = re.sub(r"\$\{\d+:([^}]*)\}", r"\1", text)
    return re.sub(r"\$(\d+)", lambda found: first.get(found[1], ""), text)


def test_the_snippets_are_listed() -> None:
    snippets = json.loads((HOME / "snippets/rig.json").read_text(encoding="utf-8"))
    page = (HOME / "README.md").read_text(encoding="utf-8")
    assert [each["prefix"] for each in snippets.values() if f"`{each['prefix']}`" not in page] == []


def test_every_setting_is_one_that_the_page_tells_how_to_turn_off() -> None:
    manifest = json.loads((HOME / "package.json").read_text(encoding="utf-8"))
    page = (HOME / "README.md").read_text(encoding="utf-8")
    names = [name.rpartition(".")[2] for name in manifest["contributes"]["configuration"]["properties"]]
    assert [name for name in names if f".{name}" not in page] == []


def test_every_version_is_exact_and_no_address_of_a_package_is_kept() -> None:
    manifest = json.loads((HOME / "package.json").read_text(encoding="utf-8"))
    assert all(re.fullmatch(r"\d+\.\d+\.\d+", version) for version in manifest["devDependencies"].values())
    lock = json.loads((HOME / "package-lock.json").read_text(encoding="utf-8"))
    assert not any("resolved" in package for package in lock["packages"].values())
    assert all("integrity" in package for path, package in lock["packages"].items() if path)
    assert lock["packages"][""]["devDependencies"] == manifest["devDependencies"]


def test_the_icon_is_a_square_of_128_with_something_on_it() -> None:
    data = (HOME / "icon.png").read_bytes()
    assert data.startswith(b"\x89PNG\r\n\x1a\n")
    assert struct.unpack(">II", data[16:24]) == (128, 128)
    size = struct.unpack(">I", data[33:37])[0]
    assert len(set(zlib.decompress(data[41 : 41 + size]))) > 20
