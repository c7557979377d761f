"""Runs a program that ends when whoever started it does: `python -m causebook.library.minded PROGRAM ARGUMENT...`

Whoever starts it keeps the writing end of its input open and writes nothing.  The system closes that end with the
process, however that ends; then the program is ended too.
"""

from __future__ import annotations

import os
import subprocess
import sys
import threading


def main() -> int:
    """Run the program; its status."""
    child = subprocess.Popen(sys.argv[1:], stdin=subprocess.DEVNULL)

    def mind() -> None:
        os.read(sys.stdin.fileno(), 1)  # comes back with nothing once the other end is closed
        child.kill()

    threading.Thread(target=mind, daemon=True).start()
    return child.wait()


if __name__ == "__main__":
    sys.exit(main())
