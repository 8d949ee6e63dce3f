"""``python -m rigspec``: the same as the command ``rigspec``."""

import sys

from rigspec.cli.main import main

sys.exit(main())
