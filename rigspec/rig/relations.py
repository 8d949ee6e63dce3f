"""Lists, promises, meters and exceptions: statements that speak about things declared elsewhere."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from rigspec.language.figure_kinds import FIGURES as FIGURES
from rigspec.language.syntax import Allow, Expect, Figure, Item, Listing, Measured, Range, Ref
from rigspec.rig.measures import measure, span_measure
from rigspec.rig.model import Excuse, Expectation, ListMember, Measure, Reading, Roster
from rigspec.rig.names import CALLED, Names, suggestion
from rigspec.rig.spoken import SPOKEN
from rigspec.rig.values import Faults, facts
from rigspec.text.finding import Finding, Label
from rigspec.text.near import near
from rigspec.text.source import Span
from rigspec.text.units import example

POLARITIES = ("normal", "inverted")
_MANY = {"speaker": "loudspeakers", "amp": "amplifiers"}
_HOLDING = ("group", "rack", "stereo")  # a list whose name stands for what is in it
_WANTS = {
    "stereo": ("feed",),
    "mix": ("feed", "processor", "split"),
    "group": ("speaker",),
    "rack": ("amp", "processor", "panel", "split", "speaker", "lead"),
}


def parts(ref: Ref, names: Names, *, gain_db: float = 0.0, against: bool = False) -> list[ListMember]:
    """The things a reference names, one part for each member; a group's name stands for its members."""
    listing = names.listings.get(ref.name)
    if listing is not None and ref.plain:
        if listing.word in _HOLDING:
            return _members(ref, listing, names)
        return [ListMember(ref.name, "", gain_db, against, ref.span)]
    found = names.find(ref)
    port = ".".join(ref.ports)
    result = []
    for gear in found:
        is_input = gear.word == "processor" and len(port) == 1 and port.isalpha()
        ports = [port] if not port or is_input else names.expanded(ref, gear)
        if not ports:
            return []
        result += [ListMember(gear.full, each, gain_db, against, ref.span) for each in ports]
    return result


def judge_lists(names: Names) -> None:
    """No list holds itself, by way of others or at once; one that does has nothing in it where it is named."""
    for circle in _circles(names.listings.values()):
        names.looped.update(listing.name for listing, _ in circle)
        (first, held), *others = circle
        way = " holds ".join(listing.name for listing, _ in (*circle, circle[0]))
        names.faults.add(
            "list-loop",
            held.span,
            f"a list cannot hold itself: {way}",
            label=f"leads back to `{first.name}`" if others else "itself",
            related=tuple(Label(ref.span, "on the way round") for _, ref in others),
            help="name the things themselves" if others else f"take `{first.name}` out, and name the things themselves",
            subject=first.name,
        )


Holding = tuple[Listing, Ref]  # a list, and what it names on a way


def _circles(lists: Iterable[Listing]) -> list[list[Holding]]:
    """Lists that hold themselves: of circles that meet, one."""
    by_name = {listing.name: listing for listing in lists if listing.word in _HOLDING}
    held = {
        name: [ref for ref in _refs(listing.items) if ref.plain and ref.name in by_name]
        for name, listing in by_name.items()
    }
    circles: list[list[Holding]] = []
    done: set[str] = set()
    for start in by_name:
        trail, left = [start], [iter(held[start])]
        refs: list[Ref] = []  # by which each list of the trail holds the next
        while trail:
            ref = next(left[-1], None) if trail[-1] not in done else None
            if ref is None:
                done.add(trail.pop())
                left.pop()
                refs[-1:] = []
            elif ref.name in trail:
                begin = trail.index(ref.name)
                circles.append(
                    [(by_name[name], by) for name, by in zip(trail[begin:], [*refs[begin:], ref], strict=True)]
                )
                done.update(trail[begin:])
            elif ref.name not in done:
                trail.append(ref.name)
                left.append(iter(held[ref.name]))
                refs.append(ref)
    return circles


