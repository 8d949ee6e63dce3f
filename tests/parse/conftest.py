"""The rigs that these tests read are made by the strategies of the law tests."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "laws"))
