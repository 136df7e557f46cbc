"""The book of reseals as a projection: what falls due for reseal on each job.

Carries frozen copies of what it needs and never imports the program.
"""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    text, whole = sa.Text(), sa.Integer()
    op.create_table(
        "care",
        sa.Column("job_id", whole, nullable=False),
        sa.Column("handle", text, nullable=False),
        sa.Column("state", text, nullable=False),
        sa.Column("left_alone", whole, nullable=False),
        sa.Column("on_day", text),
        sa.Column("on_month", whole),
        sa.Column("due_from", text, nullable=False),
        sa.Column("due_to", text, nullable=False),
        sa.Column("open_month", whole, nullable=False),
        sa.Column("reminded", whole),
        sa.Column("bounced", whole, nullable=False),
        sa.Column("done_on", text),
        sa.Column("done_month", whole),
        sa.PrimaryKeyConstraint("job_id", name="pk_care"),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name="fk_care_job_id"),
        sqlite_strict=True,
    )
    op.create_index("ix_care_done_on", "care", ["done_on"])
