"""JSON Schemas of the catalog's files, for editors that complete and check YAML while it is written.

They come from the entries of `rules.catalog`, so they have the same keys; what entries check in code is said again here.
A schema knows one file only: what files say about one another is for `loomway check`.

Source: JSON Schema draft-07 (Wright, Andrews, Hutton, March 2018), the newest that editors of YAML read throughout.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from rules.catalog.bike import BikeFacts, Family
from rules.catalog.case import CaseFile
from rules.catalog.connector import ConnectorFile
from rules.catalog.entry import Entry
from rules.catalog.facts import UNITS
from rules.catalog.part import PartLine
from rules.catalog.place import PlaceFile
from rules.catalog.price import PriceList
from rules.catalog.rule import RuleFile
from rules.catalog.shop import Shop
from rules.check.parts import NEEDED, OWNED

Json = dict[str, Any]

FILES: Mapping[str, type[Entry]] = {
    "shop": Shop,
    "places": PlaceFile,
    "connectors": ConnectorFile,
    "bikes": Family,
    "parts": PartLine,
    "rules": RuleFile,
    "prices": PriceList,
    "cases": CaseFile,
}
"""Kinds of files, by the name of the file or of its folder, with the entry that one holds."""

_DRAFT = "http://json-schema.org/draft-07/schema#"
_ID = "^[a-z0-9]+([_-][a-z0-9]+)*$"
_END = r"^[a-z0-9]+([_-][a-z0-9]+)*\.[a-z0-9_$]+$"
_UNIT = f"_({'|'.join(UNITS)})$"
_DAY = "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"
_YEARS: Json = {
    "description": "Model years, both ends included: 2016-2019, or 2016 for one year.",
    "anyOf": [
        {"type": "string", "pattern": "^[0-9]{4}(-[0-9]{4})?$"},
        {"type": "integer", "minimum": 1000, "maximum": 9999},
    ],
}


def schema_of(kind: str) -> Json:
    """Give the schema of one kind of file.

    Args:
        kind: A key of `FILES`.
    """
    schema = _tidy(FILES[kind].model_json_schema())
    defs = schema.setdefault("$defs", {})
    for name, adjust in _ADJUSTMENTS.items():
        if name in defs:
            adjust(defs[name])
    if kind == "bikes":
        _add_changes(defs)
    for name, adjust in _ADJUSTMENTS.items():
        if name == FILES[kind].__name__:
            adjust(schema)
    return {"$schema": _DRAFT, "title": f"Loomway catalog: {kind}", **schema}


def _tidy(node: Any) -> Any:  # noqa: ANN401 - a schema is made of all kinds of JSON
    """Drop titles made from names, and nulls: a catalog has no empty values. Days and years are as they are written."""
    if isinstance(node, list):
        return [_tidy(member) for member in node]
    if not isinstance(node, dict):
        return node
    kept = {key: _tidy(value) for key, value in node.items() if not _is_noise(key, value)}
    members = [member for member in kept.get("anyOf", []) if member != {"type": "null"}]
    if len(members) == 1:
        return {**{key: value for key, value in kept.items() if key != "anyOf"}, **members[0]}
    if members:
        kept["anyOf"] = members
    if kept.get("format") == "date":
        kept["pattern"] = _DAY
    if "patternProperties" in kept:
        kept["additionalProperties"] = False
    return kept


def _is_noise(key: str, value: object) -> bool:
    # A property may be called title or default itself: then it is a schema, not a word.
    return (key == "title" and isinstance(value, str)) or (key == "default" and value is None)


def _keyed(key: str, value: Json) -> Json:
    return {"type": "object", "patternProperties": {key: value}, "additionalProperties": False}


def _facts(schema: Json) -> Json:
    """Let numbers stand only under keys that end with a unit."""
    ((key, fact),) = schema["patternProperties"].items()
    words = {"anyOf": [member for member in fact["anyOf"] if member.get("type") != "number"]}
    patterns = {f"^(?=.*{_UNIT}){key[1:]}": fact, f"^(?!.*{_UNIT}){key[1:]}": words}
    return {"type": "object", "patternProperties": patterns, "additionalProperties": False}


def _set(schema: Json, **properties: Json) -> None:
    """Say more of some properties than their types do."""
    for name, more in properties.items():
        found = schema["properties"][name]
        kept = {key: value for key, value in found.items() if key in ("description", "default")}
        schema["properties"][name] = {**kept, **more}


def _set_facts(name: str) -> Callable[[Json], None]:
    def adjust(schema: Json) -> None:
        schema["properties"][name] = _facts(schema["properties"][name])

    return adjust


def _some_of(*names: str) -> list[Json]:
    return [{"required": [name]} for name in names]


def _any_key(*names: str) -> Callable[[Json], None]:
    return lambda schema: schema.update(anyOf=_some_of(*names))


def _one_key(*names: str) -> Callable[[Json], None]:
    return lambda schema: schema.update(oneOf=_some_of(*names))


def _years(schema: Json) -> None:
    schema.clear()
    schema.update(_YEARS)


def _source(schema: Json) -> None:
    # Only money may be assumed, and money has no source of its own.
    kinds = schema["properties"]["kind"]
    kinds["enum"] = [kind for kind in kinds["enum"] if kind != "assumed"]


def _contact_map(schema: Json) -> None:
    contact = "^[1-9][0-9]{0,3}(/[1-9][0-9]{0,3})?$"
    carries = {"type": "string", "pattern": "^(in|out|both) +[a-z0-9]+(_[a-z0-9]+)*$"}
    _set(schema, contacts={**_keyed(contact, carries), "minProperties": 1})


def _links(schema: Json) -> None:
    _set(schema, links=_keyed(_END, {"type": "string", "pattern": _END}))


def _bike_facts(schema: Json) -> None:
    _set_facts("facts")(schema)
    place_and_slot = r"^[a-z0-9]+([_-][a-z0-9]+)*\.[a-z0-9]+([_-][a-z0-9]+)*$"
    _set(schema, stock=_keyed(place_and_slot, {"type": "string", "pattern": _ID}))


def _part(schema: Json) -> None:
    _links(schema)
    _set_facts("spec")(schema)
    kinds = schema["properties"]["kind"]["enum"]
    needed = [_if_kind(kind, {"required": list(keys)}) for kind, keys in NEEDED.items() if kind in kinds]
    placed = {"not": {"required": ["slot"]}}
    schema["allOf"] = [
        *needed,
        *(_unless_kind(owners, {"not": {"required": [key]}}) for key, owners in OWNED.items()),
        _if_kind("speaker", {"properties": {"connectors": {"required": ["terminals"]}}}),
        *(_if_kind(kind, placed) for kind in ("bundle", "preset") if kind in kinds),
        _unless_kind(("bundle", "preset"), {"required": ["slot"]}),
    ]


def _if_kind(kind: str, then: Json) -> Json:
    return {"if": {"required": ["kind"], "properties": {"kind": {"const": kind}}}, "then": then}


def _unless_kind(kinds: tuple[str, ...], then: Json) -> Json:
    return {
        "if": {"required": ["kind"], "properties": {"kind": {"not": {"enum": list(kinds)}}}},
        "then": then,
    }


def _channel(schema: Json) -> None:
    watts = _keyed(r"^(?=.*[1-9])[0-9]*\.?[0-9]+$", {"type": "number", "exclusiveMinimum": 0})
    _set(
        schema,
        watts={"anyOf": [watts, {"$ref": "#/$defs/Unknown"}]},
        output={"type": "string", "pattern": _END},
    )


def _provides(schema: Json) -> None:
    _links(schema)
    _set_facts("facts")(schema)
    schema["required"] = [*schema["required"], "source"]


def _operation(schema: Json) -> None:
    schema["dependencies"] = {"subject": ["action"], "action": ["subject"]}


def _path_case(schema: Json) -> None:
    schema["properties"]["year_budgets"] = _keyed("^[0-9]{4}$", {"type": "integer", "minimum": 0})
    expected = {
        "if": {"properties": {"outcome": {"const": "path"}}},
        "then": {"anyOf": _some_of("total", "visits")},
    }
    schema["allOf"] = [expected]


def _found(schema: Json) -> None:
    fact = schema["properties"]["measured"]["additionalProperties"]
    paths = _facts(_keyed(r"^(facts|places|loom)\..", fact))
    schema["properties"]["measured"] = paths


_ADJUSTMENTS: Mapping[str, Callable[[Json], None]] = {
    "YearSpan": _years,
    "Source": _source,
    "ContactMap": _contact_map,
    "Loom": _links,
    "BikePlace": _set_facts("geometry"),
    "BikeFacts": _bike_facts,
    "Part": _part,
    "OwnPart": _part,
    "Channel": _channel,
    "Selector": _any_key("part", "kind", "line", "tag", "slot"),
    "Comparison": _one_key("is", "in", "at_least", "at_most", "has"),
    "Excludes": _any_key("together_with", "when"),
    "Provides": _provides,
    "Operation": _operation,
    "PathCase": _path_case,
    "Found": _found,
}
"""What entries check in code, or say in another form than their types do, by the entry's name."""


