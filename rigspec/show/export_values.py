"""What an export says, as value classes; the published schema is made from them, so nothing is described twice.

The names of the fields are the keys of the document. `Annotated` holds what each says.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from attrs import frozen

from rigspec.language.words import Carries, StockSort
from rigspec.show.export_results import Figures, Finding
from rigspec.text.value import Value

VERSION: Literal[3] = 3  # a key that changes its meaning or goes raises it, a new key or table does not


class Unit(str):
    """One of the units in which values are kept; nothing for a bare number."""


class KindOfFigure(str):
    """One of the kinds of figure that the language knows."""


@frozen(eq=False, repr=False)
class Place(Value):
    """Where something stands: lines and columns from 1, columns in code points; the end is the first that is not in."""

    path: Annotated[str, "the text that it stands in"]
    line: Annotated[int, "the line of its first character"]
    column: Annotated[int, "the column of its first character"]
    end_line: Annotated[int, "the line of its end"]
    end_column: Annotated[int, "the column of its end"]


@frozen(eq=False, repr=False)
class Figure(Value):
    """A figure as it is given."""

    kind: Annotated[KindOfFigure, "which kind of figure it is"]
    value: Annotated[float, "in the unit below"]
    unit: Annotated[Unit, "the unit of the value and of both ends"]
    low: Annotated[float, "the low end of its range or tolerance, the value where there is none"]
    high: Annotated[float, "the high end of its range or tolerance"]
    written: Annotated[str, "as it stands in the rig or its stock"]
    place: Annotated[Place, "where it stands"]


@frozen(eq=False, repr=False)
class Item(Value):
    """One item of a setting; a setting with commas has several."""

    figures: Annotated[tuple[Figure, ...], "the figures in it, in the order of the text"]
    words: Annotated[tuple[str, ...], "the bare words in it"]
    names: Annotated[tuple[str, ...], "names of things, or of inputs"]
    texts: Annotated[tuple[str, ...], "what stands in quotation marks"]
    pairs: Annotated[tuple[str, ...], "pairs of channels, such as 1+2"]


@frozen(eq=False, repr=False)
class Setting(Value):
    """A setting that was made; a word alone has one empty item or none."""

    items: Annotated[tuple[Item, ...], "its items, in the order of the text"]
    settings: Annotated[Facts | None, "the settings in its own braces"]
    place: Annotated[Place, "where it stands"]


class Facts(dict[str, Setting]):
    """Settings by their words."""


@frozen(eq=False, repr=False)
class Kind(Value):
    """A kind of gear from the stock."""

    sort: Annotated[StockSort | None, "null where its statement does not say"]
    name: Annotated[str, "the name that things refer to"]
    settings: Annotated[Facts, "what the stock says of it"]
    complete: Annotated[bool, "false where its statement has faults"]
    place: Annotated[Place, "where it is described"]


@frozen(eq=False, repr=False)
class Port(Value):
    """Settings made on one channel, output, pair, line or leg of a thing, or on one way of a loudspeaker."""

    port: Annotated[str, "its number, numbers or name"]
    settings: Annotated[Facts, "what is set there"]


@frozen(eq=False, repr=False)
class Thing(Value):
    """One thing, or one member of a row, with the settings of its kind and its own."""

    name: Annotated[str, "its full name, such as sub[1]"]
    row: Annotated[str, "its name without the number"]
    number: Annotated[int | None, "its number in its row; null where it stands alone"]
    word: Annotated[str, "what it was declared as: feed, amp, speaker ..."]
    kind: Annotated[str | None, "the name of its kind"]
    parent: Annotated[str | None, "the part of the mains that feeds this part of it"]
    settings: Annotated[Facts, "those of its kind but for long ones such as a curve, with its own in their place"]
    ports: Annotated[tuple[Port, ...], "what is set at its channels, outputs, pairs, lines, legs and ways"]
    complete: Annotated[bool, "false where its statement has faults"]
    place: Annotated[Place, "where it is declared"]


@frozen(eq=False, repr=False)
class Output(Value):
    """Where something comes out."""

    key: Annotated[str, "the name by which figures know it, such as bass.1"]
    thing: Annotated[str, "the full name of the thing"]
    port: Annotated[str, "the port of the thing; nothing where it has one output only"]
    carries: Annotated[Carries, "signal, power from an amplifier, or mains"]
    joint: Annotated[int, "the joint that it is"]
    place: Annotated[Place, "where a path leaves it"]


@frozen(eq=False, repr=False)
class Input(Value):
    """Where something goes in."""

    key: Annotated[str, "the name by which figures know it"]
    thing: Annotated[str, "the full name of the thing"]
    port: Annotated[str, "the port of the thing; nothing where it has one input only"]
    takes: Annotated[Carries, "signal, power from an amplifier, or mains"]
    joint: Annotated[int, "the joint that it is"]
    place: Annotated[Place, "where a path comes to it"]


@frozen(eq=False, repr=False)
class Passage(Value):
    """A line of a panel or a pair of a named lead."""

    key: Annotated[str, "the name by which figures know it"]
    thing: Annotated[str, "the full name of the panel or the lead"]
    port: Annotated[str, "the number of the line or the pair"]
    near_joint: Annotated[int, "the joint at its side towards the feed"]
    far_joint: Annotated[int, "the joint at its other side"]


@frozen(eq=False, repr=False)
class LeadSize(Value):
    """What is known of a lead; its size is each conductor's, its length that one way."""

    area: Annotated[Figure | None, "the size of each conductor, where it is given in mm2"]
    gauge: Annotated[Figure | None, "the size of each conductor, where it is given as a gauge"]
    length: Annotated[Figure | None, "its length, one way"]
    solid: Annotated[bool, "true where its conductors are solid"]
    tinned: Annotated[bool, "true where its conductors are tinned"]


