"""``python -m tests.answers FOLDER`` writes all that is said there, so that two checkouts can be compared."""

import sys
from pathlib import Path

from .answering import answer, rigs

folder = Path(sys.argv[1])
folder.mkdir(parents=True, exist_ok=True)
for rig in rigs():
    (folder / rig[0].replace("/", "_")).write_text(answer(rig), encoding="utf-8")
