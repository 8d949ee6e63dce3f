"""Mutants tried one after another by the tests that come through the changed function, in copies of a warm process.

The tests are collected once and run once, to see which come through which function and how long each takes. Each
mutant is then a fork: the function gets its changed code, and its tests run, the quickest first, until one fails. What
is done while a file is imported cannot be changed in a warm process; such a mutant gets a process of its own.
"""

from __future__ import annotations

import functools
import gc
import importlib.abc
import importlib.util
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from importlib.machinery import ModuleSpec, SourceFileLoader
from pathlib import Path
from types import CodeType, FrameType, FunctionType, ModuleType
from typing import TYPE_CHECKING

import pytest
from _pytest.runner import runtestprotocol
from attrs import frozen

from tests.mutants.making import Function, Mutant, mutants

if TYPE_CHECKING:
    from tests.answers.answering import Rig

QUIET = ["-o", "addopts=", "-p", "no:terminal", "-p", "no:cacheprovider", "-p", "no:timeout", "-p", "no:xdist"]
COLD_S = 600


@frozen
class Trial:
    """One test, or one rig whose answer is kept."""

    name: str
    passes: Callable[[], bool]
    calls: frozenset[Function]
    took_s: float


class Warm:
    """A plugin that takes the place of running the tests."""

    def __init__(self, room: Path, chosen: Sequence[Mutant], say: Callable[[Mutant, bool], None]) -> None:
        self.room, self.chosen, self.say = str(room), chosen, say

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        gc.unfreeze()
        caches = [each for each in gc.get_objects() if isinstance(each, functools._lru_cache_wrapper)]
        trials = list(self._recorded(session.items, caches))
        print(f"{len(trials)} tests and rigs, {sum(each.took_s for each in trials):.0f} s", flush=True)
        functions = {
            (each.__code__.co_filename, each.__code__.co_firstlineno): each
            for each in gc.get_objects()
            if isinstance(each, FunctionType) and each.__code__.co_filename.startswith(self.room)
        }
        for mutant in self.chosen:
            if mutant.function is None:
                wanted = [each for each in trials if any(path == mutant.path for path, _ in each.calls)]
                self.say(mutant, _cold(mutant, wanted))
            else:
                wanted = [each for each in trials if mutant.function in each.calls]
                for cache in caches:
                    cache.cache_clear()
                self.say(mutant, _warm(functions.get(mutant.function), mutant, wanted))
        return True

    def _recorded(
        self, items: Sequence[pytest.Item], caches: Sequence[functools._lru_cache_wrapper[object]]
    ) -> Iterator[Trial]:
        """All tests and rigs that pass as it is, with what each comes through, the quickest first.

        What a fixture does for a whole file counts for each test of it.
        """
        found = []
        shared: dict[Path, set[Function]] = {}
        for name, passes, path in [*_tests(items), *_rigs()]:
            for cache in caches:
                cache.cache_clear()
            calls: set[Function] = set()
            setting_up = shared.setdefault(path, set())

            def seen(frame: FrameType, event: str, _: object, calls: set[Function] = calls) -> None:
                if event == "call" and frame.f_code.co_filename.startswith(self.room):
                    calls.add((frame.f_code.co_filename, frame.f_code.co_firstlineno))

            began = time.perf_counter()
            sys.setprofile(seen)
            passed = passes()
            sys.setprofile(None)
            if not setting_up:
                setting_up |= calls
            if passed:
                found.append((name, passes, path, calls, time.perf_counter() - began))
            else:
                print(f"not as it should be, without a change: {name}", flush=True)
        for name, passes, path, calls, took_s in sorted(found, key=lambda each: each[-1]):
            yield Trial(name, passes, frozenset(calls | shared[path]), took_s)


def _tests(items: Sequence[pytest.Item]) -> Iterator[tuple[str, Callable[[], bool], Path]]:
    for item in items:
        yield item.nodeid, functools.partial(_holds, item), item.path


def _holds(item: pytest.Item) -> bool:
    return not any(each.failed for each in runtestprotocol(item, log=False, nextitem=None))


def _rigs() -> Iterator[tuple[str, Callable[[], bool], Path]]:
    from tests.answers.answering import GOLDEN, rigs

    kept = {line[17:]: line[:16] for line in GOLDEN.read_text("utf-8").splitlines()}
    for rig in rigs():
        yield rig[0], functools.partial(_answers, rig, kept.get(rig[0])), Path(rig[0])


def _answers(rig: Rig, kept: str | None) -> bool:
    from tests.answers.answering import answer, digest

    return digest(answer(rig)) == kept


def _warm(function: FunctionType | None, mutant: Mutant, wanted: Sequence[Trial]) -> bool:
    """Whether a mutant survives its tests, in a fork."""
    if function is None:
        return True  # nothing has it: a function made by another one, or one that is never loaded
    child = os.fork()
    if child:
        return os.waitpid(child, 0)[1] == 0
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 1)
    os.dup2(nothing, 2)
    function.__code__ = mutant.code
    for each in wanted:
        signal.alarm(10 + int(20 * each.took_s))  # some run for ever; the signal ends the fork
        try:
            passed = each.passes()
        except BaseException:
            passed = False
        if not passed:
            os._exit(1)
    os._exit(0)


def _cold(mutant: Mutant, wanted: Sequence[Trial]) -> bool:
    """Whether a mutant of what is done at import survives, in a process of its own."""
    names = "\n".join(each.name for each in wanted)
    command = [sys.executable, "-m", "tests.mutants.running", mutant.path, str(mutant.number)]
    try:
        return subprocess.run(command, input=names, text=True, capture_output=True, timeout=COLD_S).returncode == 0
    except subprocess.TimeoutExpired:
        return False


class Broken(importlib.abc.MetaPathFinder, SourceFileLoader):
    """Imports one file with its mutant's code."""

    def __init__(self, path: str, code: CodeType, root: Path) -> None:
        name = ".".join(Path(path).relative_to(root).with_suffix("").parts).removesuffix(".__init__")
        SourceFileLoader.__init__(self, name, path)
        self.code = code

    def find_spec(self, fullname: str, path: object, target: ModuleType | None = None) -> ModuleSpec | None:
        return (
            importlib.util.spec_from_file_location(fullname, self.path, loader=self) if fullname == self.name else None
        )

    def get_code(self, fullname: str) -> CodeType:
        return self.code


class Chosen:
    """A plugin that runs the tests that are named, in the order in which they are named, and then the rigs."""

    def __init__(self, names: Sequence[str]) -> None:
        self.names = names

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        known = {name: passes for name, passes, _ in (*_tests(session.items), *_rigs())}
        for name in self.names:
            if not known[name]():
                session.testsfailed += 1
                break
        return True


def main() -> int:
    path, number = sys.argv[1], int(sys.argv[2])
    mutant = next(each for each in mutants(Path(path)) if each.number == number)
    sys.meta_path.insert(0, Broken(path, mutant.whole, Path.cwd()))
    names = sys.stdin.read().splitlines()
    files = sorted({name.split("::")[0] for name in names if "::" in name})
    return int(pytest.main([*QUIET, *files], plugins=[Chosen(names)]))


if __name__ == "__main__":
    sys.exit(main())