@frozen(eq=False, repr=False)
class Link(Value):
    """What lies between two joints, in the author's direction; a plug makes two joints one."""

    what: Annotated[Literal["lead", "invert", "pad", "delay", "plug"], "what it is"]
    near_joint: Annotated[int, "the joint where it begins"]
    far_joint: Annotated[int, "the joint where it ends"]
    fed_by: Annotated[str | None, "the key of the output that it hangs on"]
    name: Annotated[str, "what it is called, if anything"]
    thing: Annotated[str | None, "the named lead, panel or loudspeaker that it belongs to"]
    lead: Annotated[LeadSize | None, "what is known of the lead; null where it is none"]
    crossed: Annotated[Place | None, "what says that plus and minus are exchanged in this lead"]
    gain_db: Annotated[float, "what it does to the level, as a pad does"]
    delay_s: Annotated[float, "how much later the signal is behind it"]
    place: Annotated[Place, "where it stands"]


@frozen(eq=False, repr=False)
class Series(Value):
    """A joint whose two conductors lead through several branches, one after the other."""

    joint: Annotated[int, "the joint where it begins"]
    branches: Annotated[tuple[int, ...], "the first joint of each branch"]
    place: Annotated[Place, "where it stands"]


@frozen(eq=False, repr=False)
class Inversion(Value):
    """A place where plus and minus are exchanged."""

    text: Annotated[str, "what exchanges them"]
    place: Annotated[Place, "where that stands"]


@frozen(eq=False, repr=False)
class Arrival(Value):
    """What of an output reaches an input."""

    from_output: Annotated[str, "the key of the output"]
    to_input: Annotated[str, "the key of the input"]
    inversions: Annotated[tuple[Inversion, ...], "every exchange of plus and minus on the way, in its order"]
    inverted: Annotated[bool, "an odd number of inversions"]
    gain_db: Annotated[float, "what the way does to the level, leads not counted"]
    delay_s: Annotated[float, "how much later the signal arrives, by delays on the way"]


