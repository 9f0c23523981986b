"""Judges a reader of photographs on pictures of the simulator, and prints how well it did with honest bounds.

    python evaluate.py --reader lanewise_photo.reading:read_path --kinds scan,phone,hard --seeds 0-99 --jobs 2
    python evaluate.py --reader lanewise_photo.reading:read_path --kinds faults --seeds 0-14 --out faults.json

A reader is a function ``reader(path, options)``; options are what a user could know: ``lanes``, ``lane_names``,
``sheet_width``, ``sheet_height`` and ``origin_height`` [mm]. It gives a study, or raises a ``LanewiseError`` to refuse.

Seeds below 1000 are for work on a reader, those from 1000 to 1999 for figures that are published, and higher ones for
whoever judges; nobody tunes on the last two. With several jobs set ``OPENBLAS_NUM_THREADS=1``, or they get into each
other's way.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
from judging import CLASSES, SEEN, Flags, Reader, flags_of, judge, options_of, run
from scipy.special import betaincinv, gammaincinv
from simulator import FAULTS, KINDS, make
from simulator.contact_sheet import names, numbers

ENDING = {"jpeg": "jpg", "png": "png", "tiff": "tif"}
VERDICTS = ("refused", "right", "flagged", "silently wrong", "broken")
FLOORS: dict[str, dict[str, str]] = {
    "spots found, all due": {"scan": ">= 0.99", "phone": ">= 0.98", "hard": ">= 0.93"},
    "false spots a plate": {"scan": "< 0.05", "phone": "< 0.1", "hard": "< 0.3"},
    "Rf, root mean square error": {"scan": "0.002", "phone": "0.004", "hard": "0.008"},
    "95 % interval covers": {"scan": "0.93-0.97", "phone": "0.93-0.97", "hard": "0.91-0.98"},
    "readable, not refused": {"scan": ">= 0.99", "phone": ">= 0.98", "hard": ">= 0.90"},
}


def examine(
    task: tuple[str, int],
    *,
    reader: str | Reader,
    flags: str | Callable[[Any], Flags] = flags_of,
    changes: dict[str, Any] | None = None,
    megapixels: float | None = 2.5,
    withhold: tuple[str, ...] = (),
    against: str = "marks",
    keep: str = "",
) -> dict[str, Any]:
    """Make one picture, have it read, and judge the reading.

    Parameters
    ----------
    task : tuple of str and int
        Kind, or name of a fault, and seed.
    reader, flags : str or callable
        ``module:function``, or the function itself.
    changes : dict, optional
        Given to the simulator.
    megapixels : float or None, optional
        Size of phone pictures, and of faults that do not set their own; None for 12.
    withhold : tuple of str, optional
        Options that the reader is not told.
    against : {"marks", "dye"}, optional
        Which Rf counts as true, see `judging.judge`.
    keep : str, optional
        Folder in which picture and truth are left.
    """
    kind, seed = task
    given = dict(changes or {})
    own = FAULTS[kind].changes if kind in FAULTS else {}
    if megapixels and (kind == "phone" or kind in FAULTS) and "megapixels" not in own:
        given.setdefault("megapixels", megapixels)
    picture = make(kind, seed, **given)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"picture.{ENDING[picture.format]}"
        path.write_bytes(picture.bytes())
        if keep:
            stem = Path(keep) / f"{kind}-{seed:04d}"
            stem.parent.mkdir(parents=True, exist_ok=True)
            stem.with_suffix(path.suffix).write_bytes(path.read_bytes())
            stem.with_suffix(".json").write_text(json.dumps(picture.truth.as_dict()))
        outcome = run(loaded(reader), path, options_of(picture.truth, withhold))
    return judge(picture.truth, outcome, loaded(flags), against)


def loaded(name: Any) -> Any:
    """Give the function that ``module:function`` names; a function is given back."""
    if not isinstance(name, str):
        return name
    module, _, function = name.partition(":")
    if str(Path.cwd()) not in sys.path:
        sys.path.insert(0, str(Path.cwd()))
    return getattr(import_module(module), function)


def examine_all(kinds: Iterable[str], seeds: Iterable[int], jobs: int = 1, **settings: Any) -> list[dict[str, Any]]:
    """Examine pictures of several kinds and seeds; settings as for `examine`."""
    seeds = list(seeds)
    tasks = [(kind, seed) for kind in kinds for seed in seeds]
    one = partial(examine, **settings)
    if jobs == 1:
        return [_told(one(task)) for task in tasks]
    with ProcessPoolExecutor(jobs) as pool:
        return [_told(record) for record in pool.map(one, tasks)]


def _told(record: dict[str, Any]) -> dict[str, Any]:
    name = record["fault"] or record["kind"]
    sys.stderr.write(f"\r{name} {record['seed']}: {record['verdict']:<40}")
    return record


def share(count: int, of: int) -> dict[str, Any]:
    """Give a share with its 95 % bounds (Clopper and Pearson 1934, by beta quantiles)."""
    if not of:
        return {"share": None, "low": 0.0, "high": 1.0, "count": 0, "of": 0}
    low = float(betaincinv(count, of - count + 1, 0.025)) if count else 0.0
    high = float(betaincinv(count + 1, of - count, 0.975)) if count < of else 1.0
    return {"share": count / of, "low": low, "high": high, "count": count, "of": of}


def rate(count: int, of: int) -> dict[str, Any]:
    """Give a mean number a picture with its 95 % bounds (Garwood 1936, by gamma quantiles)."""
    if not of:
        return {"rate": None, "low": 0.0, "high": None, "count": 0, "of": 0}
    low = float(gammaincinv(count, 0.025)) if count else 0.0
    high = float(gammaincinv(count + 1, 0.975))
    return {"rate": count / of, "low": low / of, "high": high / of, "count": count, "of": of}


def errors(spots: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Sum up errors of Rf: bias, root mean square, 95th percentile, greatest, coverage, beyond four u."""
    made = [spot for spot in spots if "error" in spot]
    off = np.array([spot["error"] for spot in made])
    if not len(off):
        return {"n": 0}
    u = np.array([spot["u_rf"] for spot in made])
    return {
        "n": len(off),
        "bias": float(off.mean()),
        "rmse": float(np.sqrt((off**2).mean())),
        "p95": float(np.quantile(np.abs(off), 0.95)),
        "greatest": float(np.abs(off).max()),
        "mean_u": float(u.mean()),
        "coverage": share(sum(spot["covered"] for spot in made), len(made)),
        "beyond_4u": share(int((np.abs(off) > 4 * u).sum()), len(made)),
    }


