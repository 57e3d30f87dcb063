"""A key is shown once, and of its secret only a digest is kept."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest
from sqlalchemy import select

from service.store.database import Database
from service.store.keys import KeyStore
from service.store.schema import keys

AT = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)


@pytest.fixture
def store(database: Database) -> KeyStore:
    return KeyStore(database)


def test_a_key_tells_whose_it_is_and_what_it_may_do(store: KeyStore) -> None:
    kept, key = store.add("Desk by the door", "sales", AT)
    assert store.holder(key) == kept
    assert (kept.name, kept.role) == ("Desk by the door", "sales")


def test_nothing_else_is_a_key(store: KeyStore) -> None:
    _, key = store.add("Desk", "sales", AT)
    other = "A" if key[-1] != "A" else "B"
    for wrong in ("", "lw_", key[:-1], key[:-1] + other, key + "x", key.upper(), f" {key}", "ü" * 60, "\0"):
        assert store.holder(wrong) is None


def test_a_key_that_was_taken_back_is_none_for_ever(store: KeyStore) -> None:
    kept, key = store.add("Desk", "catalog", AT)
    assert store.revoke(kept.id, AT)
    assert store.holder(key) is None
    assert not store.revoke(kept.id, AT)
    assert store.all()[0].revoked_at == AT


def test_taking_back_a_key_that_does_not_exist_changes_nothing(store: KeyStore) -> None:
    _, key = store.add("Desk", "catalog", AT)
    assert not store.revoke("000000000000", AT)
    assert store.holder(key)


def test_the_secret_is_not_in_the_database(database: Database, store: KeyStore) -> None:
    _, key = store.add("Desk", "sales", AT)
    with database.reading() as connection:
        row = dict(connection.execute(select(keys)).mappings().one())
    assert key.split("_", 2)[2] not in json.dumps(row, default=str)


def test_no_two_keys_are_alike(store: KeyStore) -> None:
    assert len({store.add("Desk", "sales", AT)[1] for _ in range(20)}) == 20
