"""``python -m tests.answers`` keeps what is said now; with a folder it writes all of it there, to compare two."""

import json
import sys
from pathlib import Path

from .answering import GOLDEN, answer, page, rigs

if len(sys.argv) > 1:
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    for rig in rigs():
        said = json.dumps(json.loads(answer(rig)), indent=1)
        (folder / rig[0].replace("/", "_")).write_text(said, encoding="utf-8")
else:
    GOLDEN.write_text(page(), encoding="utf-8")
