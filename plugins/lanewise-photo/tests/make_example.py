"""Makes the photograph in the folder of examples with the simulator: ``python make_example.py``.

The picture is simulated and its inks are invented. A test holds that the file is what is made here.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from simulator import Picture, make

EXAMPLE = Path(__file__).parents[3] / "examples" / "inks_photograph.jpg"
SEED = 47  # below 1000: seeds from there on are for figures that are published
SHEET = {
    "layer": "paper",
    "size": (80, 100),
    "lanes": 4,
    "front": "pencil",
    "labels": True,
    "note": False,
    "outlined": False,
    "orientation_mark": True,
}
VIEW = {
    "megapixels": 1.2,
    "tilt": 8.0,
    "bulge": 0.2,
    "crease": False,
    "desk": "black bench",
    "soft_shadow": False,
    "other_way_round": False,
    "orientation": 1,
    "quality": 88,
}


def picture() -> Picture:
    """Give the photograph with its truth: a sheet of four lanes, upright, lying nearly flat on a dark bench."""
    return make("phone", SEED, **SHEET, **VIEW)


def main() -> None:
    """Write the photograph."""
    parser = argparse.ArgumentParser(prog="make_example", description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--out", type=Path, default=EXAMPLE)
    parser.parse_args().out.write_bytes(picture().bytes())


if __name__ == "__main__":
    main()
