"""The options of a plugin as its configuration class declares them, for the reference."""

from __future__ import annotations

import ast
import inspect
import textwrap
from collections.abc import Mapping

from mkdocs.config.base import Config


def options_of(config: type[Config]) -> Mapping[str, tuple[str, str]]:
    """Name of each option -> its default and what the text below it says."""
    (declared,) = ast.parse(textwrap.dedent(inspect.getsource(config))).body
    assert isinstance(declared, ast.ClassDef)
    said: dict[str, str] = {}
    name = ""
    for line in declared.body:
        if isinstance(line, ast.Assign) and isinstance(line.targets[0], ast.Name):
            name = line.targets[0].id
        elif name and isinstance(line, ast.Expr) and isinstance(line.value, ast.Constant):
            said[name] = str(line.value.value)
    return {name: (_default(option.default), said.get(name, "")) for name, option in config._schema}


def _default(value: object) -> str:
    match value:
        case None:
            return "none"
        case bool():
            return str(value).lower()
    return str(value)
