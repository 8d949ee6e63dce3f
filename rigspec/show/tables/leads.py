"""The table about loudspeaker leads: ohms, current, heat and loss."""

from __future__ import annotations

from collections.abc import Iterator

from rigspec.figures import Figures, LeadFigures
from rigspec.rig.model import Measure
from rigspec.show.tables.question import Column, Question


def lead_name(lead: LeadFigures) -> str:
    """What a lead is called: its own name, the box it links to, or how the path describes it."""
    piece = lead.piece
    return piece.name or " ".join(piece.span.text.split())


def rows(figures: Figures) -> list[LeadFigures]:
    return [lead for channel in figures.channels.values() for lead in channel.leads]


def _of_spec(word: str, lead: LeadFigures) -> float | None:
    measure: Measure | None = getattr(lead.piece.spec, word, None)
    return None if measure is None else measure.value


def _assumes(figures: Figures) -> Iterator[tuple[str, str]]:
    for channel in figures.channels.values():
        for text in channel.rated_assumes:
            yield text, channel.key


QUESTIONS: tuple[Question, ...] = (
    Question(
        word="leads",
        title="Loudspeaker leads, with the amplifier at its rated output for ever",
        columns=(
            Column("lead", "lead", lead_name).says(
                "what the lead is called, the box that it links to, or how the path describes it"
            ),
            Column("line", "line", lambda lead: lead.piece.span.line, holds="number").says(
                "the line of the text that it stands in"
            ),
            Column("file", "file", lambda lead: lead.piece.span.path, people=False).says("the text that it stands in"),
            Column("channel", "on", lambda lead: lead.channel).says("the channel that it hangs on"),
            Column("length_m", "m", lambda lead: _of_spec("length", lead), people=False).says("its length, one way"),
            Column("area_mm2", "mm2", lambda lead: _of_spec("area_mm2", lead), people=False).says(
                "the size of each conductor"
            ),
            Column("gauge_awg", "AWG", lambda lead: _of_spec("awg", lead), people=False).says(
                "the gauge of each conductor"
            ),
            Column("loop_ohm", "ohm there and back", lambda lead: lead.loop_ohm).says("its resistance there and back"),
            Column("current_ampere", "A", lambda lead: lead.ampere, 1).says("the current in it at the rated output"),
            Column("carries_ampere", "carries A", lambda lead: lead.capacity_ampere, 1).says(
                "the current that it may carry"
            ),
            Column("copper_c", "copper degC", lambda lead: lead.copper_c, 0).says(
                "the temperature of its copper at that current"
            ),
            Column("lost_watt", "W lost", lambda lead: lead.watt).says("the power that it takes at the rated output"),
            Column("loss_db", "loss dB", lambda lead: lead.loss_db, 2).says("the loss from its near to its far end"),
        ),
        rows=rows,
        worst=lambda lead: lead.loss_db,
        mark="the costliest lead",
        assumes=_assumes,
    ),
)
