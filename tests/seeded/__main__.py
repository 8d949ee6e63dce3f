"""``python -m tests.seeded`` prints what is found and what is not; a number takes more mutants of each sort."""

import sys

from .measuring import MOST_OF_EACH, measure, samples
from .showing import markdown

if __name__ == "__main__":
    most = int(sys.argv[1]) if len(sys.argv) > 1 else MOST_OF_EACH
    print(markdown(measure(samples(), most), most), end="")
