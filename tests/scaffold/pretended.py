"""A plugin package as if it were installed: its module on the path, with the records an installer would leave."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tomllib

ROWS = "2000"
"""Rows of the large files of the contract kit; its own number takes too long for every run."""


def install(package, site):
    """Copy what the wheel of a package would hold, and write its metadata from what its pyproject.toml states.

    Done again, it takes over what has changed, as after an editable installation.
    """
    stated = tomllib.loads((package / "pyproject.toml").read_text(encoding="utf-8"))
    project = stated["project"]
    info = site / f"{project['name'].replace('-', '_')}-{project['version']}.dist-info"
    info.mkdir(parents=True, exist_ok=True)
    for place in stated["tool"]["hatch"]["build"]["targets"]["wheel"]["only-include"]:
        shutil.copy(package / place, site / place)
    lines = ["Metadata-Version: 2.1", f"Name: {project['name']}", f"Version: {project['version']}"]
    lines += [f"Requires-Python: {project['requires-python']}"]
    lines += [f"Requires-Dist: {wanted}" for wanted in project["dependencies"]]
    (info / "METADATA").write_text("\n".join(lines) + "\n", encoding="utf-8")
    points = [f"[{group}]" for group in project["entry-points"]]
    points += [f"{name} = {value}" for group in project["entry-points"].values() for name, value in group.items()]
    (info / "entry_points.txt").write_text("\n".join(points) + "\n", encoding="utf-8")


def run(site, folder, *arguments):
    """Run a module of Python in a process in which a folder counts as installed; warnings are errors."""
    env = {
        **os.environ,
        "PYTHONPATH": str(site),
        "PYTHONUTF8": "1",
        "PYTHONDONTWRITEBYTECODE": "1",
        "LANEWISE_KIT_ROWS": ROWS,
    }
    return subprocess.run(
        [sys.executable, "-W", "error", "-m", *arguments],
        cwd=folder,
        env=env,
        capture_output=True,
        text=True,
        encoding="utf-8",
    )


def run_tests(site, package):
    """Run the tests of a package as its author would, in its own folder."""
    return run(site, package, "pytest", "-p", "no:cacheprovider")
