"""How fast it is: ``python -m tests.speed`` prints ratios and rates; nothing here asserts a time.

A cold check is compared with a bare import of the libraries in the same run, both with cached bytecode, as they are
once installed.
"""

from __future__ import annotations

import gc
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from rigspec.check import Refused, check
from rigspec.format import canonical
from rigspec.parse.reader import parse
from rigspec.source import Source

STOCK = """\
stock amp twin-900 { channels 2; rated 900 W at 4 ohm, 550 W at 8 ohm; least-load 2.7 ohm; gain 32 dB; input 20 kohm }
stock speaker reflex-18 { impedance 8 ohm; rated 600 W continuous, 2400 W peak; band 35 Hz to 120 Hz; weight 48 kg }
"""

PART = """\
# stack {n}: two boxes on each channel, the second channel opposed
feed send_{n} {{ level -8 dBu; peak 5 dBu; source 100 ohm; band 35 Hz to 95 Hz }}
amp bass_{n} is twin-900
speaker sub_{n}[1..2] is reflex-18 {{ at -{n} m, 0 m }}
speaker sub_{n}[3..4] is reflex-18 {{ at {n} m, 0 m }}

send_{n} ->           bass_{n}.1 -> lead 2.5 mm2 15 m           -> sub_{n}[1..2] linked 2.5 mm2 2 m
send_{n} -> invert -> bass_{n}.2 -> lead 2.5 mm2 15 m -> invert -> sub_{n}[3..4] linked 2.5 mm2 2 m

group subs_{n}: sub_{n}[*]
expect load of bass_{n}.1 >= 4 ohm
"""


def rig(lines: int) -> str:
    """A clean rig of about this many lines, in parts that do not touch each other."""
    parts = (lines - STOCK.count("\n")) // PART.count("\n")
    return STOCK + "".join(PART.format(n=n) for n in range(1, parts + 1))


def best(command: list[str], environment: dict[str, str], runs: int = 12) -> float:
    """The best wall time of a command, in milliseconds."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        subprocess.run(command, env=environment, check=True, stdout=subprocess.DEVNULL)
        times.append(time.perf_counter() - start)
    return min(times) * 1000


def cold() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "hundred.rig"
        path.write_text(rig(100), encoding="utf-8")
        environment = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
        environment["PYTHONPYCACHEPREFIX"] = str(Path(folder) / "bytecode")
        command = [sys.executable, "-m", "rigspec", "check", str(path)]
        bare = [sys.executable, "-c", "import lark, attrs, pint"]
        for each in (bare, command):  # the first run of each writes the bytecode
            subprocess.run(each, env=environment, check=True, stdout=subprocess.DEVNULL)
        bare_ms, check_ms = best(bare, environment), best(command, environment)
        lines = path.read_text(encoding="utf-8").count("\n")
        print(f"bare import of lark, attrs and pint   {bare_ms:7.1f} ms   1.00")
        print(f"cold `rigspec check` of {lines} lines       {check_ms:7.1f} ms   {check_ms / bare_ms:.2f}")


def rates() -> None:
    text = rig(20_000)
    lines = text.count("\n")
    for what, work in (
        ("parse", lambda: parse(Source("speed.rig", text))),
        ("format, proved", lambda: canonical(Source("speed.rig", text))),
    ):
        times = []
        for _ in range(3):
            start = time.perf_counter()
            work()
            times.append(time.perf_counter() - start)
        print(f"{what:36}  {lines / min(times):9,.0f} lines/s of {lines:,}")


def growth() -> None:
    def nothing(path: str, used: str) -> Refused:
        return Refused(used, "nothing is used here")

    for size in (2_500, 5_000, 10_000, 20_000):
        source = Source("speed.rig", rig(size))
        times = []
        for _ in range(3):
            start = time.perf_counter()
            report = check(source, nothing)
            times.append(time.perf_counter() - start)
        assert not report.findings, report.findings[0]
        lines = source.text.count("\n")
        seconds = min(times)
        print(f"check of {lines:6,} lines                 {seconds:7.2f} s    {seconds / lines * 1e6:5.1f} us/line")


if __name__ == "__main__":
    cold()
    gc.disable()  # as the command line does: a run is short and makes few circles
    rates()
    growth()
