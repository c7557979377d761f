"""The command `causebook`: its version at once, all else by `causebook.cli`."""

from __future__ import annotations

import sys
from collections.abc import Sequence


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line; its exit status."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    if given == ["--version"]:
        from importlib.metadata import version

        print(f"causebook {version('causebook')}")
        return 0
    from causebook import cli

    return cli.main(given)


if __name__ == "__main__":
    sys.exit(main())
