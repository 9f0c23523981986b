"""What runs in a process of its own, where nothing was loaded before: ``python -c "...; main()"``, a task on stdin.

Only the standard library is loaded here before the plugin is, so that everything else is the plugin's doing.
"""

from __future__ import annotations

import base64
import importlib
import importlib.util
import io
import json
import os
import sys
import time
import warnings
from contextlib import redirect_stderr, redirect_stdout, suppress
from types import ModuleType
from typing import Any

HEAVY = ("pandas", "xarray", "scipy", "matplotlib", "skimage", "PIL", "cv2")
COMMON = ("numpy", "PIL.Image", "PIL.ImageFile")
"""What is loaded, where it is there, before the plugin is used, so that its state is known from before."""

MARK = "lanewise.testing: "


def main() -> None:
    """Do the task that comes as JSON, and print the answer as the last line."""
    task = json.load(sys.stdin)
    answer = {"size": size, "load": load}[task["do"]](task)
    sys.stdout.flush()
    sys.__stdout__.write(f"\n{MARK}{json.dumps(answer)}\n")  # type: ignore[union-attr]
    sys.__stdout__.flush()  # type: ignore[union-attr]


def find(name: str, file: str) -> ModuleType:
    """Import the module of the plugin by its name or, where that leads elsewhere, by its file."""
    try:
        spec = importlib.util.find_spec(name)
    except (ImportError, ValueError):
        spec = None
    if spec is not None and (not file or spec.origin == file):
        return importlib.import_module(name)
    spec = importlib.util.spec_from_file_location(name, file)
    if spec is None or spec.loader is None:
        raise ImportError(f"no module {name!r}, and no file {file!r}")
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


def load(task: dict[str, Any]) -> dict[str, Any]:
    """Import a plugin, then use what it offers; tell what was loaded, said and changed."""
    from lanewise.testing import state

    before, held = set(sys.modules), state.snapshot(at_import=False)
    words = io.StringIO()
    answer: dict[str, Any] = {"fault": "", "digests": [], "changes": []}
    with warnings.catch_warnings(record=True) as caught, redirect_stdout(words), redirect_stderr(words):
        warnings.simplefilter("always")
        try:
            module = find(task["name"], task["file"])
        except (Exception, SystemExit) as fault:
            answer["fault"] = f"{type(fault).__name__}: {fault}"
    new = set(sys.modules) - before
    answer["heavy"] = sorted({name.split(".")[0] for name in new} & set(HEAVY))
    answer["warnings"] = [f"{one.category.__name__}: {one.message}" for one in caught]
    answer["printed"] = words.getvalue()
    if not answer["fault"] and task["use"]:
        _use(module, task, held, answer)
    answer["pyplot"] = "matplotlib.pyplot" in sys.modules
    return answer


def _use(module: ModuleType, task: dict[str, Any], held: dict[str, Any], answer: dict[str, Any]) -> None:
    """Use the offer twice: at the first time modules are loaded, which may change a little; at the second time none."""
    from lanewise.testing import digests, state

    for name in COMMON:
        with suppress(ImportError):
            importlib.import_module(name)
    loaded = state.snapshot()
    try:
        answer["digests"] = digests.of_offer(module, task)
        found = state.changes(held)
        state.restore(loaded)
        again = state.snapshot()
        digests.of_offer(module, task)
        found += state.changes(again) + state.changed_settings()
        answer["changes"] = list(dict.fromkeys(found))
    except (Exception, SystemExit) as fault:
        answer["fault"] = f"{type(fault).__name__}: {fault}"


def size(task: dict[str, Any]) -> dict[str, Any]:
    """Read a large file through the reader of a format; tell how much memory and time that took."""
    from lanewise.testing import digests

    module = find(task["name"], task["file"])
    from lanewise.testing.isolation import isolated

    read, options = digests.ready(isolated(module).format(task["offer"]), task["options"])
    from lanewise.files.sources import Content

    read(Content(task["first_name"], base64.b64decode(task["first"])), options)  # what loads late is loaded now
    with open(task["path"], "rb") as file:
        content = Content(os.path.basename(task["path"]), file.read())
    with suppress(OSError), open("/proc/self/clear_refs", "w", encoding="ascii") as file:
        file.write("5")  # forget the highest value so far (proc_pid_clear_refs(5) of Linux, from memory)
    start = memory()
    begin = time.perf_counter()
    result = read(content, options)
    seconds = time.perf_counter() - begin
    rows = len(result.places) if hasattr(result, "places") else sum(len(p.lanes) for p in result.plates)
    return {"megabytes": memory(peak=True) - start, "seconds": seconds, "rows": rows}


def memory(*, peak: bool = False) -> float:
    """Give the resident memory of this process, or its highest so far, in megabytes.

    Linux hands the highest value of a parent on to ``getrusage`` of its child, so its own account is asked there.
    """
    wanted = "VmHWM:" if peak else "VmRSS:"
    try:
        with open("/proc/self/status", encoding="ascii", errors="replace") as file:
            return next(int(line.split()[1]) for line in file if line.startswith(wanted)) / 1024
    except (OSError, StopIteration):
        import resource

        used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        return used / (1024 * 1024 if sys.platform == "darwin" else 1024)