def _members(ref: Ref, listing: Listing, names: Names) -> list[ListMember]:
    """What a list stands for where another one, or a promise, names it."""
    if ref.name in names.looped:
        return []
    if ref.name in names.held:
        found, faults, meant = names.held[ref.name]
        names.faults.found += faults
        names.meant |= meant
        return found
    before = names.faults.count
    listed, meant = names.suspecting(lambda: [part for item in listing.items for part in _item_parts(item, names)])
    # Each once, as are its faults: lists of lists would hold very many. What stands both ways is told of elsewhere.
    found = list({(part.key, part.against, part.gain_db): part for part in reversed(listed)}.values())[::-1]
    names.held[ref.name] = found, names.faults.found[before:][:1], meant
    return found


def _item_parts(item: Item, names: Names) -> list[ListMember]:
    """One item of a list: a thing, with `against` before it or a gain behind it."""
    against, gain_db = False, 0.0
    refs: list[Ref] = []
    several = sum(isinstance(atom, Ref) for atom in item.atoms) > 1  # `against` alone is a thing of that name
    for atom in item.atoms:
        if isinstance(atom, Ref) and atom.plain and atom.name == "against" and several:
            against = True
        elif isinstance(atom, Ref):
            refs.append(atom)
        elif isinstance(atom, Figure):
            gain = measure(atom, ["gain"], names.faults)
            gain_db = gain.value if gain else 0.0
        else:
            names.faults.add(
                "setting-value", atom.span, f"`{atom.span.text}` says nothing in a list", help="name things of this rig"
            )
    if len(refs) != 1:
        names.faults.add(
            "setting-value",
            item.span,
            f"`{item.span.text}` names {'several things' if refs else 'nothing'} in one item",
            label="one thing an item",
            help="separate the things with commas" if refs else "name a thing of this rig",
        )
        return []
    return parts(refs[0], names, gain_db=gain_db, against=against)


def _refs(items: Iterable[Item]) -> Iterator[Ref]:
    for item in items:
        several = sum(isinstance(atom, Ref) for atom in item.atoms) > 1
        yield from (a for a in item.atoms if isinstance(a, Ref) and not (several and a.plain and a.name == "against"))


def roster(node: Listing, names: Names) -> Roster:
    """A list with everything in it found, and of the right sort."""
    found = []
    before = names.faults.count
    for item in node.items:
        for part in _item_parts(item, names):
            row = names.rows.get(part.name.partition("[")[0])
            wants = _WANTS.get(node.word)
            if wants and row is not None and row.word not in wants:
                names.faults.add(
                    "gear-misplaced",
                    item.span,
                    f"`{item.span.text}` is {CALLED[row.word]} and cannot be in {CALLED[node.word]}",
                    label=CALLED[row.word],
                    related=(Label(row.span, "declared here"),),
                    help=f"take it out: {CALLED[node.word]} holds"
                    f" {' or '.join(_MANY.get(word, f'{word}s') for word in wants)}",
                    subject=part.name,
                )
                break
            found.append(part)
    two = {(part.name, part.port) for part in found}
    half = len(node.items) < 2 and names.faults.count > before  # where one is in doubt, the other may be yet to come
    if node.word == "stereo" and not half and (len(node.items) != 2 or (len(found) == 2 and len(two) == 1)):
        what = f"a stereo pair has two {'different ' if len(node.items) == 2 else ''}feeds"
        names.faults.add(
            "setting-value",
            node.span,
            what,
            label="one feed twice" if len(node.items) == 2 else f"{len(node.items)} named",
            help="write it like this: stereo main: left, right",
            subject=node.name,
        )
    _contradicted(found, names.faults)
    settings = facts(node.block, node.word, CALLED[node.word], names.faults) if node.block else {}
    return Roster(node.word, node.name, tuple(found), settings, node.span)


def _contradicted(found: Sequence[ListMember], faults: Faults) -> None:
    """A thing that a list names both as it is and as `against`."""
    sides: dict[tuple[str, str], ListMember] = {}
    for part in found:
        earlier = sides.setdefault((part.name, part.port), part)
        if earlier.against != part.against:
            faults.add(
                "setting-value",
                part.span,
                f"{part.name} cannot stand in a group and `against` it",
                related=(Label(earlier.span, "named here already"),),
                help="keep one of the two",
                subject=part.name,
            )
            return


