"""What was learned from readings, kept in the log. The table is made; whoever learns first fills it.

Carries frozen copies of what it needs and never imports the program.
"""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    text, whole = sa.Text(), sa.Integer()
    op.create_table(
        "learned",
        sa.Column("spot", text, nullable=False),
        sa.Column("part", text, nullable=False),
        sa.Column("form", text, nullable=False),
        sa.Column("entry", whole, nullable=False),
        sa.Column("mark", text, nullable=False),
        sa.Column("body", text, nullable=False),
        sa.Column("hash", text, nullable=False),
        sa.PrimaryKeyConstraint("spot", "part", name="pk_learned"),
        sqlite_strict=True,
    )
