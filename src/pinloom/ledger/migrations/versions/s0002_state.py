"""The tables of what is so now. They start empty; the upgrade fills them from the events."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

#: table -> (columns of its key, all columns)
TABLES = {
    "now_site": (
        ("id",),
        (
            "id",
            "name",
        ),
    ),
    "now_building": (
        (
            "site",
            "name",
        ),
        (
            "site",
            "name",
        ),
    ),
    "now_person": (
        ("id",),
        (
            "id",
            "name",
            "organisation",
            "contact",
            "note",
        ),
    ),
    "now_signatory": (
        (
            "site",
            "person",
        ),
        (
            "site",
            "person",
            "authority",
            "until",
            "since",
            "ended",
        ),
    ),
    "now_system": (
        ("id",),
        (
            "id",
            "site",
            "name",
            "latest",
            "approved",
            "inventoried",
        ),
    ),
    "now_revision": (
        (
            "system",
            "number",
        ),
        (
            "system",
            "number",
            "at",
            "proved",
            "faults",
            "format",
            "chambers",
            "texts",
            "mark",
            "sealed",
            "approved_at",
            "approved_by",
            "authority",
        ),
    ),
    "now_door": (
        (
            "system",
            "revision",
            "name",
        ),
        (
            "system",
            "revision",
            "name",
            "opening",
            "hardware",
            "keyway",
            "core_group",
            "count",
            "pinning",
        ),
    ),
    "now_doorplace": (
        (
            "system",
            "door",
        ),
        (
            "system",
            "door",
            "building",
        ),
    ),
    "now_key": (
        (
            "system",
            "revision",
            "name",
        ),
        (
            "system",
            "revision",
            "name",
            "standing",
            "combination",
            "copies",
            "blank",
        ),
    ),
    "now_opens": (
        (
            "system",
            "revision",
            "door",
            "name",
        ),
        (
            "system",
            "revision",
            "door",
            "name",
        ),
    ),
    "now_combination": (
        (
            "system",
            "name",
            "combination",
        ),
        (
            "system",
            "name",
            "combination",
            "lost",
        ),
    ),
    "now_copy": (
        ("id",),
        (
            "id",
            "system",
            "name",
            "number",
            "stamp",
            "combination",
            "revision",
            "blank",
            "state",
            "holder",
            "issue",
            "out_at",
            "due",
            "overdue",
        ),
    ),
    "now_order": (
        ("id",),
        (
            "id",
            "system",
            "name",
            "person",
            "copies",
            "blank",
            "cut",
        ),
    ),
    "now_cylinder": (
        ("id",),
        (
            "id",
            "system",
            "mark",
            "pinned_for",
            "revision",
            "pinning",
            "pinned_at",
            "door",
            "place",
        ),
    ),
    "now_blank": (
        ("name",),
        (
            "name",
            "restricted",
            "received",
            "cut",
            "spoiled",
            "adjusted",
            "counted_at",
        ),
    ),
    "now_lookup": (
        (
            "kind",
            "system",
            "ref",
        ),
        (
            "kind",
            "system",
            "ref",
            "label",
            "folded",
        ),
    ),
}
FLAGS = {"proved", "restricted"}
NUMBERS = {
    "id",
    "site",
    "person",
    "latest",
    "approved",
    "system",
    "number",
    "faults",
    "chambers",
    "sealed",
    "revision",
    "count",
    "pinning",
    "combination",
    "copies",
    "lost",
    "holder",
    "issue",
    "overdue",
    "cut",
    "received",
    "spoiled",
    "adjusted",
}
INDEXES = (
    ("now_person", ("name",)),
    (
        "now_opens",
        (
            "system",
            "revision",
            "name",
        ),
    ),
    (
        "now_copy",
        (
            "holder",
            "state",
        ),
    ),
    ("now_copy", ("stamp",)),
    (
        "now_copy",
        (
            "state",
            "due",
        ),
    ),
    (
        "now_copy",
        (
            "system",
            "name",
            "combination",
        ),
    ),
    (
        "now_cylinder",
        (
            "system",
            "door",
        ),
    ),
    (
        "now_cylinder",
        (
            "system",
            "pinned_for",
        ),
    ),
    ("now_lookup", ("folded",)),
)


def upgrade() -> None:
    """Make them."""
    for name, (key, columns) in TABLES.items():
        op.create_table(name, *(_column(column, column in key) for column in columns))
    for name, columns in INDEXES:
        op.create_index(f"{name}_{'_'.join(columns)}", name, list(columns))


def _column(name: str, key: bool) -> sa.Column[Any]:
    if name in FLAGS:
        kind: sa.types.TypeEngine[Any] = sa.Boolean()
    elif name in NUMBERS:
        kind = sa.BigInteger().with_variant(sa.Integer, "sqlite")
    else:
        kind = sa.Text()
    return sa.Column(name, kind, primary_key=key, autoincrement=False, nullable=False)
