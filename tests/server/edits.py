"""``python -m tests.server.edits`` replays random edits of long rigs through the server and prints what they take."""

from __future__ import annotations

import sys
from pathlib import Path

if __name__ == "__main__":
    here = Path(__file__).parent
    sys.path[:0] = [str(here), str(here.parent)]
    from replaying import main

    main()
