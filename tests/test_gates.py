"""What every change has to pass: one layout, lint, strict types, no new bare numbers, and a face that works."""

from __future__ import annotations

import ast
import doctest
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import causebook

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "plugin/src/causebook"
UNTYPED = {
    "belief/posterior.py",
    "casefile/marked_yaml.py",
    "casefile/model.py",
    "casefile/review.py",
    "diagnosis.py",
    "equipment/furnace/likelihood.py",
    "equipment/furnace/setup.py",
    "equipment/furnace/sizes.py",
    "equipment/furnace/start/circuit.py",
    "equipment/furnace/start/looks.py",
    "equipment/furnace/start/model.py",
    "equipment/furnace/start/proofs.py",
    "equipment/furnace/start/readings.py",
    "equipment/furnace/start/sequence.py",
    "knowledge/seal.py",
    "library/index_order.py",
    "library/likeness.py",
    "library/reference.py",
    "library/search.py",
    "physics/air.py",
    "physics/duct.py",
    "physics/gas.py",
    "site/cases/config.py",
    "site/cases/plugin.py",
    "site/library/config.py",
    "site/library/plugin.py",
    "site/workings/config.py",
    "site/workings/extension.py",
    "site/workings/plugin.py",
    "site/workings/show.py",
    "workings/airflow.py",
    "workings/airpath.py",
    "workings/house.py",
    "writeup/answer.py",
    "writeup/charts/airpath.py",
    "writeup/charts/start.py",
    "writeup/charts/style.py",
    "writeup/prose.py",
    "writeup/sections.py",
}
"""Modules in which strict typing still finds something; it may only fall."""
MATHEMATICS = frozenset({0.0, 0.5, 1.0, 2.0, 100.0, 1e-6, 1e-9, 1e-12, 1e-300})
"""Numbers that stand for no measurement: halves, wholes, per cent, parts in a million, and next to nothing."""
MOST_BARE = {"survey": 5, "sizing": 18}


def run(*command: str) -> None:
    done = subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, encoding="utf-8")
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-1000:]


def test_lint():
    run("ruff", "check", ".")


def test_layout():
    run("ruff", "format", "--check", ".")


def test_strict_types():
    """Of all modules but those named, which leave the list when they are clean."""
    command = [sys.executable, "-m", "mypy", "--strict", "--ignore-missing-imports", "--no-pretty", str(SOURCE)]
    said = subprocess.run(command, cwd=ROOT, capture_output=True, encoding="utf-8").stdout
    errors = [line for line in said.splitlines() if ": error:" in line]
    at = {Path(ROOT, line.partition(":")[0]).relative_to(SOURCE).as_posix() for line in errors}
    assert "checked" in said or "no issues found" in said, said[-1000:]
    assert at <= UNTYPED, "\n".join(line for line in errors if not any(name in line for name in UNTYPED))


def bare(path: Path) -> list[str]:
    """The floats inside the functions of a module that are no mathematics, as file:line: number."""
    found = []
    for function in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(function, ast.FunctionDef):
            for node in ast.walk(function):
                if isinstance(node, ast.Constant) and type(node.value) is float and node.value not in MATHEMATICS:
                    found.append(f"{path.relative_to(ROOT)}:{node.lineno}: {node.value}")
    return sorted(set(found))


@pytest.mark.parametrize("package", MOST_BARE)
def test_numbers_stand_in_the_data_or_have_a_name(package):
    """The count may only fall: lower it when a number found its place in `constants.yml` or a named constant."""
    found = [one for path in sorted((SOURCE / package).rglob("*.py")) for one in bare(path)]
    assert len(found) == MOST_BARE[package], "\n".join(found)


def test_the_examples_of_the_package_run(monkeypatch):
    monkeypatch.chdir(ROOT)
    told = doctest.testmod(causebook)
    assert told.attempted >= 6 and not told.failed


def test_the_names_it_exports_are_there():
    assert all(callable(getattr(causebook, name)) for name in causebook.__all__)
    with pytest.raises(AttributeError, match="no attribute 'work'"):
        str(causebook.work)


def test_what_is_published_holds_its_license_and_its_description():
    plugin = ROOT / "plugin"
    told = tomllib.loads((plugin / "pyproject.toml").read_text(encoding="utf-8"))
    project, sdist = told["project"], told["tool"]["hatch"]["build"]["targets"]["sdist"]["include"]
    for name in (*project["license-files"], project["readme"]):
        assert (plugin / name).read_text(encoding="utf-8").strip() and name in sdist
