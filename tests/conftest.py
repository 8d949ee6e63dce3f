"""Random tests are the same at every run, so that a failure is always somebody's change.

`RIGSPEC_SEARCH=1 python -m pytest` lets hypothesis look elsewhere each time; what it finds then becomes an example.
"""

import gc
import os

from hypothesis import settings

# What is imported stays, and values make few circles: looking for them a thousand times less often saves a fifth.
gc.freeze()
gc.set_threshold(100_000, 50, 50)

settings.register_profile("steady", derandomize=True, deadline=None)
settings.register_profile("search", derandomize=False, deadline=None)
settings.load_profile("search" if os.environ.get("RIGSPEC_SEARCH") else "steady")
