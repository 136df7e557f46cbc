"""How Alembic runs here: on the connection that finishlog.store.engine.upgrade opened, in its transaction."""

from alembic import context

context.configure(connection=context.config.attributes["connection"], render_as_batch=True)
context.run_migrations()
