"""The folder's own helpers stand beside the laws' generated rigs."""

import sys
from pathlib import Path

sys.path.append(str(Path(__file__).parents[1] / "laws"))
