"""Drawings are made of the reports that the sheets' tests make, and of the laws' generated rigs."""

import sys
from pathlib import Path

sys.path += [str(Path(__file__).parents[1] / folder) for folder in ("sheets", "laws")]
