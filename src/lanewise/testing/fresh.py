"""Asking a process of its own, with another seed of hashes and without a display."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from types import ModuleType
from typing import Any

from lanewise.testing._child import MARK
from lanewise.testing.contracts import Unmet

_ENVIRONMENT = dict(os.environ)  # as it was before any plugin could change it
_GONE = ("DISPLAY", "WAYLAND_DISPLAY", "MPLBACKEND", "PYTHONWARNINGS", "PYTHONSTARTUP", "LANEWISE_WITHOUT_PLUGINS")


def ask(plugin: ModuleType, task: Mapping[str, Any], seconds: float = 120.0) -> dict[str, Any]:
    """Hand a task about a plugin to a fresh process.

    Parameters
    ----------
    plugin : module
        Has to be importable by its name on the same path, or from its file.
    task : mapping
        As `lanewise.testing._child` understands it.
    seconds : float, optional
        How long to wait. [s]

    Returns
    -------
    dict
        The answer.

    Raises
    ------
    Unmet
        If the process ends without one.
    """
    told = {**task, "name": plugin.__name__, "file": getattr(plugin, "__file__", None) or ""}
    environment = {name: value for name, value in _ENVIRONMENT.items() if name not in _GONE}
    environment["PYTHONPATH"] = os.pathsep.join(os.path.abspath(path) for path in sys.path if path)
    environment["PYTHONHASHSEED"] = "7919" if _ENVIRONMENT.get("PYTHONHASHSEED") != "7919" else "104729"
    try:
        ran = subprocess.run(
            [sys.executable, "-P", "-c", "from lanewise.testing._child import main; main()"],
            input=json.dumps(told),
            env=environment,
            cwd=tempfile.gettempdir(),
            capture_output=True,
            text=True,
            encoding="utf-8",
            errors="replace",
            timeout=seconds,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise Unmet(f"an end within {seconds:.3g} s in a process of its own", "none") from None
    for line in reversed(ran.stdout.splitlines()):
        if line.startswith(MARK):
            answer: dict[str, Any] = json.loads(line.removeprefix(MARK))
            return answer
    last = (ran.stderr.strip().splitlines() or ["nothing said"])[-1]
    raise Unmet("an answer from a process of its own", f"exit code {ran.returncode}: {last[:400]}")
