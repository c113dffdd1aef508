"""Starting the program: one command, one exit code, and never a traceback for what a person did."""

from __future__ import annotations

import os
import sys


def main() -> None:
    """Run the command line; errors are one sentence on stderr (or `{"error": ...}` on stdout with --json)."""
    from .cli import run

    try:
        code = run(sys.argv[1:])
        sys.stdout.flush()
    except BrokenPipeError:
        # Whoever read our output has gone (`| head`): nothing is wrong, and nothing more can be said.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        code = 0
    sys.exit(code)


if __name__ == "__main__":
    main()
