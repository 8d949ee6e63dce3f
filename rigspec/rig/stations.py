"""The things on a path: where it leaves them, and where it enters them."""

from __future__ import annotations

from collections.abc import Sequence

from rigspec.language.syntax import Listing, Point
from rigspec.language.words import Carries, PieceWord
from rigspec.rig.doubt import Doubt
from rigspec.rig.growing import Growing, Passage
from rigspec.rig.leads import lead_complete, lead_spec
from rigspec.rig.model import Entry, Gear, LeadSpec, Output, Piece, Sink, Way, first, inversion
from rigspec.rig.names import CALLED, Names
from rigspec.rig.ports import input_letters, ports_of
from rigspec.rig.values import Faults
from rigspec.text.finding import Label
from rigspec.text.source import Span

_NO_INLET = ("panel", "lead", "place", "area", "feed")


class Stations(Growing):
    """How a path meets each sort of gear."""

    def __init__(self, names: Names, faults: Faults) -> None:
        super().__init__()
        self.names = names
        self.faults = faults
        self.mains = False  # does the path at hand carry the mains?
        self.begin_in_doubt = False  # or may it, as nobody knows what it begins at?

    # ---- things at the beginning of a path

    def _leave(self, point: Point) -> int | None:
        ref = point.ref
        listing = self.names.listings.get(ref.name)
        if listing is not None and listing.word == "mix" and ref.plain:
            return self._mix(listing).joint
        found = self.names.find(ref)
        if not found:
            return None
        if len(found) > 1 and not point.linked:
            return self._several(point, found)
        gear = found[-1]
        if gear.word == "speaker":
            if len(found) > 1:
                return self._misplaced(point, gear, "a row cannot begin a path", "begin with what feeds the row")
            key = self._box_key(point, gear)
            return None if key is None else self._box(key, gear, point).joint
        if point.linked is not None:
            return self._misplaced(point, gear, "only loudspeakers are linked", "leave `linked` out")
        match gear.word:
            case "panel" | "lead":
                passage = self._passage(point, gear)
                if passage is None:
                    return None
                left = self._way(self.left, passage.key, Way(passage.far, point.span))
                return None if left > 1 else passage.far
            case "place" | "area":
                return self._misplaced(
                    point, gear, f"{CALLED[gear.word]} is no part of a path", "say what it hears in its braces"
                )
            case _:
                output = self._output(point, gear)
                return None if output is None else output.joint

    def _output(self, point: Point, gear: Gear) -> Output | None:
        ref = point.ref
        port = ref.ports[0] if ref.ports else ""
        carries: Carries = "power" if gear.word == "amp" else "mains" if gear.word == "mains" else "signal"
        known = ports_of(gear)
        if gear.word == "feed":
            known = []
        if not port and known and gear.word != "mains":
            if len(known) == 1:
                port = known[0]
            else:
                self.names.port_unknown_which(ref, gear, known, f"say which of its outputs: {gear.full}.{known[0]}")
                return None
        halves = port.split("+")
        if port and (len(ref.ports) > 1 or len(halves) > 2 or any(half not in known for half in halves)):
            self.names.port_unknown(ref, gear, ", ".join(known))
            return None
        if len(halves) == 2 and (gear.word != "amp" or halves[0] == halves[1]):
            self.names.port_unknown(ref, gear, ", ".join(known))
            return None
        key = f"{gear.full}.{port}" if port else gear.full
        output = self.outputs.get(key)
        if output is None:
            output = self.outputs[key] = Output(key, gear, port, carries, self._joint(), point.span)
            if gear.doubt and gear.doubt is not Doubt.BESIDE:
                self.doubts[output.joint] = gear.doubt
        return output

    def _mix(self, listing: Listing) -> Output:
        output = self.outputs.get(listing.name)
        if output is None:
            span = listing.name_span
            gear = Gear("mix", listing.name, None, None, {}, {}, span)
            output = self.outputs[listing.name] = Output(listing.name, gear, "", "signal", self._joint(), span)
        return output

    # ---- things on the way

    def _enter(self, point: Point, joint: int, last: bool) -> int | None:
        found = self.names.find(point.ref)
        if not found:
            return None
        gear = found[0]
        if (self.mains or self._only_mains(point, found)) and gear.word not in _NO_INLET:
            return self._inlets(point, found, joint)
        if gear.word == "speaker":
            return self._boxes(point, found, joint)
        if point.linked is not None:
            return self._misplaced(point, gear, "only loudspeakers are linked", "leave `linked` out")
        if len(found) > 1:
            return self._several(point, found)
        match gear.word:
            case "feed":
                return self._misplaced(
                    point, gear, "nothing can enter a feed", f"begin a path at it: `{gear.full} -> ...`"
                )
            case "place" | "area":
                return self._misplaced(
                    point, gear, f"{CALLED[gear.word]} is no part of a path", "say what it hears in its braces"
                )
            case "panel" | "lead":
                passage = self._passage(point, gear)
                if passage is None:
                    return None
                if self._way(self.entered, passage.key, Way(joint, point.span)) > 1:
                    return None
                self._plug(joint, passage.near, point.span)
                if not last and self._way(self.left, passage.key, Way(passage.far, point.span)) > 1:
                    return None
                return passage.far
            case "amp":
                return self._into_amp(point, gear, joint)
            case "mains":
                return self._misplaced(
                    point, gear, "mains stands at the beginning of a path", "the tree of the mains is told by `from`"
                )
            case _:
                return self._into_inputs(point, gear, joint, last)

    def _only_mains(self, point: Point, found: Sequence[Gear]) -> bool:
        """Can nothing but the mains be meant, where it is not known what the path begins at?"""
        if not self.begin_in_doubt or point.ref.ports or point.linked is not None:
            return False
        match found[0].word:
            case "amp":
                return len(found) > 1 or len(ports_of(found[0])) > 1
            case "processor":
                return len(found) > 1 or found[0].count("inputs", 1) > 1
            case "speaker":
                return len(found) > 1 and "powered" in found[0].facts
        return False

    def _into_amp(self, point: Point, gear: Gear, joint: int) -> int | None:
        ref = point.ref
        known = ports_of(gear)
        if not ref.ports and len(known) > 1:
            self.names.port_unknown_which(ref, gear, known, f"say which channel: {gear.full}.{known[0]}")
            return None
        port = ref.ports[0] if ref.ports else known[0]
        output = self._output(point, gear)
        if output is None:
            return None
        channel = min(port.split("+"), key=int)
        self._sink(f"{gear.full}.{channel}", gear, port, "signal", joint, point.span)
        return output.joint

    def _into_inputs(self, point: Point, gear: Gear, joint: int, last: bool) -> int | None:
        ref = point.ref
        word = "split" if gear.word == "split" else "processor"
        if not last:
            return self._misplaced(
                point,
                gear,
                f"a path ends at {CALLED[word]}",
                f"begin a new path at {'one of its legs' if word == 'split' else 'one of its outputs'}: "
                f"{gear.full}.1 -> ...",
            )
        inputs = input_letters(gear) if word == "processor" else []
        if word == "split" and ref.ports:
            return self._misplaced(
                point,
                gear,
                "this is an output of the split, and something enters it here",
                f"end the path at `{gear.full}`",
            )
        port = ref.ports[0] if ref.ports else ""
        if not port and len(inputs) > 1:
            self.names.port_unknown_which(ref, gear, inputs, f"say which input: {gear.full}.a")
            return None
        port = port or (inputs[0] if inputs else "")
        if port and port not in inputs:
            if port in ports_of(gear):
                return self._misplaced(
                    point, gear, f"`{gear.full}.{port}` is an output", f"name an input: {gear.full}.a"
                )
            self.names.port_unknown(ref, gear, ", ".join(inputs))
            return None
        key = f"{gear.full}.{port}" if port else gear.full
        self._sink(key, gear, port, "signal", joint, point.span)
        return joint

    def _sink(self, key: str, gear: Gear, port: str, takes: Carries, joint: int, span: Span) -> Sink:
        self._way(self.arrivals, key, Way(joint, span))
        sink = self.sinks.get(key)
        if sink is None:
            sink = self.sinks[key] = Sink(key, gear, port, takes, joint, span)
            if gear.doubt:
                self.doubts[joint] = gear.doubt
        return sink

    def _inlets(self, point: Point, found: Sequence[Gear], joint: int) -> int | None:
        """Mains inlets: gear as a whole takes the mains, and a row of it in turn."""
        for gear in found:
            if point.ref.ports:
                return self._misplaced(
                    point, gear, "the mains goes to the gear as a whole", f"end the path at `{gear.full}`"
                )
            if gear.word == "speaker" and not gear.says("powered"):
                return self._boxes(point, found, joint)
            has_inlet = gear.word != "split" or gear.says("active")
            key = f"{gear.full} inlet" if has_inlet else gear.full
            self._sink(key, gear, "", "mains" if has_inlet else "signal", joint, point.span)
        return joint

    # ---- loudspeakers

    def _box_key(self, point: Point, gear: Gear) -> str | None:
        ports, ways = point.ref.ports, gear.ways
        if self.names.ports_in_doubt(gear):
            return f"{gear.full}.{ports[0]}" if ports else gear.full
        if not ways and not ports:
            return gear.full
        if not ports:
            self.names.port_unknown_which(
                point.ref, gear, list(ways), f"it is driven in {len(ways)} ways: {gear.full}.{ways[0]}"
            )
            return None
        if len(ports) > 1 or ports[0] not in ways:
            self.names.port_unknown(point.ref, gear, ", ".join(ways))
            return None
        return f"{gear.full}.{ports[0]}"

    def _box(self, key: str, gear: Gear, point: Point) -> Sink:
        """The sink of a box, made with a joint of its own the first time it is met."""
        sink = self.sinks.get(key)
        if sink is None:
            port = key[len(gear.full) + 1 :]
            takes: Carries = "signal" if gear.says("powered") else "power"
            sink = self.sinks[key] = Sink(key, gear, port, takes, self._joint(), point.span)
            if gear.doubt and gear.doubt is not Doubt.BESIDE:
                self.doubts[sink.joint] = gear.doubt
        return sink

    def _boxes(self, point: Point, found: Sequence[Gear], joint: int) -> int | None:
        if len(found) > 1 and point.linked is None:
            self.faults.add(
                "row-unlinked",
                point.span,
                f"how the {len(found)} boxes of `{point.ref.span.text}` hang together is not said",
                label="a row in a path needs its links",
                help="write the lead from box to box: `linked 2.5 mm2 2 m`; or name each box in `parallel(...)`",
                subject=point.ref.name,
            )
            return None
        spec = lead_spec(self.names, point.linked, point.span) if point.linked else None
        for number, gear in enumerate(found):
            key = self._box_key(point, gear)
            if key is None:
                return None
            sink = self._box(key, gear, point)
            if number and spec is None:
                self._plug(joint, link := self._dead(), point.span)
                joint = link
            elif number:
                assert spec is not None
                name = f"link to {gear.full}"
                piece = Piece("lead", joint, self._joint(), point.span, name, spec[0], inverted=spec[1])
                joint = self._wire(piece)
            if self._way(self.arrivals, key, Way(joint, point.span)) == 1:
                self._plug(joint, sink.joint, point.span)
            else:
                self.doubts[sink.joint] = Doubt.WIRING
            joint = sink.joint
        return joint

    # ---- panels and named leads

    def _passage(self, point: Point, gear: Gear) -> Passage | None:
        ref = point.ref
        known = ports_of(gear)
        port = ref.ports[0] if ref.ports else ""
        if not port and len(known) > 1:
            what = "pair" if gear.word == "lead" else "line"
            self.names.port_unknown_which(ref, gear, known, f"say which {what}: {gear.full}.{known[0]}")
            return None
        port = port or (known[0] if known else "1")
        if len(ref.ports) > 1 or port not in known:
            self.names.port_unknown(ref, gear, ", ".join(known))
            return None
        key = f"{gear.full}.{port}" if len(known) > 1 else gear.full
        passage = self.passages.get(key)
        if passage is None:
            passage = self.passages[key] = Passage(key, gear, port, self._joint(), self._joint())
            self._through_piece(passage, point)
        return passage

    def _through_piece(self, passage: Passage, point: Point) -> None:
        gear, port = passage.gear, passage.port
        turned = self._turned(gear, port)
        span = point.span
        if gear.word == "panel":
            what: PieceWord = "invert" if turned else "plug"
            self._wire(Piece(what, passage.near, passage.far, turned or span, passage.key, gear=gear))
            return
        held = first(gear.facts, "size") or Entry((), (), (), (), (), span)
        spec = LeadSpec(
            held.get("area"),
            held.get("gauge"),
            gear.measure("length", "length"),
            "solid" in held.words,
            "tinned" in held.words,
        )
        if gear.doubt or not lead_complete(self.names, spec, gear.span, gear.full):
            self.doubts[passage.far] = gear.doubt or Doubt.FAULT
            self._plug(passage.near, passage.far, span)
            return
        self._wire(Piece("lead", passage.near, passage.far, span, passage.key, spec, inverted=turned, gear=gear))

    def _turned(self, gear: Gear, port: str) -> Span | None:
        given = inversion(gear.facts, port) or gear.ports.get(port, {}).get("inverted")
        return given.span if given else None

    # ---- faults

    def _several(self, point: Point, found: Sequence[Gear]) -> int | None:
        self.faults.add(
            "gear-misplaced",
            point.span,
            f"`{point.ref.span.text}` names {len(found)} things at one hop",
            label="one at a time",
            help="begin the path with `each` to take them one by one; only loudspeakers hang in rows, with `linked`",
            subject=point.ref.name,
        )
        return None

    def _misplaced(self, point: Point, gear: Gear, message: str, help: str) -> int | None:
        self.faults.add(
            "gear-misplaced",
            point.span,
            message if message.startswith("`") else f"`{point.ref.span.text}` cannot stand here: {message}",
            label=CALLED[gear.word],
            related=(Label(gear.span, "declared here"),),
            help=help,
            subject=gear.full,
        )
        return None
