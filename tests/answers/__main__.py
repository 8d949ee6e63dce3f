"""``python -m tests.answers FOLDER`` writes all that is said there, so that two checkouts can be compared."""

import json
import sys
from pathlib import Path

from .answering import answer, rigs

folder = Path(sys.argv[1])
folder.mkdir(parents=True, exist_ok=True)
for rig in rigs():
    said = json.dumps(json.loads(answer(rig)), indent=1)
    (folder / rig[0].replace("/", "_")).write_text(said, encoding="utf-8")
