"""Runs the steps on the connection that ``pinloom.ledger.upgrade`` hands over, and on no other."""

from alembic import context

from pinloom.ledger.schema import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
