"""`rigspec explain`, `--help`, `--version`."""

import shlex

import pytest
from running import Run, process

from rigspec import __version__
from rigspec.cli.commands import COMMANDS
from rigspec.rules import FAMILIES, RULES
from rigspec.why import DERIVED


def test_the_list_has_every_rule_once_below_its_family(run: Run) -> None:
    ran = run("explain")
    assert ran.code == 0
    for family in FAMILIES:
        section = ran.out[ran.out.index((family.__doc__ or "").splitlines()[0]) :].partition("\n\n")[0]
        assert [line.split()[:2] for line in section.splitlines()[1:]] == [
            [rule.name, rule.severity.value] for rule in family.RULES
        ]


@pytest.mark.parametrize("name", RULES)
def test_a_rule_is_explained_with_all_it_knows(run: Run, name: str) -> None:
    rule = RULES[name]
    ran = run("explain", name)
    assert ran.code == 0
    told = " ".join(ran.out.split())
    for text in (rule.summary, rule.severity.value, rule.reason, rule.limit, rule.authority, rule.cure):
        assert " ".join(text.split()) in told
    for example in (rule.bad, rule.good):
        assert all(line in ran.out for line in example.splitlines())
    assert max(map(len, ran.out.splitlines())) <= 110


def test_an_unknown_rule_proposes_the_nearest(run: Run) -> None:
    for name in ("sytnax", "unreadable"):
        ran = run("explain", name)
        assert ran.code == 2
        assert f"there is no rule {name}" in ran.err
        assert "did you mean " in ran.err
    assert run("explain", "File Unreadable").code == 0


def test_help_teaches_with_examples_that_are_understood(run: Run) -> None:
    from rigspec.cli.command import read_words

    overview = run("--help")
    assert overview.code == 0
    assert run().err == overview.out
    for command in COMMANDS.values():
        assert command.summary in overview.out
        ran = run(command.name, "--help")
        assert (ran.code, ran.out) == (0, run("help", command.name).out)
        assert max(map(len, ran.out.splitlines())) <= 100
        for option in command.options:
            assert option.names[0] in ran.out
        for line in command.examples:
            assert line in ran.out
            words = shlex.split(line.split(" <")[0].split(" >")[0])
            assert words[:2] == ["rigspec", command.name]
            read_words(command, words[1:])


def test_version() -> None:
    ran = process("--version")
    assert (ran.returncode, ran.stdout) == (0, f"rigspec {__version__}\n".encode())


def test_the_words_of_figures_are_explained_alone_and_all_together(run: Run) -> None:
    ran = run("explain", "figures")
    assert ran.code == 0
    assert max(map(len, ran.out.splitlines())) <= 100
    told = " ".join(ran.out.split())
    for word, kinds in DERIVED.items():
        one = run("explain", word)
        assert (one.code, one.err) == (0, "")
        assert one.out.splitlines()[0] in ran.out.splitlines()
        for derived in kinds:
            assert f"{derived.of}: {derived.says}" in told
    assert run("explain", "load").out.startswith(
        "load: ohm\n  an amplifier channel or a bridged pair: what it sees, leads included\n\nEach can be promised"
    )
    assert "explain figures" in run("explain").out
