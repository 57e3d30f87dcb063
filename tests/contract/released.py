"""The contract that clients were given, and what of it the code no longer keeps.

Run as `python -m tests.contract.released` to write `docs/openapi.json` anew: when something was added, or with a release that
may break clients. Additions break nobody, since clients pass over what they do not know.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests.contract.small import small_app

RELEASED = Path(__file__).parents[2] / "docs" / "openapi.json"
Schema = dict[str, Any]
KINDS = ("type", "format", "const", "pattern")


def contract() -> Schema:
    """Give the document of the code, without examples: they are no promise."""
    plain: Schema = _without_examples(json.loads(json.dumps(small_app().openapi())))
    return plain


def _without_examples(value: Any) -> Any:
    if isinstance(value, dict):
        return {
            key: _without_examples(inner)
            for key, inner in value.items()
            if key not in ("example", "examples") or key == "properties"
        }
    return [_without_examples(inner) for inner in value] if isinstance(value, list) else value


def breaks(released: Schema, now: Schema) -> list[str]:
    """Give every promise of the released document that the other one does not keep, with its place."""
    return sorted(set(Comparison(released, now).all()))


class Comparison:
    """Compares two documents, side by side."""

    def __init__(self, released: Schema, now: Schema) -> None:
        self.released = released
        self.now = now
        self._compared: set[tuple[str, str, bool]] = set()

    def all(self) -> Iterator[str]:
        for path, methods in self.released["paths"].items():
            for method, operation in methods.items():
                where = f"{method.upper()} {path}"
                other = self.now["paths"].get(path, {}).get(method)
                if other is None:
                    yield f"{where}: is gone"
                    continue
                yield from self._operation(where, operation, other)

    def _operation(self, where: str, old: Schema, new: Schema) -> Iterator[str]:
        if old["operationId"] != new["operationId"]:
            yield f"{where}: is called {new['operationId']} now, clients call {old['operationId']}"
        yield from self._parameters(where, old.get("parameters", []), new.get("parameters", []))
        yield from self._bodies(where, old, new)
        for status, response in old["responses"].items():
            yield from self._response(f"{where} {status}", status, response, new["responses"])

    def _parameters(self, where: str, old: list[Schema], new: list[Schema]) -> Iterator[str]:
        known = {(x["in"], x["name"]): x for x in new}
        before = {(x["in"], x["name"]) for x in old}
        for parameter in old:
            key = (parameter["in"], parameter["name"])
            if key not in known:
                yield f"{where}: the parameter {parameter['name']} is gone"
                continue
            at = f"{where} ?{parameter['name']}"
            if known[key].get("required") and not parameter.get("required"):
                yield f"{at}: is required now"
            yield from self._schema(at, parameter["schema"], known[key]["schema"], asked=True)
        for key, parameter in known.items():
            if key not in before and parameter.get("required"):
                yield f"{where}: the parameter {parameter['name']} is new and required"

    def _bodies(self, where: str, old: Schema, new: Schema) -> Iterator[str]:
        before, after = (x.get("requestBody", {}).get("content", {}) for x in (old, new))
        for kind, content in before.items():
            if kind not in after:
                yield f"{where}: takes no {kind} any more"
            elif "schema" in content:
                yield from self._schema(f"{where} body", content["schema"], after[kind]["schema"], asked=True)

    def _response(self, where: str, status: str, old: Schema, new: dict[str, Schema]) -> Iterator[str]:
        # Fewer mistakes to tell of break nobody.
        if status not in new:
            if status.startswith("2"):
                yield f"{where}: is gone"
            return
        for kind, content in old.get("content", {}).items():
            other = new[status].get("content", {}).get(kind)
            if other is None:
                yield f"{where}: is not told as {kind} any more"
            elif "schema" in content:
                yield from self._schema(where, content["schema"], other["schema"], asked=False)

    def _schema(self, where: str, old: Schema, new: Schema, *, asked: bool) -> Iterator[str]:
        key = (str(old.get("$ref")), str(new.get("$ref")), asked)
        if "$ref" in old:
            if key in self._compared:
                return
            self._compared.add(key)
        old, new = _resolved(self.released, old), _resolved(self.now, new)
        for kind in KINDS:
            if kind in new and old.get(kind) != new[kind] and not (asked and kind in ("format", "pattern")):
                yield f"{where}: {kind} is {new[kind]} now, was {old.get(kind)}"
        yield from self._choices(where, old, new, asked=asked)
        yield from self._properties(where, old, new, asked=asked)
        if "items" in old:
            yield from self._schema(f"{where}[]", old["items"], new.get("items", {}), asked=asked)

    def _choices(self, where: str, old: Schema, new: Schema, *, asked: bool) -> Iterator[str]:
        before, after = set(map(str, old.get("enum", []))), set(map(str, new.get("enum", [])))
        gone, come = before - after, after - before
        if asked and before and gone and after:
            yield f"{where}: {sorted(gone)} cannot be asked any more"
        if not asked and before and come:
            yield f"{where}: {sorted(come)} may be told now"
        others = _alternatives(new) or [new]
        for at, choice in enumerate(_alternatives(old)):
            found = [list(self._schema(f"{where}|{at}", choice, other, asked=asked)) for other in others]
            if found and all(found):
                yield from min(found, key=len)

    def _properties(self, where: str, old: Schema, new: Schema, *, asked: bool) -> Iterator[str]:
        before, after = old.get("properties", {}), new.get("properties", {})
        for name, inner in before.items():
            if name not in after:
                yield f"{where}.{name}: is gone"
                continue
            yield from self._schema(f"{where}.{name}", inner, after[name], asked=asked)
        required, now_required = set(old.get("required", [])), set(new.get("required", []))
        if asked:
            yield from (f"{where}.{x}: is required now" for x in now_required - required)
        elif before:
            yield from (f"{where}.{x}: may be missing now" for x in required - now_required if x in after)


def _alternatives(schema: Schema) -> list[Schema]:
    found: list[Schema] = schema.get("anyOf") or schema.get("oneOf") or []
    return found


def _resolved(document: Schema, schema: Schema) -> Schema:
    while "$ref" in schema:
        steps = schema["$ref"].removeprefix("#/").split("/")
        schema = document
        for step in steps:
            schema = schema[step]
    return schema


def main() -> None:
    """Write the released document anew."""
    RELEASED.write_text(
        json.dumps(contract(), indent=1, sort_keys=True, ensure_ascii=False) + "\n", encoding="utf-8"
    )


if __name__ == "__main__":
    main()
