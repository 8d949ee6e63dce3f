"""What rules about sound at places have in common: when they are asked at all, and where they point."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rigspec.figures import Figures
from rigspec.text.finding import Label
from rigspec.text.source import Span

if TYPE_CHECKING:
    from rigspec.space.views import View
    from rigspec.space.voices import Voice


def listening(figures: Figures) -> bool:
    """Has a rig places, so that sound in space is worked out at all? Nothing of it is loaded else."""
    return any(gear.word in ("place", "area") for gear in figures.rig.gear.values())


def said_of(voice: Voice) -> tuple[Span, tuple[Label, ...]]:
    """Where a loudspeaker's sound is decided: the hop at which it hangs, and the line that says where it stands."""
    at = voice.gear.facts["at"]
    return voice.band.span, (Label(at.span, f"{voice.gear.full} stands here"),)


def of_place(view: View) -> Label:
    """The place at which something is heard."""
    return Label(view.spot.gear.span, f"{view.spot.name} is here")


def views_of(figures: Figures) -> Sequence[View]:
    """All loudspeakers at all places."""
    from rigspec.space.scene import scene
    from rigspec.space.views import views

    return views(scene(figures))


def voices_in(found: Sequence[View]) -> list[Voice]:
    """All loudspeakers that are heard."""
    return [each.voice for each in found[0].seen] if found else []
