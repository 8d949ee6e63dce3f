"""The wiring while it grows, hop by hop."""

from __future__ import annotations

from attrs import frozen

from rigspec.rig.doubt import Doubt
from rigspec.rig.model import Gear, Output, Piece, Series, Sink, Through, Way, Wiring
from rigspec.text.source import Span
from rigspec.text.value import Value


@frozen(eq=False, repr=False)
class Passage(Value):
    """A panel line or a lead's pair."""

    key: str
    gear: Gear
    port: str
    near: int
    far: int


class Growing:
    """The wiring so far; joints are numbered as they are made."""

    def __init__(self) -> None:
        self.outputs: dict[str, Output] = {}
        self.sinks: dict[str, Sink] = {}
        self.passages: dict[str, Passage] = {}
        self.arrivals: dict[str, list[Way]] = {}
        self.entered: dict[str, list[Way]] = {}
        self.left: dict[str, list[Way]] = {}
        self.pieces: list[Piece] = []
        self.series: list[Series] = []
        self.ends: list[Way] = []
        self.doubts: dict[int, Doubt] = {}
        self._joints = 0

    def wiring(self) -> Wiring:
        return Wiring(
            self.outputs,
            self.sinks,
            {key: tuple(self.arrivals.get(key, ())) for key in self.sinks},
            {key: self._through(each) for key, each in self.passages.items()},
            tuple(self.pieces),
            tuple(self.series),
            tuple(self.ends),
            self.doubts,
        )

    def _through(self, passage: Passage) -> Through:
        entered, left = (tuple(ways.get(passage.key, ())) for ways in (self.entered, self.left))
        return Through(passage.key, passage.gear, passage.port, passage.near, passage.far, entered, left)

    @staticmethod
    def _way(ways: dict[str, list[Way]], key: str, way: Way) -> int:
        """One more way to or from a place; how many there are now."""
        known = ways.setdefault(key, [])
        known.append(way)
        return len(known)

    def _wire(self, piece: Piece) -> int:
        """One more piece; the joint behind it."""
        self.pieces.append(piece)
        return piece.b

    def _joint(self) -> int:
        self._joints += 1
        return self._joints

    def _dead(self) -> int:
        """A joint about which, and about what lies behind it, nothing is concluded."""
        joint = self._joint()
        self.doubts[joint] = Doubt.WIRING
        return joint

    def _plug(self, a: int, b: int, span: Span) -> None:
        self._wire(Piece("plug", a, b, span))
