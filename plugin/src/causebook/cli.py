"""The same doors for a terminal: `causebook check`, `causebook work`, `causebook find` and the others."""

from __future__ import annotations

import io
import sys
from collections.abc import Sequence

from causebook.commands.line import MISUSED, OK, WRONG, parser, say
from causebook.knowledge.loader import KnowledgeError
from causebook.problems import of_the_machine

__all__ = ["MISUSED", "OK", "WRONG", "main"]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; 0 when all is well, 1 when a case file has errors, 2 when the command was misused."""
    _speak_utf8()
    given = parser().parse_args(arguments)
    try:
        status: int = given.run(given)
    except KnowledgeError as wrong:
        say(wrong.problems, sys.stderr)
        return MISUSED
    except OSError as fault:
        if not of_the_machine(fault):
            raise
        where = f": {fault.filename}" if fault.filename else ""
        print(f"causebook: {fault.strerror}{where}", file=sys.stderr)
        return MISUSED
    return status


def _speak_utf8() -> None:
    """Write UTF-8 whatever the system's code page: a "−" that it lacks would end the command, or turn minus to plus."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")


if __name__ == "__main__":
    sys.exit(main())
