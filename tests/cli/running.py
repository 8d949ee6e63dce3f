"""Rigs to run rigspec on, and rigspec as a process."""

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

from attrs import frozen

CLEAN = 'rig "hall" { mains 230 V 50 Hz }\n'
SLIP = "amp\n"
UNTIDY = 'rig   "hall"   {mains 230 V 50 Hz}\n'


@frozen
class Ran:
    code: int
    out: str
    err: str


Run = Callable[..., Ran]


def process(*arguments: str | Path, stdin: bytes = b"", timeout: float = 20) -> "subprocess.CompletedProcess[bytes]":
    """Run rigspec as a process of its own."""
    command = [sys.executable, "-m", "rigspec", *map(str, arguments)]
    return subprocess.run(command, input=stdin, capture_output=True, timeout=timeout, check=False)
