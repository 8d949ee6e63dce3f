"""``python -m tests.mutants ROOM``: takes mutants of a room, and prints those that no test sees.

A mutant dies where a test or a kept answer fails. What survives is to be read: it is alike in all that counts, or the
tests have a hole. `--count 300` takes so many, `--seed 1` others.
"""

from __future__ import annotations

import argparse
import random
import sys
from pathlib import Path

import pytest

from tests.mutants.making import Mutant, mutants
from tests.mutants.running import QUIET, Warm

ROOT = Path(__file__).parents[2]
TESTS = {  # of each room, those that hold it, beside the answers that are kept
    "solve": ("tests/laws/test_network_laws.py", "tests/laws/test_physical_range.py", "tests/outside"),
    "figures": ("tests/outside", "tests/laws/test_figure_laws.py", "tests/show"),
    "rules": ("tests/rules",),
    "sheets": ("tests/sheets",),
}


def main() -> int:
    wanted = argparse.ArgumentParser()
    wanted.add_argument("room", choices=TESTS)
    wanted.add_argument("--count", type=int, default=60)
    wanted.add_argument("--seed", type=int, default=0)
    given = wanted.parse_args()
    room = ROOT / "rigspec" / given.room
    found = [mutant for path in sorted(room.rglob("*.py")) for mutant in mutants(path)]
    chosen = random.Random(given.seed).sample(found, min(given.count, len(found)))
    alive = []

    def say(mutant: Mutant, survives: bool) -> None:
        if survives:
            alive.append(mutant)
            print(f"{Path(mutant.path).relative_to(ROOT)}:{mutant.line}: {mutant.what}", flush=True)

    code = pytest.main([*QUIET, *TESTS[given.room]], plugins=[Warm(room, chosen, say)])
    print(f"{len(alive)} of {len(chosen)} survive, of {len(found)} that can be made")
    return int(code)


if __name__ == "__main__":
    sys.exit(main())
