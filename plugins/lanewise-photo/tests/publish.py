"""Runs the published evaluation and writes its tables into the page on accuracy: ``python publish.py --jobs 2``.

Seeds 1000 to 1099 of each kind, and 1000 to 1014 of each fault; nobody tunes on them. With several jobs set
``OPENBLAS_NUM_THREADS=1``. Other seeds are for trying the script; the page then says which were used.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from evaluate import FLOORS, VERDICTS, examine_all, share, summarise
from judging import CLASSES
from simulator import FAULTS, KINDS
from simulator.contact_sheet import numbers

from lanewise_photo.flags import SENTENCES

PAGE = Path(__file__).parents[3] / "docs" / "plugins" / "photo_accuracy.md"
BEGIN, END = "<!-- tables: written by plugins/lanewise-photo/tests/publish.py -->", "<!-- end of tables -->"
FLAGS = "lanewise_photo.evaluation:flags"
TITLES = {"scan": "scanner", "phone": "telephone", "hard": "hard"}
Cells = Sequence[str]


def evaluation(seeds: Sequence[int], fault_seeds: Sequence[int], jobs: int) -> dict[str, Any]:
    """Judge the reader on the three kinds, on the faults, and on the kinds against what the dye itself did."""
    ours = {"flags": FLAGS, "jobs": jobs}
    kinds = examine_all(KINDS, seeds, reader="lanewise_photo.evaluation:read", **ours)
    faults = examine_all(FAULTS, fault_seeds, reader="lanewise_photo.evaluation:read", **ours)
    dye = examine_all(KINDS, seeds, reader="lanewise_photo.evaluation:read_with_definitions", against="dye", **ours)
    return {
        "seeds": _range(seeds),
        "fault_seeds": _range(fault_seeds),
        "marks": summarise([*kinds, *faults]),
        "dye": summarise(dye),
        "flags": _flag_counts(kinds),
        "records": {"kinds": kinds, "faults": faults, "dye": dye},
    }


def page_with(text: str, found: dict[str, Any]) -> str:
    """Put the tables of an evaluation between the two markers of a page."""
    before, _, rest = text.partition(BEGIN)
    _, marker, after = rest.partition(END)
    if not marker:
        raise ValueError(f"{PAGE.name}: wanted the lines {BEGIN!r} and {END!r}, in this order")
    return f"{before}{BEGIN}\n\n{tables(found)}\n\n{END}{after}"


def tables(found: dict[str, Any]) -> str:
    """Lay out an evaluation as Markdown."""
    kinds = found["marks"]["kinds"]
    pictures = ", ".join(f"{kinds[kind]['pictures']} {TITLES[kind]}" for kind in kinds)
    parts = [
        f"Pictures: {pictures} (seeds {found['seeds']} of each kind), and {len(found['marks']['faults'])} faults "
        f"(seeds {found['fault_seeds']} of each).",
        "### All spots that were due",
        _overview(kinds),
        "### Against the Rf of the dye",
        _dye(found["dye"]["kinds"]),
        "### By kind of spot",
        *(part for kind in kinds for part in (f"#### {TITLES[kind].capitalize()} pictures", _classes(kinds[kind]))),
        "### Pictures with something wrong",
        _faults(found["marks"]["faults"]),
        f"Of pictures that nobody could read, {_share(found['marks']['unreadable_refused'])} were refused.\n"
        f"Of all pictures with something wrong, {_share(found['marks']['silently_wrong'])} were silently wrong.",
        "### Flags that were raised",
        _flags(found["flags"], sum(one["pictures"] for one in kinds.values())),
    ]
    return "\n\n".join(parts)


def _overview(kinds: dict[str, Any]) -> str:
    rows = {
        "spots due in pictures that were read": lambda one: str(one["found"]["of"]),
        "spots found, all due": lambda one: _share(one["found"]),
        "false spots a plate": lambda one: _rate(one["false"]),
        "Rf, root mean square error": lambda one: _number(one["errors"], "rmse"),
        "95 % interval covers": lambda one: _share(one["errors"].get("coverage", share(0, 0))),
        "readable, not refused": lambda one: _share(one["not_refused"]),
        "near a line, yet an exact number": lambda one: _share(one["near_exact"]),
        "unread finds that are not there, a plate": lambda one: _rate(one["false_unread"]),
        "read with a warning": lambda one: _share(one["flagged"]),
        "pictures silently wrong": lambda one: str(one["verdicts"]["silently wrong"]),
        "right colour, of those named": lambda one: _share(one["right_colour"]),
        "seconds a picture, median": lambda one: f"{one['seconds']:.1f}",
    }
    lines = []
    for title, cell in rows.items():
        aims = FLOORS.get(title, {})
        lines.append([title, *(cell(kinds[kind]) for kind in kinds), "; ".join(aims[kind] for kind in kinds if aims)])
    return _table(["", *(TITLES[kind] for kind in kinds), "aims, in this order"], lines)


def _dye(kinds: dict[str, Any]) -> str:
    rows = {
        "Rf, root mean square error": lambda one: _number(one["errors"], "rmse"),
        "bias": lambda one: _number(one["errors"], "bias"),
        "mean standard uncertainty": lambda one: _number(one["errors"], "mean_u"),
        "95 % interval covers": lambda one: _share(one["errors"].get("coverage", share(0, 0))),
    }
    lines = [[title, *(cell(kinds[kind]) for kind in kinds)] for title, cell in rows.items()]
    return _table(["", *(TITLES[kind] for kind in kinds)], lines)


def _classes(kind: dict[str, Any]) -> str:
    lines = [
        [
            name,
            _share(one["found"]),
            str(one["errors"]["n"]),
            *(_number(one["errors"], key) for key in ("bias", "rmse", "mean_u", "greatest")),
            _share(one["errors"].get("coverage", share(0, 0))),
        ]
        for name in CLASSES
        if (one := kind["classes"].get(name))
    ]
    return _table(["spots", "found", "with Rf", "bias", "rms error", "mean u", "greatest error", "covers"], lines)


def _faults(faults: dict[str, Any]) -> str:
    lines = [
        [FAULTS[name].what, "yes" if one["readable"] else "no", *(str(one[verdict]) for verdict in VERDICTS)]
        for name, one in faults.items()
    ]
    return _table(["what is wrong", "a person could read it", *VERDICTS], lines)


def _flag_counts(records: Sequence[dict[str, Any]]) -> dict[str, int]:
    raised = [set(record["flags"]) for record in records]
    return {code: count for code in SENTENCES if (count := sum(code in one for one in raised))}


def _flags(counts: dict[str, int], pictures: int) -> str:
    if not counts:
        return "None."
    lines = [[f"`{code}`", f"{count} of {pictures}"] for code, count in counts.items()]
    return _table(["flag that warns", "pictures"], lines)


def _table(header: Cells, rows: Sequence[Cells]) -> str:
    lines = [header, ["---"] * len(header), *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", r"\|") for cell in line) + " |" for line in lines)


def _number(errors: dict[str, Any], key: str) -> str:
    return f"{errors[key]:.4f}" if errors.get("n") else "none"


def _share(one: dict[str, Any]) -> str:
    return f"{one['share']:.3f} ({one['low']:.3f} to {one['high']:.3f})" if one["of"] else "none"


def _rate(one: dict[str, Any]) -> str:
    return f"{one['rate']:.2f} ({one['low']:.2f} to {one['high']:.2f})" if one["of"] else "none"


def _range(seeds: Sequence[int]) -> str:
    first, last = min(seeds), max(seeds)
    if first == last:
        return str(first)
    return f"{first} to {last}" if list(seeds) == list(range(first, last + 1)) else ", ".join(map(str, seeds))


def main(arguments: Sequence[str] | None = None) -> int:
    """Judge, write the page, and keep every record where one asks for it."""
    parser = argparse.ArgumentParser(prog="publish", description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--seeds", type=numbers, default=list(range(1000, 1100)), help="of each kind")
    parser.add_argument("--fault-seeds", type=numbers, default=list(range(1000, 1015)), help="of each fault")
    parser.add_argument("--jobs", type=int, default=1, help="processes")
    parser.add_argument("--page", type=Path, default=PAGE, help="the page to write into")
    parser.add_argument("--records", type=Path, help="a JSON file for everything that was found")
    given = parser.parse_args(arguments)
    found = evaluation(given.seeds, given.fault_seeds, given.jobs)
    if given.records:
        given.records.write_text(json.dumps(found, indent=1), encoding="utf-8")
    given.page.write_text(page_with(given.page.read_text(encoding="utf-8"), found), encoding="utf-8")
    return int(any(record["broken"] for some in found["records"].values() for record in some))


if __name__ == "__main__":
    raise SystemExit(main())
