"""Paths to wiring: every hop becomes a piece between two joints, every thing on the way an output or a sink."""

from __future__ import annotations

from collections.abc import Sequence

from rigspec.language.syntax import Atom, Delay, Hop, Invert, Join, LeadHop, Pad, Path, Point
from rigspec.language.words import PieceWord
from rigspec.rig.leads import lead_spec
from rigspec.rig.measures import measure
from rigspec.rig.model import Piece, Series, Way, delay_s
from rigspec.rig.names import Row
from rigspec.rig.rows import Rows
from rigspec.rig.stations import Stations
from rigspec.text.finding import Label
from rigspec.text.source import Span


class Wirer(Stations):
    """Walks paths hop by hop."""

    def path(self, path: Path) -> None:
        """One path, or with `each` one for every member of the rows in it."""
        rows = Rows(self.names)
        self._in_doubt = rows.in_doubt
        for hops in rows.taken_apart(path) if path.each else [path.hops]:
            self._path(hops)

    def _path(self, hops: Sequence[Hop]) -> None:
        first = hops[0]
        row = self.names.rows.get(first.ref.name) if isinstance(first, Point) else None
        self.mains = row is not None and row.word == "mains"
        self.begin_in_doubt = isinstance(first, Point) and (id(first) in self._in_doubt or self._unknown(first, row))
        assert isinstance(first, Point)  # the grammar lets a path begin with nothing else
        joint = None if id(first) in self._in_doubt else self._leave(first)
        if joint is None:
            joint = self._dead()
        self._walk(hops[1:], joint)

    def _unknown(self, first: Point, row: Row | None) -> bool:
        """Is it not known what the path begins at, so that it may carry anything?"""
        return first.ref.name not in self.names.listings and (row is None or row.unfinished)

    # ---- hops

    def _walk(self, hops: Sequence[Hop], joint: int) -> None:
        span = None
        ended = False
        for number, hop in enumerate(hops):
            last = number == len(hops) - 1
            span, ended = hop.span, False
            match hop:
                case Point():
                    entered = None if id(hop) in self._in_doubt else self._enter(hop, joint, last)
                    ended = last
                    if entered is None:  # what arrives here ends in doubt, and so begins what goes on
                        self._plug(joint, self._dead(), hop.span)
                        entered = self._dead()
                    joint = entered
                case LeadHop():
                    joint = self._lead(hop.atoms, joint, hop.span)
                case Invert():
                    joint = self._piece("invert", joint, hop.span)
                case Pad():
                    loss = measure(hop.loss, ["gain"], self.faults)
                    joint = self._piece("pad", joint, hop.span, gain_db=-abs(loss.value) if loss else 0.0)
                case Delay():
                    joint = self._piece("delay", joint, hop.span, delay_s=self._delay(hop))
                case Join():
                    self._join(hop, joint)
                    ended = True
                    if not last:
                        self.faults.add(
                            "gear-misplaced",
                            hops[number + 1].span,
                            f"nothing may follow `{hop.word}(...)` in a path",
                            label="follows",
                            related=(Label(hop.span, "the path parts here"),),
                            help="put what follows inside the brackets, or begin a path of its own",
                        )
                        return
        if span is not None and not ended:
            self.ends.append(Way(joint, span))

    def _piece(self, what: PieceWord, a: int, span: Span, gain_db: float = 0.0, delay_s: float = 0.0) -> int:
        return self._wire(Piece(what, a, self._joint(), span, gain_db=gain_db, delay_s=delay_s))

    def _delay(self, hop: Delay) -> float:
        given = measure(hop.time, ["time", "length"], self.faults)
        return 0.0 if given is None else delay_s(given)

    def _join(self, hop: Join, joint: int) -> None:
        if hop.word == "parallel":
            for branch in hop.branches:
                self._walk(branch, joint)
            return
        starts = tuple(self._joint() for _ in hop.branches)
        self.series.append(Series(joint, starts, hop.span))
        for branch, start in zip(hop.branches, starts, strict=True):
            self._walk(branch, start)

    def _lead(self, atoms: Sequence[Atom], a: int, span: Span) -> int:
        spec = lead_spec(self.names, atoms, span)
        if spec is None:
            b = self._dead()
            self._plug(a, b, span)
            return b
        lead, turned = spec
        return self._wire(Piece("lead", a, self._joint(), span, "", lead, inverted=turned))
