"""`python -m finishlog` and the `finishlog` command."""

from __future__ import annotations

import sys


def main(argv: list[str] | None = None) -> int:
    """Run one command, or the screens where none is named; the exit status is the answer."""
    from finishlog import wiring

    return wiring.run(sys.argv[1:] if argv is None else argv)


if __name__ == "__main__":
    sys.exit(main())
