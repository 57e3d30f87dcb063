"""Run by Alembic, which is handed an open connection: `service.store.migrating` starts it."""

from __future__ import annotations

from alembic import context

from service.store.schema import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    # SQLite cannot change a table in place; Alembic then moves its rows into a new one.
    render_as_batch=True,
)
context.run_migrations()
