"""Several files as one study: labels that clash get the name of their file, everything else stays as it was read."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import msgspec

from lanewise.errors import RecordError
from lanewise.model.plates import Plate
from lanewise.model.solvents import SolventSystem
from lanewise.model.studies import Study


def merge(parts: Sequence[tuple[Path, Study]]) -> Study:
    """Put studies that came from different files together.

    Parameters
    ----------
    parts : sequence of (Path, Study)
        For each file its path, or its bare name, and what was read from it.

    Returns
    -------
    Study
        Plates, systems and inputs in the order of the files. A label that stands in more than one file gets the
        name of the file in front (``bench-1: A``), in each of them. Titles, questions and lines of notes that
        differ are put one after the other.

    Raises
    ------
    RecordError
        If two files describe solvent systems of one name differently, or plates cannot be told apart.

    Notes
    -----
    A file that only names a system takes the description of another file; a system that none describes is listed
    without components, where any is listed.

    Examples
    --------
    >>> first = Study(plates=[Plate(label="A"), Plate(label="B")])
    >>> second = Study(plates=[Plate(label="A")])
    >>> both = merge([(Path("bench-1.csv"), first), (Path("bench-2.csv"), second)])
    >>> [plate.label for plate in both.plates]
    ['bench-1: A', 'B', 'bench-2: A']
    """
    if len(parts) == 1:
        return parts[0][1]
    studies = [study for _, study in parts]
    plates = _plates(parts)
    return Study(
        title=_joined([study.title for study in studies], "; "),
        question=_joined([study.question for study in studies], "; "),
        systems=_systems(parts, plates),
        plates=tuple(plates),
        note=_joined([line for study in studies for line in study.note.splitlines()], "\n"),
        inputs=tuple(entry for study in studies for entry in study.inputs),
    )


def _plates(parts: Sequence[tuple[Path, Study]]) -> list[Plate]:
    count = Counter(plate.label for _, study in parts for plate in study.plates)
    clash = any(number > 1 for number in count.values())
    prefixes = _prefixes([path for path, _ in parts]) if clash else [""] * len(parts)
    return [
        msgspec.structs.replace(plate, label=f"{prefix}: {plate.label}") if count[plate.label] > 1 else plate
        for prefix, (_, study) in zip(prefixes, parts, strict=True)
        for plate in study.plates
    ]


def _prefixes(paths: Sequence[Path]) -> list[str]:
    """Give each file the shortest name that tells it from the others: stem, file name, then folders before it."""
    stems = [path.with_suffix("").parts for path in paths]
    folders = range(2, max(map(len, stems)) + 1)
    for names in (
        [path.stem for path in paths],
        [path.name for path in paths],
        *(["/".join(parts[-depth:]) for parts in stems] for depth in folders),
    ):
        if len(set(names)) == len(names):
            return names
    name, _ = Counter(path.name for path in paths).most_common(1)[0]
    raise RecordError(
        f"several files called {name!r} have plates of one label: wanted names that tell them apart. "
        "Give each its own name, or label the plates differently."
    )


def _systems(parts: Sequence[tuple[Path, Study]], plates: Sequence[Plate]) -> tuple[SolventSystem, ...]:
    found: dict[str, tuple[Path, SolventSystem]] = {}
    for path, study in parts:
        for system in study.systems:
            other_path, other = found.setdefault(system.name, (path, system))
            if _is_bare(other):
                found[system.name] = (path, system)
            elif other != system and not _is_bare(system):
                raise RecordError(
                    f"solvent system {system.name!r}: wanted one description, given two different ones in "
                    f"{other_path.name} and {path.name}. Correct one, or give them different names."
                )
    if found:
        for plate in plates:
            found.setdefault(plate.system, (Path(), SolventSystem(name=plate.system)))
    return tuple(system for _, system in found.values())


def _is_bare(system: SolventSystem) -> bool:
    """Whether nothing but its name is known of a system."""
    return system == SolventSystem(name=system.name)


def _joined(texts: Sequence[str], between: str) -> str:
    return between.join(dict.fromkeys(text for text in texts if text.strip()))
