"""``rigspec check --watch``, as a process that somebody ends with Ctrl-C."""

from __future__ import annotations

import os
import queue
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

import pytest
from running import CLEAN, SLIP, Run

pytestmark = pytest.mark.timeout(60)


class Watching:
    """A running watch and what it writes."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self.process = process
        self.lines: queue.Queue[str] = queue.Queue()
        for stream in (process.stdout, process.stderr):
            assert stream is not None
            threading.Thread(target=self._pump, args=(stream,), daemon=True).start()

    def _pump(self, stream: IO[str]) -> None:
        for line in stream:
            self.lines.put(line.rstrip("\n"))

    def until(self, piece: str) -> list[str]:
        """What is written up to a line that holds a piece."""
        seen = []
        while True:
            seen.append(self.lines.get(timeout=20))
            if piece in seen[-1]:
                return seen


@contextmanager
def watching(*arguments: str) -> Iterator[Watching]:
    command = [sys.executable, "-m", "rigspec", "check", "--watch", *arguments]
    pipe = subprocess.PIPE
    process = subprocess.Popen(
        command, stdout=pipe, stderr=pipe, text=True, env={**os.environ, "PYTHONUNBUFFERED": "1"}
    )
    try:
        yield Watching(process)
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=10) == 0
    finally:
        process.kill()
        process.wait()


def write(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")
    stamp = time.time_ns()
    os.utime(path, ns=(stamp, stamp))


def test_what_comes_and_goes_is_called_so(folder: Path) -> None:
    write(folder / "hall.rig", CLEAN)
    with watching() as seen:
        seen.until("no findings in 1 file")
        write(folder / "other.rig", CLEAN)
        assert any(line.endswith(", other.rig new ----") for line in seen.until("no findings in 2 files"))
        (folder / "other.rig").unlink()
        assert any(line.endswith(", other.rig deleted ----") for line in seen.until("no findings in 1 file"))


def test_a_file_that_is_put_in_the_place_of_another_is_checked(folder: Path) -> None:
    write(folder / "hall.rig", CLEAN)
    with watching("hall.rig") as seen:
        seen.until("no findings in 1 file")
        write(folder / "hall.new", SLIP)
        (folder / "hall.new").replace(folder / "hall.rig")  # as many editors save
        assert any(line.endswith(", hall.rig changed ----") for line in seen.until("syntax"))


def test_many_changes_at_once_are_one_round(folder: Path) -> None:
    write(folder / "hall.rig", CLEAN)
    with watching("hall.rig") as seen:
        seen.until("no findings in 1 file")
        for number in range(40):
            write(folder / "hall.rig", f"{CLEAN}# {number}\n")
            time.sleep(0.01)
        write(folder / "hall.rig", SLIP)
        rounds = seen.until("syntax")
        assert sum(line.startswith("----") for line in rounds) == 1


def test_a_change_of_a_rig_is_checked_and_each_round_set_apart(folder: Path) -> None:
    write(folder / "hall.rig", CLEAN)
    with watching("hall.rig") as seen:
        first = seen.until("no findings in 1 file")
        assert first[0].startswith("---- ")
        assert first[0].endswith(", watching ----")
        write(folder / "hall.rig", SLIP)
        second = seen.until("syntax")
        assert "" in second
        assert any(line.endswith(", hall.rig changed ----") for line in second)
        write(folder / "hall.rig", CLEAN)
        seen.until("no findings in 1 file")


def test_a_file_that_is_used_counts_also_where_it_is_missing(folder: Path) -> None:
    write(folder / "hall.rig", 'use "house.rig"\n')
    with watching("hall.rig", "--as", "line") as seen:
        seen.until("use-missing")
        write(folder / "house.rig", CLEAN)
        assert seen.until("house.rig new ----")
        write(folder / "house.rig", SLIP)
        line = seen.until("syntax")[-1]
        assert line.startswith("house.rig:1:")


def test_a_rig_that_comes_into_a_folder_is_checked(folder: Path) -> None:
    write(folder / "hall.rig", CLEAN)
    with watching() as seen:
        seen.until("no findings in 1 file")
        write(folder / "new.rig", SLIP)
        seen.until("new.rig:1:")
        (folder / "new.rig").unlink()
        seen.until("no findings in 1 file")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("-",), "cannot watch standard input"),
        (("--fix", "a.rig"), "--watch changes nothing"),
        (("--as", "json", "a.rig"), "for people or as lines only"),
    ],
)
def test_what_cannot_be_watched_is_refused(run: Run, words: tuple[str, ...], message: str) -> None:
    ran = run("check", "--watch", *words)
    assert ran.code == 2
    assert message in ran.err + ran.out
