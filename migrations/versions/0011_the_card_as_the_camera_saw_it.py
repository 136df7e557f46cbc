"""Of a reading off a photo: which camera took it, and how it shows the patches of its card.

Carries frozen copies of what it needs and never imports the program.
"""

from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    text = "TEXT" if op.get_bind().dialect.name == "sqlite" else 'TEXT COLLATE "C"'
    op.execute(f"ALTER TABLE reading ADD COLUMN camera {text}")
    op.execute(f"ALTER TABLE reading ADD COLUMN card {text}")
    op.create_index("ix_reading_camera", "reading", ["camera"])
