"""What falls due is made anew: a load ends the pour of the areas it went to, and care says how a slab lies.

Carries frozen copies of what it needs and never imports the program.
"""

from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("DELETE FROM due")