def _figure_known(word: str, span: Span, faults: Faults) -> bool:
    if word in FIGURES:
        return True
    if word == "least-load":  # what an amplifier stands is called so
        faults.add(
            "figure-unknown",
            span,
            "`least-load` is what an amplifier stands; the least that its load falls to is `least-impedance`",
            label="a setting, not a figure",
            help="write `least-impedance`",
        )
        return False
    message = f"`{word}` is no figure that can be promised or measured"
    cure = f"name one of {', '.join(FIGURES)}"
    suggestion(faults, "figure-unknown", span, message, word, FIGURES, cure, elsewhere=SPOKEN)
    return False


def _value(word: str, value: Figure | str, span: Span, faults: Faults) -> Measure | str | None:
    if isinstance(value, Figure):
        if FIGURES[word]:
            return measure(value, FIGURES[word], faults)
    elif not FIGURES[word] and value in POLARITIES:
        return value
    such = " or ".join(example(kind) for kind in FIGURES[word])
    faults.add(
        "figure-unknown",
        span,
        f"`{span.text}` cannot be a value of {word}",
        label="not a value of it",
        help=f"write {' or '.join(POLARITIES)}" if not FIGURES[word] else f"write a figure such as {such}",
    )
    return None


def expectation(node: Expect, names: Names) -> Expectation | None:
    """A promise with its value and its subjects found; None where one of them has a fault."""
    faults = names.faults
    if not _figure_known(node.figure, node.figure_span, faults):
        return None
    before = faults.count
    value = _value(node.figure, node.value, node.value_span, faults)
    subjects: list[ListMember] = []
    after: list[ListMember] = []
    band = at = None
    for clause in node.clauses:
        condition = clause.items[0].atoms[0] if len(clause.items) == 1 and len(clause.items[0].atoms) == 1 else None
        if clause.word == "at" and isinstance(condition, Figure):
            at = measure(condition, ["frequency", "number"], faults)
        elif clause.word == "after":
            for item in clause.items:
                after += _item_parts(item, names)
        elif clause.word == "in":
            atom = clause.items[0].atoms[0]
            if isinstance(atom, Range):
                band = span_measure(atom, ["frequency"], faults)
            else:
                from rigspec.language.slips import band_around

                faults.add(
                    "figure-unknown",
                    atom.span,
                    "a band runs from a frequency to a frequency",
                    label="no band",
                    help=f"write it like this: in {band_around(atom.span.text)}",
                )
        else:
            for item in clause.items:
                subjects += _item_parts(item, names)
    if value is None or faults.count > before or not subjects:
        return None
    return Expectation(node, value, tuple(subjects), band, at, tuple(after))


def readings(node: Measured, names: Names) -> Iterator[Reading]:
    """What a meter said, each with its value and its subject found; nothing where one of these has a fault."""
    if not _figure_known(node.figure, node.figure_span, names.faults):
        return
    conditions = facts(node.block, "measured", "a reading", names.faults)
    for each in node.readings:
        before = names.faults.count
        value = _value(node.figure, each.value, each.value_span, names.faults)
        subject = parts(each.ref, names)
        place = parts(each.place, names) if each.place else [None]
        at = measure(each.at, ["frequency", "number"], names.faults) if each.at else None
        if value is not None and subject and names.faults.count == before:
            yield Reading(node, value, subject[0], place[0], at, conditions, each.span)


def excuse(node: Allow, names: Names, rules: Sequence[str]) -> Excuse | None:
    """An exception with the names it covers; a rule that does not exist is a fault."""
    faults = names.faults
    if node.rule not in rules:
        meant = near(node.rule, rules)
        faults.found.append(
            Finding(
                "allow-unknown",
                node.rule_span,
                f"there is no rule `{node.rule}`",
                label=meant.question or "unknown rule",
                help="name one of the rules that `rigspec explain` lists",
                fix=meant.fix(node.rule_span),
            )
        )
        return None
    if not node.reason.value.strip():
        faults.add(
            "allow-unknown",
            node.reason.span,
            "an exception needs its reason",
            label="empty",
            help="say why this is right here, for whoever reads the file next year",
        )
        return None
    found = parts(node.ref, names)
    if not found:
        return None
    covered = {part.key for part in found}
    return Excuse(node, frozenset(covered | ({node.ref.name} if node.ref.plain else set())))
