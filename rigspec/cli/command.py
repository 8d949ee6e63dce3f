"""What a command is, and how the words behind it are read."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen

from rigspec.cli.trouble import UsageError


@frozen
class Option:
    """An option: its spellings, the help, and for one with a value what to call it, its choices and its default."""

    names: tuple[str, ...]
    help: str
    value: str = ""
    choices: tuple[str, ...] = ()
    default: str = ""


HELP = Option(("--help", "-h"), "show this help")


@frozen
class Command:
    """A command. ``runs`` names the module whose ``run(words, options) -> int`` does it.

    ``words`` says what may stand behind its name, ``least`` and ``most`` how many of that.
    """

    name: str
    summary: str
    words: str
    about: str
    examples: tuple[str, ...]
    options: tuple[Option, ...]
    runs: str
    least: int = 0
    most: int | None = None


def either(words: Sequence[str], join: str = "or") -> str:
    """``a, b or c``."""
    return f"{', '.join(words[:-1])} {join} {words[-1]}" if len(words) > 1 else "".join(words)


def nearest(word: str, words: Sequence[str]) -> str:
    """What may have been meant, as a sentence without its end, or nothing."""
    from difflib import get_close_matches

    near = get_close_matches(word, words, n=3, cutoff=0.6)
    return f"did you mean {either(near)}? " if near else ""


def read_words(command: Command, arguments: Sequence[str]) -> tuple[tuple[str, ...], dict[str, str]]:
    """The words behind a command's name, ``arguments[0]``, and the values of its options by their first spelling.

    Options may stand anywhere before ``--``. One without a value is there only when it was given. Raises
    ``UsageError`` with the number of the argument that is wrong.
    """
    by_name = {name: option for option in (*command.options, HELP) for name in option.names}
    values = {option.names[0]: option.default for option in command.options if option.value}
    words: list[str] = []
    at = 1
    while at < len(arguments):
        argument = arguments[at]
        if argument == "--":
            words += arguments[at + 1 :]
            break
        if not argument.startswith("-") or argument == "-":
            words.append(argument)
        else:
            at = _take(command, by_name, arguments, at, values)
        at += 1
    if "--help" not in values:
        _count(command, arguments, words)
    return tuple(words), values


def _take(
    command: Command, by_name: dict[str, Option], arguments: Sequence[str], at: int, values: dict[str, str]
) -> int:
    """Take the option at ``at`` into ``values``; the number of the last argument that belongs to it."""
    name, equals, value = arguments[at].partition("=")
    option = by_name.get(name)
    see = f"`rigspec {command.name} --help` lists the options"
    if option is None:
        raise UsageError(at, f"{command.name} has no option {name}", nearest(name, list(by_name)) + see)
    if not option.value:
        if equals:
            raise UsageError(at, f"{name} takes no value", f"write {name} alone")
    elif not equals:
        at += 1
        if at == len(arguments):
            wanted = either(option.choices) or option.value
            raise UsageError(at - 1, f"{name} needs a value: {wanted}", f"for example {name} {example(option)}")
        value = arguments[at]
    if option.choices and value not in option.choices:
        takes = f"{name} takes {either(option.choices)}, not {value or 'nothing'}"
        raise UsageError(at, takes, nearest(value, option.choices) + see)
    if option.value and not value:
        raise UsageError(at, f"{name} needs a value: {option.value}", f"for example {name} {example(option)}")
    values[option.names[0]] = value
    return at


def example(option: Option) -> str:
    """A value that the option takes."""
    return option.choices[1] if len(option.choices) > 1 else option.value


def _count(command: Command, arguments: Sequence[str], words: Sequence[str]) -> None:
    if len(words) < command.least:
        missing = f"{command.name} needs {'a' if command.least == 1 else command.least} {command.words}"
        raise UsageError(None, missing, f"for example `{command.examples[0]}`")
    if command.most is not None and len(words) > command.most:
        extra = [at for at, argument in enumerate(arguments) if at and argument == words[command.most]][-1]
        takes = f"{command.name} takes {command.most or 'no'} {command.words.strip('[]')} only, here are {len(words)}"
        raise UsageError(extra, takes, f"for example `{command.examples[0]}`")
