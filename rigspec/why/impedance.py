"""Working of the figures of impedance."""

from __future__ import annotations

from rigspec.why.derived import Derived

DERIVED: tuple[Derived, ...] = ()