def summarise(records: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Sum up judgements by kind, by class of spot within it, and by fault."""
    made: dict[str, Any] = {"kinds": {}, "faults": {}}
    for kind in KINDS:
        some = [record for record in records if record["kind"] == kind and record["fault"] is None]
        if some:
            made["kinds"][kind] = _kind(some)
    for name in FAULTS:
        some = [record for record in records if record["fault"] == name]
        if some:
            made["faults"][name] = {verdict: sum(one["verdict"] == verdict for one in some) for verdict in VERDICTS}
            made["faults"][name] |= {"of": len(some), "readable": some[0]["readable"]}
    unreadable = [record for record in records if not record["readable"]]
    made["unreadable_refused"] = share(sum(bool(one["refused"]) for one in unreadable), len(unreadable))
    faulty = [record for record in records if record["fault"]]
    made["silently_wrong"] = share(sum(one["verdict"] == "silently wrong" for one in faulty), len(faulty))
    return made


def _kind(records: Sequence[dict[str, Any]]) -> dict[str, Any]:
    read = [record for record in records if not record["refused"] and not record["broken"]]
    readable = [record for record in records if record["readable"]]
    spots = [spot for record in read for spot in record["spots"]]
    due = [spot for spot in spots if spot["due"]]
    dense = [spot for spot in spots if spot["peak"] > SEEN]
    exact = [spot for spot in due if not spot["near_end"]]
    ends = [spot for spot in due if spot["near_end"] and spot["found"]]
    named = [spot for spot in due if spot.get("colour")]
    return {
        "pictures": len(records),
        "not_refused": share(sum(not record["refused"] for record in readable), len(readable)),
        "broken": sum(bool(record["broken"]) for record in records),
        "flagged": share(sum(bool(record["flags"]) for record in read), len(read)),
        "verdicts": {verdict: sum(one["verdict"] == verdict for one in records) for verdict in VERDICTS},
        "found": share(sum(spot["found"] for spot in due), len(due)),
        "found_of_all": share(sum(spot["found"] for spot in dense), len(dense)),
        "false": rate(sum(record["false"] for record in read), len(read)),
        "false_unread": rate(sum(record["false_unread"] for record in read), len(read)),
        "errors": errors(exact),
        "near_exact": share(sum(spot["near_exact"] for spot in ends), len(ends)),
        "right_colour": share(sum(spot["colour"] == spot["true_colour"] for spot in named), len(named)),
        "seconds": float(np.median([record["seconds"] for record in records])),
        "classes": {
            name: {
                "found": share(sum(spot["found"] for spot in some), len(some)),
                "errors": errors([spot for spot in some if not spot["near_end"]]),
            }
            for name in CLASSES
            if (some := [spot for spot in due if name in spot["classes"]])
        },
    }


def tables(summary: dict[str, Any]) -> str:
    """Lay out a summary as Markdown tables; numbers in brackets are 95 % bounds."""
    kinds = summary["kinds"]
    lines: list[str] = []
    if kinds:
        lines += ["| | " + " | ".join(f"{kind} (n {kinds[kind]['pictures']}) | floor" for kind in kinds) + " |"]
        lines += ["|---" * (1 + 2 * len(kinds)) + "|"]
        rows: dict[str, Callable[[dict[str, Any]], str]] = {
            "spots found, all due": lambda one: _share(one["found"]),
            "found of all, hidden ones too": lambda one: _share(one["found_of_all"]),
            "false spots a plate": lambda one: _rate(one["false"]),
            "Rf, root mean square error": lambda one: f"{one['errors'].get('rmse', float('nan')):.4f}",
            "95 % interval covers": lambda one: _share(one["errors"].get("coverage", share(0, 0))),
            "readable, not refused": lambda one: _share(one["not_refused"]),
            "unread finds that are not there": lambda one: _rate(one["false_unread"]),
            "near a line, yet an exact number": lambda one: _share(one["near_exact"]),
            "flagged": lambda one: _share(one["flagged"]),
            "silently wrong pictures": lambda one: str(one["verdicts"]["silently wrong"]),
            "right colour, of those named": lambda one: _share(one["right_colour"]),
            "broken": lambda one: str(one["broken"]),
            "median seconds": lambda one: f"{one['seconds']:.2f}",
        }
        for title, cell in rows.items():
            cells = [f"{cell(kinds[kind])} | {FLOORS.get(title, {}).get(kind, '')}" for kind in kinds]
            lines.append(f"| {title} | " + " | ".join(cells) + " |")
        lines += ["", "| kind | class | found | n | bias | rmse | p95 | greatest | mean u | covers | beyond 4 u |"]
        lines += ["|---" * 11 + "|"]
        for kind, one in kinds.items():
            whole = {"all due": {"found": one["found"], "errors": one["errors"]}, **one["classes"]}
            lines += [_class_row(kind, name, values) for name, values in whole.items()]
    if summary["faults"]:
        lines += ["", "| fault | a person could read it | " + " | ".join(VERDICTS) + " |"]
        lines += ["|---" * (2 + len(VERDICTS)) + "|"]
        for name, one in summary["faults"].items():
            cells = " | ".join(str(one[verdict]) for verdict in VERDICTS)
            lines.append(f"| {name.replace('_', ' ')} | {'yes' if one['readable'] else 'no'} | {cells} |")
        lines += ["", f"Unreadable pictures refused: {_share(summary['unreadable_refused'])}."]
        lines += [f"Silently wrong among faults: {_share(summary['silently_wrong'])}."]
    return "\n".join(lines)


def _class_row(kind: str, name: str, values: dict[str, Any]) -> str:
    off = values["errors"]
    cells = [kind, name, _share(values["found"]), str(off["n"])]
    if off["n"]:
        cells += [f"{off[key]:.4f}" for key in ("bias", "rmse", "p95", "greatest", "mean_u")]
        cells += [_share(off["coverage"]), str(off["beyond_4u"]["count"])]
    else:
        cells += [""] * 7
    return "| " + " | ".join(cells) + " |"


def _share(one: dict[str, Any]) -> str:
    return f"{one['share']:.3f} ({one['low']:.3f}-{one['high']:.3f})" if one["of"] else "none"


def _rate(one: dict[str, Any]) -> str:
    return f"{one['rate']:.3f} ({one['low']:.3f}-{one['high']:.3f})" if one["of"] else "none"


def main(arguments: Sequence[str] | None = None) -> int:
    """Examine, print the tables and write everything as JSON; 1 if the reader broke."""
    parser = argparse.ArgumentParser(prog="evaluate", description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--reader", required=True, help="module:function")
    parser.add_argument("--flags", default=flags_of, help="module:function that gives the flags of a study")
    parser.add_argument("--kinds", type=names, default=list(KINDS), help="scan, phone, hard, faults, or names")
    parser.add_argument("--seeds", type=numbers, default=list(range(10)), help="such as 0-99 or 3,7")
    parser.add_argument("--jobs", type=int, default=1, help="processes")
    parser.add_argument("--megapixels", type=float, default=2.5, help="size of phone pictures; 0 for 12")
    parser.add_argument("--change", action="append", default=[], metavar="NAME=VALUE", help="a choice of the simulator")
    parser.add_argument("--withhold", default="", help="options that the reader is not told, separated by commas")
    parser.add_argument("--against", choices=("marks", "dye"), default="marks", help="which Rf counts as true")
    parser.add_argument("--keep", default="", help="folder in which pictures and truth are left")
    parser.add_argument("--out", default="evaluation.json")
    given = parser.parse_args(arguments)
    settings = {
        "reader": given.reader,
        "flags": given.flags,
        "changes": dict(_change(text) for text in given.change),
        "megapixels": given.megapixels or None,
        "withhold": tuple(filter(None, given.withhold.split(","))),
        "against": given.against,
        "keep": given.keep,
    }
    records = examine_all(given.kinds, given.seeds, given.jobs, **settings)
    summary = summarise(records)
    sys.stderr.write("\n")
    sys.stdout.write(f"{tables(summary)}\n")
    asked = {**settings, "flags": str(given.flags), "kinds": given.kinds, "seeds": given.seeds}
    Path(given.out).write_text(json.dumps({"asked": asked, "summary": summary, "records": records}, indent=1))
    return int(any(record["broken"] for record in records))


def _change(text: str) -> tuple[str, Any]:
    name, _, value = text.partition("=")
    try:
        return name, json.loads(value)
    except json.JSONDecodeError:
        return name, value


if __name__ == "__main__":
    raise SystemExit(main())
