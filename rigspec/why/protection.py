"""Working of the figures of protection."""

from __future__ import annotations

from rigspec.why.derived import Derived

DERIVED: tuple[Derived, ...] = ()
