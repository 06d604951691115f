"""`python -m tests.demo_maker [FOLDER]` writes the demo export anew, by default where the project keeps it.

Comes in: a folder, or nothing. Goes out: the generated files, the same bytes every time. Refuses: more than one folder.
"""

from __future__ import annotations

import sys
from pathlib import Path

from pipeline.contracts.places import DEMO_EXPORT
from tests.demo_maker.writing import write_demo


def main(arguments: list[str]) -> int:
    """Write the demo export; the exit code."""
    if len(arguments) > 1 or any(argument.startswith("-") for argument in arguments):
        print("usage: python -m tests.demo_maker [FOLDER]", file=sys.stderr)
        return 2
    folder = Path(arguments[0]) if arguments else DEMO_EXPORT
    write_demo(folder)
    print(f"demo export written to {folder}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
