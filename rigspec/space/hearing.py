"""How long a level is usually allowed to ears without protection."""

from __future__ import annotations

LIMIT_DBA, LIMIT_MINUTES, EXCHANGE_DB = 85.0, 480.0, 3.0
"""NIOSH 98-126: 85 dBA for 8 hours, half the time for each 3 dB more."""


def allowed_minutes(level_dba: float) -> float:
    """Minutes a day."""
    return float(LIMIT_MINUTES / 2 ** ((level_dba - LIMIT_DBA) / EXCHANGE_DB))
