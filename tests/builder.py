"""Builds sites in forks of a process that has read everything in: a build takes a third of what a fresh one takes.

    python tests/builder.py      # takes one build in a line of JSON, answers its status and what it said in another

What differs from `mkdocs build` is that modules, knowledge and the drawings of causes are there already.
"""

from __future__ import annotations

import importlib
import json
import os
import sys
import tempfile
from pathlib import Path
from typing import Any, TextIO

READ_IN = ("mkdocs.__main__", *(f"causebook.site.{plugin}.plugin" for plugin in ("cases", "library", "workings")))


def built(asked: dict[str, Any]) -> dict[str, Any]:
    """Build in a fork: `folder`, `arguments` and `environment` -> `status` and `said`."""
    with (
        tempfile.TemporaryFile("w+", encoding="utf-8", errors="replace") as out,
        tempfile.TemporaryFile("w+", encoding="utf-8", errors="replace") as err,
    ):
        child = os.fork()
        if not child:
            _build(asked, out, err)
        _, status = os.waitpid(child, 0)
        said = ""
        for file in (out, err):
            file.seek(0)
            said += file.read()
    return {"status": os.waitstatus_to_exitcode(status), "said": said}


def _build(asked: dict[str, Any], out: TextIO, err: TextIO) -> None:
    code: Any = 70
    try:
        os.dup2(out.fileno(), 1)
        os.dup2(err.fileno(), 2)
        os.chdir(asked["folder"])
        os.environ |= asked["environment"]
        from mkdocs.__main__ import cli

        cli.main(["build", *asked["arguments"]], "mkdocs")
    except SystemExit as end:
        code = end.code
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code if isinstance(code, int) else 0 if code is None else 1)


def main() -> None:
    """Read everything in, then build what is asked for until nobody asks any more."""
    for module in READ_IN:
        importlib.import_module(module)
    from causebook.knowledge import load
    from causebook.library.signature_chart import cause_charts

    cause_charts(load())
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    for line in sys.stdin:
        answers.write(json.dumps(built(json.loads(line))) + "\n")
        answers.flush()


if __name__ == "__main__":
    sys.path[:] = [path for path in sys.path if Path(path) != Path(__file__).parent]
    main()
