"""A check of a rig's text, and what of a report does not depend on where things stand in it."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

from rigspec.check import Report, check
from rigspec.text.source import Refused, Source

# Rigs are large values; drawing one takes longer than hypothesis expects of a value.
SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.large_base_example]


def laws(examples: int) -> settings:
    """So many examples where a search looks elsewhere; half of them in the runs that take the same ones every time."""
    taken = examples if os.environ.get("RIGSPEC_SEARCH") else -(-examples // 2)
    return settings(max_examples=taken, deadline=None, suppress_health_check=SLOW)


def checked(text: str, others: Mapping[str, str] | None = None) -> Report:
    """The report on a rig; ``others`` are the files it may use, by path."""
    texts = others or {}

    def load(_: str, path: str) -> Source | Refused:
        return Source(path, texts[path]) if path in texts else Refused(path, "it does not exist")

    return check(Source("test.rig", text), load)


def said(report: Report, change: Callable[[str], str] = str) -> list[tuple[object, ...]]:
    """Every finding, excused or not, without its place, in an order of its own; ``change`` rewrites the texts."""
    return sorted(
        (
            change(finding.message),
            change(finding.computed),
            change(finding.allowed),
            finding.rule,
            finding.severity.value,
            change(finding.subject),
            excused,
        )
        for excused, findings in enumerate((report.findings, report.excused))
        for finding in findings
    )


def channel_figures(report: Report, change: Callable[[str], str] = str) -> dict[str, Any]:
    """Every figure of every channel, box and lead, by key."""
    found: dict[str, Any] = {}
    for key, channel in report.figures.channels.items():
        found[change(key)] = {
            "load": channel.load_ohm,
            "least": channel.least_seen_ohm,
            **{f"half {half}": ohm for half, ohm in channel.halves},
            "rated": channel.rated_volt,
            "nominal": channel.nominal_volt,
            "peak": channel.peak_volt,
            "input": channel.input_dbu,
            "clips": channel.clips,
            **{f"lead {n}": value for n, value in enumerate(sorted(_lead(lead) for lead in channel.leads))},
        }
    for key, box in report.figures.boxes.items():
        signs = sorted((change(part.feed), (len(part.turns) + len(box.own_turns)) % 2) for part in box.parts)
        found[f"box {change(key)}"] = {
            "share": box.share_volt,
            "loss": box.loss_db,
            "rated": box.rated_w,
            "nominal": box.nominal_w,
            "peak": box.peak_w,
            **{f"sign {n} of {feed}": sign for n, (feed, sign) in enumerate(signs)},
            **{f"delay {n}": value for n, value in enumerate(sorted(part.delay_s for part in box.parts))},
        }
    return found


def _lead(lead: Any) -> tuple[float, float, float]:
    return lead.loop_ohm, lead.ampere or 0.0, lead.watt or 0.0


def assert_same_figures(after: Mapping[str, Any], before: Mapping[str, Any]) -> None:
    assert set(after) == set(before)
    for key, figures in before.items():
        assert set(after[key]) == set(figures), key
        for name, value in figures.items():
            assert after[key][name] == (None if value is None else pytest.approx(value, rel=1e-9, abs=1e-12)), (
                key,
                name,
            )
