"""How fast, beside what a user would do otherwise: figures are printed, agreement of results is asserted."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
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
