"""Databases for these tests."""

from tests.databases import address, database, server, servers

__all__ = ["address", "database", "server", "servers"]