@frozen(eq=False, repr=False)
class Wiring(Value):
    """How everything hangs together: joints are numbers, links lead from joint to joint."""

    outputs: Annotated[tuple[Output, ...], "every output that a path leaves"]
    inputs: Annotated[tuple[Input, ...], "every input that a path comes to"]
    passages: Annotated[tuple[Passage, ...], "every line of a panel and pair of a named lead that a path takes"]
    links: Annotated[tuple[Link, ...], "everything that lies between two joints"]
    series: Annotated[tuple[Series, ...], "every circuit in series"]
    arrivals: Annotated[tuple[Arrival, ...], "which output reaches which input"]


@frozen(eq=False, repr=False)
class Part(Value):
    """A thing in a list."""

    name: Annotated[str, "the full name of the thing"]
    port: Annotated[str, "the port that is meant; nothing for the whole thing"]
    gain_db: Annotated[float, "the gain that a mix gives it"]
    against: Annotated[bool, "meant to push the other way"]


@frozen(eq=False, repr=False)
class Listing(Value):
    """A named list: stereo pair, mix, rack, group; or the spares."""

    word: Annotated[str, "stereo, mix, rack, group or spare"]
    name: Annotated[str, "its name; nothing for spares"]
    parts: Annotated[tuple[Part, ...], "what it lists, in the order of the text"]
    place: Annotated[Place, "where it stands"]


@frozen(eq=False, repr=False)
class Promise(Value):
    """An `expect` statement."""

    figure: Annotated[str, "the word of the figure"]
    of: Annotated[tuple[str, ...], "the keys of what it is promised of"]
    comparison: Annotated[str, "how the figure has to compare, as it is written"]
    value: Annotated[Figure | str, "a figure, or a word such as normal"]
    band: Annotated[Figure | None, "the band in which it is promised; null without one"]
    place: Annotated[Place, "where it stands"]


@frozen(eq=False, repr=False)
class Reading(Value):
    """A `measured` statement."""

    figure: Annotated[str, "the word of the figure"]
    of: Annotated[str, "the key of what was measured"]
    value: Annotated[Figure | str, "what the meter said"]
    place: Annotated[Place, "where it stands"]


@frozen(eq=False, repr=False)
class Excuse(Value):
    """An `allow` statement."""

    rule: Annotated[str, "the rule whose findings it accepts"]
    of: Annotated[tuple[str, ...], "the full names that it covers"]
    reason: Annotated[str, "the reason that it gives"]
    place: Annotated[Place, "where it stands"]


# ---- the whole -------------------------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class Tool(Value):
    """What wrote the document."""

    name: Annotated[Literal["rigspec"], "the program"]
    version: Annotated[str, "its version"]


@frozen(eq=False, repr=False)
class Export(Value):
    """A whole rig: its gear, its wiring, its figures and what is wrong with it."""

    format: Annotated[Literal["rigspec-export"], "what kind of document this is"]
    version: Annotated[Literal[3], "rises with a key that changes its meaning or goes, not with a new one"]
    tool: Annotated[Tool, "what wrote it"]
    file: Annotated[str, "the rig file, as it was named"]
    title: Annotated[str, "the title of the rig"]
    files: Annotated[tuple[str, ...], "every file that was read for it, its own first"]
    settings: Annotated[Facts, "what `rig` says of the place"]
    kinds: Annotated[tuple[Kind, ...], "every kind of gear that the rig and its stock describe"]
    things: Annotated[tuple[Thing, ...], "every thing of the rig, rows member by member"]
    wiring: Annotated[Wiring, "how everything hangs together"]
    lists: Annotated[tuple[Listing, ...], "stereo pairs, mixes, racks, groups and spares"]
    promises: Annotated[tuple[Promise, ...], "every `expect`"]
    readings: Annotated[tuple[Reading, ...], "every `measured`"]
    exceptions: Annotated[tuple[Excuse, ...], "every `allow`"]
    figures: Annotated[Figures, "everything computed"]
    findings: Annotated[tuple[Finding, ...], "what is wrong, with the keys of `rigspec check --as json`"]
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
