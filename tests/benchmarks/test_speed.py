"""How fast, beside what a user would do otherwise: figures are printed, agreement of results is asserted."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from peers import marks_of, object_by_object

from lanewise.analyses.measure import measure

EXAMPLE = Path(__file__).parents[2] / "examples" / "writing_inks.csv"
SMALL = 1_000


def test_measure_beside_number_objects(ratio):
    """1e5 spots through `measure`, beside 1e3 spots through `uncertainties`, both per spot; the results agree."""
    few = marks_of(SMALL // 5)
    found = measure(few)
    peer = object_by_object(few)
    np.testing.assert_allclose(found.spots["rf"], [row["rf"][0] for row in peer], rtol=1e-12)
    np.testing.assert_allclose(found.spots["u_rf"], [row["rf"][1] for row in peer], rtol=1e-9)
    np.testing.assert_allclose(found.pairs["u_rs"], [row["rs"][1] for row in peer if "rs" in row], rtol=1e-9)
    command = [sys.executable, str(Path(__file__).with_name("spots_in_turn.py"))]
    took = json.loads(subprocess.run(command, capture_output=True, text=True, check=True).stdout)
    ratio.note("one spot through measure (1e5 spots), beside uncertainties", *took)


def fresh(code):
    """Seconds of CPU that a fresh interpreter needs for some code, without its own start."""
    line = f"import time; start = time.process_time(); {code}; print(time.process_time() - start)"
    done = subprocess.run([sys.executable, "-I", "-c", line], capture_output=True, text=True, check=True)
    return float(done.stdout.split()[-1])


def test_import_beside_numpy(ratio):
    """`import lanewise` costs a small part of `import numpy`."""
    took = {code: [] for code in ("import lanewise", "import numpy")}
    for _ in range(9):
        for code in took:
            took[code].append(fresh(code))
    ratio.note("import lanewise beside import numpy", *took.values())


PLUGIN = """
from lanewise.hooks import ImportFormat, hookimpl

@hookimpl
def lanewise_import_formats():
    return [ImportFormat("sheet-{number}", "Sheet", "json:loads", suffixes=(".s{number}",))]
"""
ASK = "from lanewise.plugins.registry import make_registry; assert len(make_registry(built_in=()).formats) >= {count}"
SCAN = "import importlib.metadata as m, pluggy; assert len(m.entry_points(group='lanewise.plugins')) >= {count}"


@pytest.mark.parametrize("count", [1, 10, 100], ids=lambda count: f"{count} plugins")
def test_discovery(ratio, tmp_path, count):
    """The first question about formats, beside importing pluggy and looking through the same entry points."""
    for number in range(count):
        info = tmp_path / f"pretended_{number}-1.0.dist-info"
        info.mkdir()
        (tmp_path / f"pretended_{number}.py").write_text(PLUGIN.format(number=number), encoding="utf-8")
        (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: pretended-{number}\nVersion: 1.0\n", "utf-8")
        (info / "entry_points.txt").write_text(f"[lanewise.plugins]\nmain = pretended_{number}\n", encoding="utf-8")
    path = f"import sys; sys.path.insert(0, {str(tmp_path)!r}); "
    took = ([], [])
    for _ in range(7):
        for held, code in zip(took, (ASK, SCAN), strict=True):
            held.append(fresh(path + code.format(count=count)))
    ratio.note(f"formats of {count} plugins found and loaded, beside a look at their entry points", *took)


def test_report_from_cold(ratio, tmp_path):
    """A report of the example from a fresh interpreter, beside importing what it needs."""
    command = [sys.executable, "-I", "-m", "lanewise", "report", str(EXAMPLE), "--out", str(tmp_path / "report.html")]
    needs = "import numpy, pandas, matplotlib.figure, matplotlib.backends.backend_svg, msgspec, jinja2, typer, rich"
    took = ([], [])
    for _ in range(5):
        took[0].append(elapsed(command))
        took[1].append(elapsed([sys.executable, "-I", "-c", needs]))
    assert (tmp_path / "report.html").stat().st_size > 0
    ratio.note("lanewise report of the example from cold, beside importing what it needs", *took)


def elapsed(command):
    """Seconds of wall time that a command takes from start to end."""
    start = time.perf_counter()
    subprocess.run(command, capture_output=True, check=True)
    return time.perf_counter() - start
