"""What the crew has to do with its hands: unplug, take away, put, plug, cross, in that order."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from attrs import frozen

from rigspec.changes.dialled import Names
from rigspec.changes.matching import PHYSICAL, called, kinds_of
from rigspec.rig.model import Gear, LeadSpec
from rigspec.sheets.basis import Basis
from rigspec.sheets.leads import size
from rigspec.sheets.links import End, SheetLink
from rigspec.text.units import show
from rigspec.text.value import Content

GEAR = ("amp", "speaker", "processor", "split", "panel")
_JUNCTION = re.compile(r"junction \d+")
ORDER = ("unplug", "take away", "put", "replace", "plug", "cross", "uncross", "label")


@frozen(eq=False, repr=False)
class Act(Content):
    """One thing to do, and to what, so that alike ones can be told once."""

    verb: str
    text: str


@frozen(eq=False, repr=False)
class Plugged(Content):
    """A connection as it is plugged, in the names of the new rig."""

    near: str
    far: str
    lead: str
    numbers: str
    crossed: bool
    between: tuple[str, ...]

    @property
    def called(self) -> str:
        """Its number, else its size and length."""
        return self.numbers or self.lead or "what runs"


def acts(old: Basis, new: Basis, names: Names) -> list[Act]:
    """All there is to do, in the order of the crew's work."""
    found = [*_gear(old, new, names), *_plugs(_plugged(old, names), _plugged(new, {}))]
    return sorted(dict.fromkeys(found), key=lambda act: ORDER.index(act.verb))


def _plugged(basis: Basis, names: Names) -> list[Plugged]:
    links = basis.pulled.plugging.links
    behind = {link.target.text: link.source for link in links if _JUNCTION.match(link.target.text)}

    def end(at: End) -> str:
        if at.gear is not None:
            return called(at, names.get(at.gear.full, at.gear.full))
        met = _JUNCTION.match(at.text)  # numbered in the order of the text, which says nothing
        source = behind.get(met[0]) if met is not None else None
        return at.text if met is None or source is None else f"junction behind {end(source)}{at.text[met.end() :]}"

    return [
        Plugged(
            end(link.source),
            end(link.target),
            _lead(link),
            ", ".join(number for piece in link.leads if piece.spec is not None for number in piece.spec.numbers),
            link.turns % 2 == 1,
            tuple(_between(link)),
        )
        for link in links
    ]


def _lead(link: SheetLink) -> str:
    return " + ".join(lead_text(piece.spec) for piece in link.leads if piece.spec is not None)


def lead_text(spec: LeadSpec) -> str:
    """The size and the length of a lead, whatever units they are written in."""
    said = size(spec)
    sized = f"{said} mm2" if said[:1].isdigit() and "AWG" not in said else said
    if spec.length is None:
        return sized
    low, high = f"{spec.length.low:.4g}", f"{spec.length.high:.4g}"
    return f"{sized} {low} m" if low == high else f"{sized} {low} to {high} m"


def _between(link: SheetLink) -> Iterator[str]:
    for piece in link.items:
        if piece.what == "pad":
            yield f"pad {show(-piece.gain_db, 'gain')}"
        elif piece.what == "delay":
            yield f"delay {show(piece.delay_s, 'time')}"


def _plugs(old: Sequence[Plugged], new: Sequence[Plugged]) -> Iterator[Act]:
    gone, come = list(old), list(new)
    for each in old:
        same = next((other for other in come if (other.near, other.far) == (each.near, each.far)), None)
        if same is not None:
            gone.remove(each)
            come.remove(same)
            yield from _other(each, same)
    for each in list(gone):
        other = _moved(each, come)
        if other is not None:
            gone.remove(each)
            come.remove(other)
            yield from _move(each, other)
    for each in gone:
        yield Act("unplug", f"{each.called} between {each.near} and {each.far}; it goes")
    for each in come:
        crossed = ", crossed" if each.crossed else ""
        with_lead = f", {each.called}" if each.lead or each.numbers else ""
        between = "".join(f", {said}" for said in each.between)
        yield Act("plug", f"{each.near} -> {each.far}{with_lead}{crossed}{between}")


def _moved(each: Plugged, come: Sequence[Plugged]) -> Plugged | None:
    """The new connection that this one's lead serves: by its number, else at one of its ends and of its size."""
    by_number = [other for other in come if each.numbers and other.numbers == each.numbers]
    by_far = [other for other in come if (other.far, other.lead) == (each.far, each.lead)]
    by_near = [other for other in come if (other.near, other.lead) == (each.near, each.lead)]
    return next(iter((*by_number, *by_far, *by_near)), None)


def _move(was: Plugged, now: Plugged) -> Iterator[Act]:
    called = was.called
    if was.near == now.near:
        text = f"{called} from {was.far}; plug it into {now.far}"
    elif was.far == now.far:
        text = f"{called} from {was.near}; plug it into {now.near}"
    else:
        text = f"{called} from {was.near} and {was.far}; plug it into {now.near} and {now.far}"
    crossed = "crossed" if now.crossed else "straight"
    yield Act("unplug", f"{text}; leave it {crossed}" if was.crossed == now.crossed and now.crossed else text)
    yield from _other(was, now)


def _other(was: Plugged, now: Plugged) -> Iterator[Act]:
    """What is other with a connection between the same sockets."""
    where = f"{now.near} -> {now.far}"
    if was.lead != now.lead:
        yield Act("replace", f"{where}: {was.lead or 'no lead'} by {now.lead or 'no lead'}")
    if was.crossed != now.crossed:
        lead = f", {now.called}" if now.lead or now.numbers else ", at its plug"
        yield Act("cross" if now.crossed else "uncross", f"{where}{lead}")
    if was.between != now.between:
        yield Act("replace", f"{where}: {', '.join(was.between) or 'nothing'} by {', '.join(now.between) or 'nothing'}")
    if was.numbers != now.numbers and now.numbers:
        yield Act("label", f"{where}: {was.numbers or 'no number'} -> {now.numbers}")


def _gear(old: Basis, new: Basis, names: Names) -> Iterator[Act]:
    ours, theirs = old.figures.rig.gear, new.figures.rig.gear
    kinds = kinds_of(old, new)
    for name, gear in ours.items():
        if gear.word not in PHYSICAL:
            continue
        now = theirs.get(names.get(name, ""))
        if now is None:
            if gear.word in GEAR:
                yield Act("take away", _called(gear))
            continue
        if gear.word in GEAR and kinds.get(_kind(gear), _kind(gear)) != _kind(now):
            yield Act("replace", f"{now.full}: {_kind(gear) or 'it'} by {_kind(now) or 'another'}")
        if name != now.full:
            yield Act("label", f"{name} is called {now.full}")
    known = set(names.values())
    for name, gear in theirs.items():
        if gear.word in GEAR and name not in known:
            yield Act("put", _called(gear))


def _called(gear: Gear) -> str:
    return f"{gear.full} ({_kind(gear)})" if _kind(gear) else gear.full


def _kind(gear: Gear) -> str:
    return gear.kind.name if gear.kind is not None else ""
