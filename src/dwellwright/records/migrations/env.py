"""What Alembic runs: the steps, on the connection and in the transaction that `migrating` opened."""

from __future__ import annotations

from alembic import context

context.configure(connection=context.config.attributes["connection"], render_as_batch=True)
context.run_migrations()
