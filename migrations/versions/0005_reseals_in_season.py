"""What falls due is made anew: a crew sees a reseal in the last months of its window, in the season.

Carries frozen copies of what it needs and never imports the program.
"""

from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("DELETE FROM due")
