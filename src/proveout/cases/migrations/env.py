"""What Alembic runs: the migrations over the connection that `upgrade` hands in."""

from __future__ import annotations

from alembic import context

from proveout.cases.tables import metadata

context.configure(connection=context.config.attributes["connection"], target_metadata=metadata, transactional_ddl=True)
context.run_migrations()
