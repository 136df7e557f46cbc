"""The shelf as a projection: what every lot's purchases, counts and uses add up to.

Carries frozen copies of what it needs and never imports the program.
"""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    text, whole = sa.Text(), sa.Integer()
    op.create_table(
        "shelf",
        sa.Column("id", whole, nullable=False, autoincrement=False),
        sa.Column("product_id", whole, nullable=False),
        sa.Column("lot_id", whole),
        sa.Column("state", text, nullable=False),
        sa.Column("kept", whole, nullable=False),
        sa.Column("open", whole, nullable=False),
        sa.Column("sums", text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_shelf"),
        sa.ForeignKeyConstraint(["product_id"], ["product.id"], name="fk_shelf_product_id"),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name="fk_shelf_lot_id"),
        sqlite_strict=True,
    )
    op.create_index("ix_shelf_product_id", "shelf", ["product_id"])
