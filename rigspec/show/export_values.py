"""What an export says, as value classes; the published schema is made from them, so nothing is described twice.

The names of the fields are the keys of the document. `Annotated` holds what each says.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal, TypeAlias

from attrs import frozen

from rigspec.show.export_results import Figures, Finding
from rigspec.value import Value

VERSION: Literal[1] = 1  # a key that changes its meaning or goes raises it, a new key or table does not

Sort: TypeAlias = Literal["amp", "speaker", "lead", "processor", "panel"]
Carries: TypeAlias = Literal["signal", "power", "mains"]


class Unit(str):
    """One of the units in which values are kept; nothing for a bare number."""


class KindOfFigure(str):
    """One of the kinds of figure that the language knows."""


@frozen(eq=False, repr=False)
class Place(Value):
    """Where something stands: lines and columns from 1, columns in code points; the end is the first that is not in."""

    path: str
    line: int
    column: int
    end_line: int
    end_column: int


@frozen(eq=False, repr=False)
class Figure(Value):
    """A figure as it is given."""

    kind: KindOfFigure
    value: Annotated[float, "in the unit below"]
    unit: Unit
    low: Annotated[float, "the low end of its range or tolerance, the value where there is none"]
    high: Annotated[float, "the high end of its range or tolerance"]
    written: Annotated[str, "as it stands in the rig or its stock"]
    place: Place


@frozen(eq=False, repr=False)
class Item(Value):
    """One item of a setting; a setting with commas has several."""

    figures: tuple[Figure, ...]
    words: tuple[str, ...]
    names: Annotated[tuple[str, ...], "names of things, or of inputs"]
    texts: Annotated[tuple[str, ...], "what stands in quotation marks"]
    pairs: Annotated[tuple[str, ...], "pairs of channels, such as 1+2"]


@frozen(eq=False, repr=False)
class Setting(Value):
    """A setting that was made; a word alone has one empty item or none."""

    items: tuple[Item, ...]
    settings: Annotated[Facts | None, "the settings in its own braces"]
    place: Place


class Facts(dict[str, Setting]):
    """Settings by their words."""


@frozen(eq=False, repr=False)
class Kind(Value):
    """A kind of gear from the stock."""

    sort: Annotated[Sort | None, "null where its statement does not say"]
    name: str
    settings: Facts
    complete: Annotated[bool, "false where its statement has faults"]
    place: Place


@frozen(eq=False, repr=False)
class Port(Value):
    """Settings made on one channel, output, pair, line or leg of a thing, or on one way of a loudspeaker."""

    port: str
    settings: Facts


@frozen(eq=False, repr=False)
class Thing(Value):
    """One thing, or one member of a row, with the settings of its kind and its own."""

    name: Annotated[str, "its full name, such as sub[1]"]
    row: Annotated[str, "its name without the number"]
    number: int | None
    word: Annotated[str, "what it was declared as: feed, amp, speaker ..."]
    kind: Annotated[str | None, "the name of its kind"]
    parent: Annotated[str | None, "the part of the mains that feeds this part of it"]
    settings: Facts
    ports: tuple[Port, ...]
    complete: Annotated[bool, "false where its statement has faults"]
    place: Place


@frozen(eq=False, repr=False)
class Output(Value):
    """Where something comes out."""

    key: Annotated[str, "the name by which figures know it, such as bass.1"]
    thing: str
    port: str
    carries: Carries
    joint: int
    place: Place


@frozen(eq=False, repr=False)
class Input(Value):
    """Where something goes in."""

    key: str
    thing: str
    port: str
    takes: Carries
    joint: int
    place: Place


@frozen(eq=False, repr=False)
class Passage(Value):
    """A line of a panel or a pair of a named lead."""

    key: str
    thing: str
    port: str
    near_joint: int
    far_joint: int


@frozen(eq=False, repr=False)
class LeadSize(Value):
    """What is known of a lead; its size is each conductor's, its length that one way."""

    area: Figure | None
    gauge: Figure | None
    length: Figure | None
    solid: bool
    tinned: bool


