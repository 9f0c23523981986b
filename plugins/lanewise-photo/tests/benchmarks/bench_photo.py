"""How long a reading takes and how much memory, beside a full decode and beside the plain script.

    python bench_photo.py [--rounds 7] [--megapixels 12]

All three are run in turn in one process, and the medians of the ratios of each round are printed, so that a busy
machine slows all alike. Memory is the peak of a fresh process above what it holds once everything is imported.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

for library in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[library] = "1"

HERE = Path(__file__).parent
SOURCES = (HERE.parent.parent / "src", HERE.parent, HERE)
sys.path[:0] = [str(one) for one in SOURCES]

MEMORY = """
import sys
from pathlib import Path
from PIL import Image
import numpy, scipy.ndimage, scipy.special, scipy.optimize, scipy.signal
from lanewise_photo.measuring import measure
from lanewise_photo.plugin import PhotographOptions
from lanewise_photo.settings import settings_of
from lanewise_photo.study import study_of
settings = settings_of(PhotographOptions(**{options!r}))
def held(what):
    lines = Path("/proc/self/status").read_text().splitlines()
    return int(next(line for line in lines if line.startswith(what)).split()[1]) / 1024
start = held("VmRSS")
what = sys.argv[1]
if what == "reading":
    data = Path({path!r}).read_bytes()
    study_of(measure(data, "picture", settings), settings)
else:
    numpy.asarray(Image.open({path!r}).convert("RGB"))
print(held("VmHWM") - start)
"""


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument("--megapixels", type=float, default=12)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path, truth = made(given.megapixels, Path(folder))
        took = timed(path, truth, given.rounds)
        memory = {what: peak(path, options_of(truth), what) for what in ("reading", "full decode")}
    decode = took["full decode"]
    for what, seconds in took.items():
        ratio = statistics.median(one / other for one, other in zip(seconds, decode, strict=True))
        usual = 1000 * statistics.median(seconds)
        sys.stdout.write(f"{what:18} {usual:8.0f} ms of CPU, {ratio:6.2f} times a full decode\n")
    for what, megabytes in memory.items():
        sys.stdout.write(f"{what:18} {megabytes:8.0f} MB above start, at most\n")
    sys.stdout.write(json.dumps({"seconds": took, "megabytes": memory}) + "\n")


def made(megapixels, folder):
    """Make the picture by the simulator, which shares nothing with the reader."""
    from simulator import make

    picture = make("phone", 3, megapixels=megapixels)
    path = folder / "phone.jpg"
    path.write_bytes(picture.bytes())
    return path, picture.truth


def options_of(truth):
    from judging import options_of as told

    facts = told(truth)
    return {
        "lanes": facts.get("lanes"),
        "names": "; ".join(facts.get("lane_names") or ()),
        "size": f"{facts['sheet_width']} x {facts['sheet_height']}",
        "origin": facts.get("origin_height"),
    }


def timed(path, truth, rounds):
    """Seconds of CPU of each way, in turn."""
    import numpy as np
    from PIL import Image
    from plain_script import read_plainly

    from lanewise_photo.measuring import measure
    from lanewise_photo.plugin import PhotographOptions
    from lanewise_photo.settings import settings_of
    from lanewise_photo.study import study_of

    options = options_of(truth)
    settings = settings_of(PhotographOptions(**options))
    width, height = (float(one) for one in options["size"].split("x"))
    ways = {
        "full decode": lambda: np.asarray(Image.open(path).convert("RGB")),
        "reading": lambda: study_of(measure(path.read_bytes(), path.name, settings), settings),
        "the plain script": lambda: read_plainly(path, width, height, options["lanes"]),
    }
    took = {what: [] for what in ways}
    for number in range(rounds + 1):
        for what, call in ways.items():
            start = time.process_time()
            call()
            if number:  # the first round imports and fills caches
                took[what].append(time.process_time() - start)
    return took


def peak(path, options, what):
    code = MEMORY.format(path=str(path), options=options)
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(str(one) for one in SOURCES)}
    command = [sys.executable, "-c", code, what]
    return float(subprocess.run(command, capture_output=True, text=True, check=True, env=environment).stdout)


if __name__ == "__main__":
    main()
