"""How fast it is: ``python -m tests.speed`` prints ratios and rates; nothing here asserts a time.

A cold check is compared with a bare import of the libraries in the same run, and with checkers of other small
languages where they are installed (`pip install yamllint beancount`), all with cached bytecode, as they are once
installed. They are run in turn, so that what else the machine does is shared fairly.
"""

from __future__ import annotations

import gc
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from rigspec.check import Refused, check
from rigspec.language.format import canonical
from rigspec.language.reader import parse
from rigspec.text.source import Source

STOCK = """\
stock amp twin-900 { channels 2; rated 900 W at 4 ohm, 550 W at 8 ohm; least-load 2.7 ohm; gain 32 dB; input 20 kohm }
stock speaker reflex-18 { impedance 8 ohm; rated 600 W continuous, 2400 W peak; band 35 Hz to 120 Hz; weight 48 kg }
"""

PART = """\
# stack {n}: two boxes on each channel, the second channel opposed
feed send_{n} {{ level -8 dBu; peak 5 dBu; source 100 ohm; band 35 Hz to 95 Hz }}
amp bass_{n} is twin-900
speaker sub_{n}[1..2] is reflex-18 {{ at -4 m, {n} m }}
speaker sub_{n}[3..4] is reflex-18 {{ at 4 m, {n} m }}

send_{n} ->           bass_{n}.1 -> lead 2.5 mm2 15 m           -> sub_{n}[1..2] linked 2.5 mm2 2 m
send_{n} -> invert -> bass_{n}.2 -> lead 2.5 mm2 15 m -> invert -> sub_{n}[3..4] linked 2.5 mm2 2 m

group subs_{n}: sub_{n}[*]
expect load of bass_{n}.1 >= 4 ohm
"""


def rig(lines: int) -> str:
    """A clean rig of about this many lines, in parts that do not touch each other."""
    parts = (lines - STOCK.count("\n")) // PART.count("\n")
    return STOCK + "".join(PART.format(n=n) for n in range(1, parts + 1))


FIELD = """\
rig "five hundred boxes" {{ mains 230 V 50 Hz; air 17 degC }}
feed left  {{ level -8 dBu; peak 5 dBu; source 100 ohm; band 35 Hz to 95 Hz }}
feed right {{ level -8 dBu; peak 5 dBu; source 100 ohm; band 35 Hz to 95 Hz }}
stereo main: left, right
split left_split  {{ legs {legs}; active; input 20 kohm; source 100 ohm }}
split right_split {{ legs {legs}; active; input 20 kohm; source 100 ohm }}
left  -> left_split
right -> right_split
mains house {{ supply 230 V; phases 3 }}
"""

STACK = """\
mains circuit_{n} from house {{ phase L{phase}; breaker 16 A C; residual 30 mA; lead 2.5 mm2 5 m }}
amp bass_{n} is twin-900
speaker sub_{n}[1..4] is reflex-18 {{ at {n} m, 0 m }}
circuit_{n} -> lead 2.5 mm2 3 m -> bass_{n}
{side}_split.{leg} -> bass_{n}.1 -> lead 4 mm2 10 m -> sub_{n}[1..2] linked 2.5 mm2 2 m
{side}_split.{leg} -> bass_{n}.2 -> lead 4 mm2 10 m -> sub_{n}[3..4] linked 2.5 mm2 2 m
group stack_{n}: sub_{n}[*]
"""


def field(boxes: int) -> str:
    """A clean rig of so many boxes in stacks of four: two feeds, an amplifier and a circuit of the mains for each."""
    stacks = boxes // 4
    legs = -(-stacks // 2)
    text = STOCK.replace("input 20 kohm }", "input 20 kohm; idle 40 W; efficiency 62 %; damping 400 at 8 ohm }")
    text += FIELD.format(legs=legs)
    for n in range(1, stacks + 1):
        side = "left" if n % 2 else "right"
        text += STACK.format(n=n, side=side, leg=(n + 1) // 2, phase=n % 3 + 1)
    return text + (f"spare right_split.{legs}\n" if stacks % 2 else "")


def lowest(commands: dict[str, list[str]], environment: dict[str, str], runs: int = 12) -> dict[str, float]:
    """The lowest processor time of each of some commands, run in turn, in milliseconds."""
    took: dict[str, list[float]] = {what: [] for what in commands}
    for turn in range(runs + 1):
        for what, command in commands.items():
            before = resource.getrusage(resource.RUSAGE_CHILDREN)
            subprocess.run(command, env=environment, check=True, stdout=subprocess.DEVNULL)
            after = resource.getrusage(resource.RUSAGE_CHILDREN)
            if turn:  # the first one writes the bytecode
                took[what].append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return {what: min(each) * 1000 for what, each in took.items()}


def others(folder: Path) -> dict[str, list[str]]:
    """Checkers of other small languages, each with a text of a hundred lines."""
    yaml, ledger = folder / "hundred.yaml", folder / "hundred.beancount"
    yaml.write_text("---\n" + "".join(f"- name: lead_{n}\n  area: 2.5\n  length: {n}\n" for n in range(1, 34)))
    accounts = "2026-01-01 open Assets:Cash EUR\n2026-01-01 open Expenses:Leads EUR\n"
    entry = '2026-02-01 * "lead {n}"\n  Assets:Cash  -{n}.00 EUR\n  Expenses:Leads\n'
    ledger.write_text(accounts + "".join(entry.format(n=n) for n in range(1, 33)))
    found = {"yamllint": yaml, "bean-check": ledger}
    scripts = Path(sys.executable).parent
    return {
        f"cold `{name}` of 100 lines": [str(scripts / name), str(path)]
        for name, path in found.items()
        if (scripts / name).exists()
    }


def cold() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        hundred, boxes = folder / "hundred.rig", folder / "boxes.rig"
        hundred.write_text(rig(100), encoding="utf-8")
        boxes.write_text(field(500), encoding="utf-8")
        environment = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
        environment["PYTHONPYCACHEPREFIX"] = str(folder / "bytecode")
        rigspec = [sys.executable, "-m", "rigspec"]
        lines = hundred.read_text(encoding="utf-8").count("\n")
        commands = {
            f"cold `rigspec check` of {lines} lines": [*rigspec, "check", str(hundred)],
            "bare import of lark, attrs and pint": [sys.executable, "-c", "import lark, attrs, pint"],
            **others(folder),
            "cold `rigspec figures` of 500 boxes": [*rigspec, "figures", str(boxes)],
            "the same as CSV": [*rigspec, "figures", str(boxes), "--csv"],
            "the same as JSON": [*rigspec, "figures", str(boxes), "--json"],
        }
        found = lowest(commands, environment)
        check_ms = next(iter(found.values()))
        for what, took_ms in found.items():
            print(f"{what:36}  {took_ms:7.1f} ms   a check takes {check_ms / took_ms:.2f} of it")


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
