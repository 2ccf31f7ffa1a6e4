"""The chain, its seals and its keeper rows, with triggers that refuse every change."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

NUMBER = sa.BigInteger().with_variant(sa.Integer, "sqlite")

_SQLITE = """
CREATE TRIGGER {table}_no_{verb} BEFORE {VERB} ON {table}
BEGIN SELECT RAISE(ABORT, 'the chain is never changed'); END
"""
# A REPLACE would slip past the trigger on DELETE, so a number is never given twice.
_SQLITE_ONCE = """
CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table}
WHEN EXISTS (SELECT 1 FROM {table} WHERE seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'the chain is never changed'); END
"""
_POSTGRES_FUNCTION = """
CREATE FUNCTION pinloom_never() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION 'the chain is never changed'; END $$
"""
_POSTGRES = """
CREATE TRIGGER {table}_no_{verb} BEFORE {VERB} ON {table}
FOR EACH STATEMENT EXECUTE FUNCTION pinloom_never()
"""


def upgrade() -> None:
    """Make them."""
    op.create_table(
        "events",
        sa.Column("seq", NUMBER, primary_key=True, autoincrement=False),
        sa.Column("at", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("why", sa.Text, nullable=False),
        sa.Column("system", NUMBER),
        sa.Column("subject", NUMBER),
        sa.Column("party", NUMBER),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("data", sa.Text, nullable=False),
        sa.Column("flag", sa.Text, nullable=False),
        sa.Column("prev", sa.Text, nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
    )
    op.create_index("events_subject", "events", ["subject", "seq"])
    op.create_index("events_party", "events", ["party", "seq"])
    op.create_index("events_name", "events", ["system", "name", "seq"])
    op.create_table(
        "sealed",
        sa.Column("seq", NUMBER, primary_key=True, autoincrement=False),
        sa.Column("body", sa.LargeBinary, nullable=False),
    )
    op.create_table(
        "head",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("seq", NUMBER, nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
        sa.Column("at", sa.Text, nullable=False),
        sa.Column("state", sa.Integer, nullable=False),
    )
    op.create_table(
        "strongbox",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("text", sa.Text, nullable=False),
    )
    op.create_table(
        "attempts",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("failed", sa.Integer, nullable=False),
        sa.Column("last", sa.Text, nullable=False),
    )
    _guard()


def _guard() -> None:
    postgres = op.get_bind().dialect.name == "postgresql"
    if postgres:
        op.execute(_POSTGRES_FUNCTION)
    for table in ("events", "sealed"):
        for verb in ("update", "delete", "truncate") if postgres else ("update", "delete"):
            text = _POSTGRES if postgres else _SQLITE
            op.execute(text.format(table=table, verb=verb, VERB=verb.upper()))
        if not postgres:
            op.execute(_SQLITE_ONCE.format(table=table))
