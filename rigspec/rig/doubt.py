"""Why something is not known, so that nothing is concluded from it."""

from __future__ import annotations

from enum import Enum


class Doubt(Enum):
    """What is not known of a thing, a kind, a name or a joint. Asked as `doubt`, which is None where nothing is."""

    FAULT = "its statement, its settings or those of its kind have a fault"
    KIND = "its kind is not known"
    LATER = "settings are made on it later that cannot be read, or on a name that nobody has and that may mean it"
    PARENT = "what feeds it with mains is not known"
    UNREAD = "a statement that cannot be read names it"
    MEANT = "a statement with a fault names it, or a name that nobody has may mean it"
    MISSING = "a file could not be had, so any name may be in it, and may be used there"
    WIRING = "it lies where a path has a fault"
