"""The published JSON Schema of exports, made from the value classes and the definitions of the tables."""

from __future__ import annotations

from collections.abc import Iterator
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from rigspec.language.settings import TABLES
from rigspec.show.ascii_json import dump
from rigspec.show.export_results import Tables
from rigspec.show.export_values import VERSION, Export, Facts, KindOfFigure, Setting, Unit
from rigspec.show.figure_units import unit_of
from rigspec.show.tables import QUESTIONS
from rigspec.show.tables.question import Column
from rigspec.text.units import BASE_UNIT
from rigspec.text.value import Value

DRAFT = "https://json-schema.org/draft/2020-12/schema"
_PLAIN = {str: "string", int: "integer", float: "number", bool: "boolean", NoneType: "null"}
_HELD = {"number": ["number"], "flag": ["boolean"], "either": ["number", "string"]}
Node = dict[str, Any]


def schema_text() -> str:
    """The schema as it is shipped: JSON, the same at every run."""
    return dump(schema())


def schema() -> Node:
    """The schema; every object in it lists its keys, needs all that are always there, and takes no others."""
    maker = _Maker()
    root = maker.record(Export)
    return {
        "$schema": DRAFT,
        "$id": f"urn:rigspec:export:{VERSION}",
        "title": f"rigspec export, version {VERSION}",
        **root,
        "$defs": {name: maker.made[name] for name in sorted(maker.made)},
    }


class _Maker:
    """Makes a definition of each class once, when it is first spoken of."""

    def __init__(self) -> None:
        self.made: dict[str, Node] = {}

    def record(self, cls: type[Value]) -> Node:
        """An object with the fields of a class."""
        hints = get_type_hints(cls, include_extras=True)
        names = [each.name for each in getattr(cls, "__attrs_attrs__", ())]
        return _closed(_words(cls), {name: _with_unit(name, self.of(hints[name])) for name in names}, names)

    def of(self, hint: Any) -> Node:
        """The schema of a type."""
        origin, arguments = get_origin(hint), get_args(hint)
        if origin is Annotated:
            return {**self.of(arguments[0]), "description": arguments[1]}
        if origin is Literal:
            return {"const": arguments[0]} if len(arguments) == 1 else {"enum": list(arguments)}
        if origin is tuple:
            return {"type": "array", "items": self.of(arguments[0])}
        if origin in (Union, UnionType):
            return {"anyOf": [self.of(each) for each in arguments]}
        if hint in _PLAIN:
            return {"type": _PLAIN[hint]}
        return self.named(hint)

    def named(self, cls: Any) -> Node:
        """A reference to the definition of a class, which is made if it is not there yet."""
        name = cls.__name__
        if name not in self.made:
            self.made[name] = {}  # settings may hold settings
            self.made[name] = self._definition(cls)
        return {"$ref": f"#/$defs/{name}"}

    def _definition(self, cls: Any) -> Node:
        if cls is Unit:
            return {"description": _words(cls), "enum": sorted(set(BASE_UNIT.values()))}
        if cls is KindOfFigure:
            return {"description": _words(cls), "enum": sorted(BASE_UNIT)}
        if cls is Tables:
            return _closed(_words(cls), dict(_tables()), list(QUESTIONS))
        if cls is Facts:
            return _closed(_words(cls), self._settings(), [])
        if issubclass(cls, Value):
            return self.record(cls)
        raise TypeError(f"an export has no {cls}")

    def _settings(self) -> dict[str, Node]:
        """Every setting of the language, wherever it may stand, with what it says there."""
        says: dict[str, dict[str, None]] = {}
        for table in TABLES.values():
            for word, field in table.items():
                says.setdefault(word, {})[field.says] = None
        made = self.named(Setting)
        return {word: {**made, "description": "; or: ".join(says[word])} for word in sorted(says)}


def _with_unit(name: str, node: Node) -> Node:
    """A field that is a number tells its unit too, which is the end of its key."""
    unit = unit_of(name) if node.get("type") == "number" else ""
    return {**node, "description": f"{node['description']}; in {unit}"} if unit else node


def _closed(words: str, properties: dict[str, Node], needed: list[str]) -> Node:
    return {
        "description": words,
        "type": "object",
        "properties": properties,
        **({"required": needed} if needed else {}),
        "additionalProperties": False,
    }


def _words(cls: type) -> str:
    return " ".join((cls.__doc__ or "").split())


def _tables() -> Iterator[tuple[str, Node]]:
    for word, question in QUESTIONS.items():
        columns = [column for column in question.columns if column.programs]
        rows = {column.key: _cell(column, number == 0) for number, column in enumerate(columns)}
        row = _closed(f"One row of {word}.", rows, list(rows))
        yield word, {"description": question.title, "type": "array", "items": row}


def _cell(column: Column, names_row: bool) -> Node:
    """What may stand in a cell: a figure where its key ends with a unit, else what its column says, else a word."""
    unit, says = unit_of(column.key), column.meaning
    if column.holds == "list":
        return {"description": says, "type": "array", "items": {"type": "string"}}
    if column.holds:
        return {"description": says, "type": [*_HELD[column.holds], "null"]}
    if unit:
        return {"description": f"{says}; in {unit}", "type": ["number", "null"]}
    return {"description": says, "type": "string" if names_row else ["string", "null"]}
