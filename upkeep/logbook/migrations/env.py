"""Runs the steps on the connection handed over, inside the transaction it has open."""

from __future__ import annotations

from alembic import context

context.configure(connection=context.config.attributes["connection"])
context.run_migrations()
