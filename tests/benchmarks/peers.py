"""What a careful user would write without this library: one number object a reading, by the `uncertainties` package."""

from __future__ import annotations

import numpy as np
import pandas as pd
from uncertainties import ufloat
from uncertainties.umath import log10

READING = 1.0 / np.sqrt(12.0)


def marks_of(lanes: int, spots: int = 5, seed: int = 1) -> pd.DataFrame:
    """Invent a marks table: plates of six lanes, each lane with the same number of spots, edges read."""
    rng = np.random.default_rng(seed)
    lane = np.repeat(np.arange(lanes), spots)
    middle = np.sort(rng.uniform(15.0, 85.0, (lanes, spots)), axis=1).ravel()
    frame = pd.DataFrame(
        {
            "plate": (lane // 6).astype(str),
            "system": "water",
            "lane": (lane % 6).astype(str),
            "sample": (lane % 6).astype(str),
            "spot": np.tile([str(number + 1) for number in range(spots)], lanes),
            "origin_mm": 10.0,
            "front_mm": 90.0,
            "trailing_mm": middle - 2.0,
            "leading_mm": middle + 2.0,
            "state": "measured",
            "origin_read": "lane",
            "front_read": "lane",
        }
    )
    texts = [name for name in frame.columns if not name.endswith("_mm")]
    return frame.astype(dict.fromkeys(texts, "category"))


def object_by_object(marks: pd.DataFrame) -> list[dict[str, object]]:
    """Work out Rf, k, R_M and the pairs of neighbours with number objects that share origin and front."""
    results = []
    lane = before = None
    for row in marks.astype({"plate": str, "lane": str}).to_dict("records"):
        if (row["plate"], row["lane"]) != lane:
            lane, before = (row["plate"], row["lane"]), None
            origin, front = ufloat(row["origin_mm"], READING), ufloat(row["front_mm"], READING)
        trailing, leading = ufloat(row["trailing_mm"], READING), ufloat(row["leading_mm"], READING)
        judged = ufloat(0.0, 0.1 * (row["leading_mm"] - row["trailing_mm"]) / np.sqrt(3.0))
        spot, length = (trailing + leading) / 2 + judged, leading - trailing
        rf = (spot - origin) / (front - origin)
        k = 1 / rf - 1
        result = {"rf": rf, "k": k, "r_m": log10(k)}
        if before is not None:
            result |= {
                "delta_rf": rf - before["rf"],
                "alpha": before["k"] / k,
                "rs": 2 * (spot - before["spot"]) / (length + before["length"]),
            }
        before = {"rf": rf, "k": k, "spot": spot, "length": length}
        results.append({name: (value.n, value.s) for name, value in result.items()})
    return results