def _add_changes(defs: Json) -> None:
    """Let an entry's trees hold any part of what a bike has, and what removes it."""
    facts = _tidy(BikeFacts.model_json_schema())
    own = facts.pop("$defs")
    for name, schema in {**own, "BikeFacts": facts}.items():
        if name not in defs:
            defs[name] = schema
            if name in _ADJUSTMENTS:
                _ADJUSTMENTS[name](schema)
    tree = _changes(defs["BikeFacts"], defs)
    defs["Changes"] = {**tree, "description": "What is different: any part of what a bike has, or `absent`."}
    entry = defs["FamilyEntry"]["properties"]
    entry["all"] = {"$ref": "#/$defs/Changes"}
    entry["trims"] = entry["splits"] = _keyed(_ID, {"$ref": "#/$defs/Changes"})
    del defs["BikeFacts"]


def _changes(schema: Json, defs: Json) -> Json:
    """Give an object's schema without required keys, every value of which may be `absent` or have its own source."""
    below: Json = {
        key: schema[key] for key in ("description", "type", "additionalProperties") if key in schema
    }
    for key in ("properties", "patternProperties"):
        if key in schema:
            below[key] = {name: _change(value, defs) for name, value in schema[key].items()}
    return below


def _change(schema: Json, defs: Json) -> Json:
    absent = {"const": "absent"}
    target = defs[schema["$ref"].rpartition("/")[2]] if "$ref" in schema else schema
    if target is not defs["Unknown"] and target.get("type") == "object":
        return {"anyOf": [_changes(target, defs), absent]}
    sourced = {
        "type": "object",
        "properties": {"value": schema, "source": {"$ref": "#/$defs/Source"}},
        "required": ["value"],
        "additionalProperties": False,
    }
    return {"anyOf": [schema, absent, sourced]}
