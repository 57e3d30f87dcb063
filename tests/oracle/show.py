"""Prints one generated instance in full, for a person who looks into a disagreement."""

from __future__ import annotations

from tests.oracle.reading import World


def _plain(entry):
    return entry.model_dump(by_alias=True, exclude_defaults=True, mode="json")


def catalog(catalog) -> None:
    """Print what the catalog says, without what is the same in all of them."""
    for name, bike in catalog.bikes.items():
        print(f"bike {name}")
        for key, value in _plain(bike.has).items():
            for inner, told in value.items():
                print(f"  {key} {inner}: {told}")
    print("slots", {name: place.slots for name, place in catalog.places.items()})
    for part in catalog.parts.values():
        told = _plain(part)
        for key in ("id", "name", "source"):
            told.pop(key)
        print(f"part {part.id} (line {catalog.lines[part.id]}):", told)
    for rule in catalog.rules.values():
        told = _plain(rule)
        for key in ("id", "says", "source"):
            told.pop(key, None)
        print(f"rule {rule.id}:", told)
    for prices in catalog.price_lists:
        print("prices", _plain(prices))


def question(catalog, asked) -> None:
    """Print the question and the bike as it stands."""
    print(asked)
    for bike in [asked.bike] if asked.bike in catalog.bikes else catalog.ambiguous[asked.bike].sides:
        print(f"{bike} now:", ", ".join(sorted(map(str, World(catalog, bike, asked.found).present))))
    for pair in sorted(asked.found.wiring):
        print("seen:", " - ".join(pair))
