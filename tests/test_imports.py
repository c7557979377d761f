"""The layers of the package: imports run one way, and the core runs without MkDocs, matplotlib and Pillow."""

from __future__ import annotations

import subprocess
import sys
from importlib import metadata
from pathlib import Path

from importlinter.cli import EXIT_STATUS_SUCCESS, lint_imports

PLUGIN = Path(__file__).parents[1] / "plugin"


def test_imports_run_one_way(capsys):
    status = lint_imports(config_filename=str(PLUGIN / "pyproject.toml"), no_cache=True)
    assert status == EXIT_STATUS_SUCCESS, capsys.readouterr().out


def test_the_core_runs_without_the_site_and_picture_libraries():
    script = (
        "import sys\n"
        "for name in ('mkdocs', 'material', 'matplotlib', 'PIL'): sys.modules[name] = None\n"
        "import causebook.workup, causebook.knowledge\n"
        "print(len(causebook.knowledge.load().causes))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, encoding="utf-8")
    assert done.returncode == 0, done.stderr
    assert int(done.stdout) > 0


def test_plugins_and_command_are_entry_points():
    plugins = {
        point.name: point.load()
        for point in metadata.entry_points(group="mkdocs.plugins")
        if point.name.startswith("causebook/")
    }
    assert sorted(plugins) == ["causebook/cases", "causebook/library", "causebook/workings"]
    assert all("enabled" in plugin.config_class().keys() for plugin in plugins.values())
    (command,) = (point for point in metadata.entry_points(group="console_scripts") if point.name == "causebook")
    assert callable(command.load())