@frozen(eq=False, repr=False)
class Link(Value):
    """What lies between two joints, in the author's direction; a plug makes two joints one."""

    what: Literal["lead", "invert", "pad", "delay", "plug"]
    near_joint: int
    far_joint: int
    fed_by: Annotated[str | None, "the key of the output that it hangs on"]
    name: Annotated[str, "what it is called, if anything"]
    thing: Annotated[str | None, "the named lead, panel or loudspeaker that it belongs to"]
    lead: LeadSize | None
    turned: Annotated[Place | None, "what says that plus and minus are exchanged in this lead"]
    gain_db: float
    delay_s: float
    place: Place


@frozen(eq=False, repr=False)
class Series(Value):
    """A joint whose two conductors lead through several branches, one after the other."""

    joint: int
    branches: Annotated[tuple[int, ...], "the first joint of each branch"]
    place: Place


@frozen(eq=False, repr=False)
class Turn(Value):
    """A place where plus and minus are exchanged."""

    text: str
    place: Place


@frozen(eq=False, repr=False)
class Arrival(Value):
    """What of an output reaches an input."""

    from_output: str
    to_input: str
    turns: tuple[Turn, ...]
    inverted: Annotated[bool, "an odd number of turns"]
    gain_db: float
    delay_s: float


@frozen(eq=False, repr=False)
class Wiring(Value):
    """How everything hangs together: joints are numbers, links lead from joint to joint."""

    outputs: tuple[Output, ...]
    inputs: tuple[Input, ...]
    passages: tuple[Passage, ...]
    links: tuple[Link, ...]
    series: tuple[Series, ...]
    arrivals: tuple[Arrival, ...]


@frozen(eq=False, repr=False)
class Part(Value):
    """A thing in a list."""

    name: str
    port: str
    gain_db: float
    against: Annotated[bool, "meant to push the other way"]


@frozen(eq=False, repr=False)
class Listing(Value):
    """A named list: stereo pair, mix, rack, group; or the spares."""

    word: str
    name: str
    parts: tuple[Part, ...]
    place: Place


@frozen(eq=False, repr=False)
class Promise(Value):
    """An `expect` statement."""

    figure: str
    of: tuple[str, ...]
    comparison: str
    value: Annotated[Figure | str, "a figure, or a word such as normal"]
    band: Figure | None
    place: Place


@frozen(eq=False, repr=False)
class Reading(Value):
    """A `measured` statement."""

    figure: str
    of: str
    value: Figure | str
    place: Place


@frozen(eq=False, repr=False)
class Excuse(Value):
    """An `allow` statement."""

    rule: str
    of: Annotated[tuple[str, ...], "the full names that it covers"]
    reason: str
    place: Place


# ---- the whole -------------------------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class Tool(Value):
    """What wrote the document."""

    name: Literal["rigspec"]
    version: str


@frozen(eq=False, repr=False)
class Export(Value):
    """A whole rig: its gear, its wiring, its figures and what is wrong with it."""

    format: Literal["rigspec-export"]
    version: Annotated[Literal[1], "rises with a key that changes its meaning or goes, not with a new one"]
    tool: Tool
    file: str
    title: str
    files: Annotated[tuple[str, ...], "every file that was read for it, its own first"]
    settings: Annotated[Facts, "what `rig` says of the place"]
    kinds: tuple[Kind, ...]
    things: tuple[Thing, ...]
    wiring: Wiring
    lists: tuple[Listing, ...]
    promises: tuple[Promise, ...]
    readings: tuple[Reading, ...]
    exceptions: tuple[Excuse, ...]
    figures: Figures
    findings: tuple[Finding, ...]
    excused: Annotated[tuple[Finding, ...], "findings that an `allow` statement accepts"]


def as_json(value: object) -> object:
    """A value as JSON takes it, its keys in the order of its fields; a figure that is not finite is null."""
    if isinstance(value, Value):
        fields = getattr(type(value), "__attrs_attrs__", ())
        return {each.name: as_json(getattr(value, each.name)) for each in fields}
    if isinstance(value, Mapping):
        return {key: as_json(each) for key, each in value.items()}
    if isinstance(value, tuple | list):
        return [as_json(each) for each in value]
    if isinstance(value, float):
        return value if value - value == 0 else None
    return value
