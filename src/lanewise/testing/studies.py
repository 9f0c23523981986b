"""Studies that a writer is tried on: labels that part cells and lines, every state of a spot, gaps."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lanewise.model.studies import Study

LABELS = ("a, b; c", 'said "faint"', "it's 1.50", "blue  pen", "007", "NA", "Ünï 墨水", "=1+1", "a|b<c>&d")


def standard_studies() -> dict[str, Study]:
    """Make studies for round trips. All readings are invented.

    Returns
    -------
    dict of str to Study
        By name, for messages.

    Examples
    --------
    >>> list(standard_studies())
    ['a study with odd labels', 'a study with all states', 'a study with lines in its labels']
    """
    from lanewise.model.plates import Lane, Plate, Spot
    from lanewise.model.studies import Study

    odd = tuple(
        Lane(label=str(number), sample=label, spots=(Spot(label="1", centre=20.5, colour=label, note=label),))
        for number, label in enumerate(LABELS, start=1)
    )
    states = (
        Spot(label="1", state="at origin"),
        Spot(label="2", centre=32.125, trailing=30.0, leading=34.7),
        Spot(label="3", trailing=40.1, leading=44.2),
        Spot(label="4", state="streak", trailing=45.0, leading=60.3),
        Spot(label="5", state="unread"),
        Spot(label="6", state="absent"),
        Spot(label="7", state="with front"),
    )
    lines = Spot(label="1", centre=33.3, note="first line\nsecond line", colour="grey\tblue")
    front = Lane(label="B", front=81.5, spots=(Spot(label="1", centre=5.1 + 0.2),))
    first = Plate(label="1", system="water", origin=0, front=85, lanes=odd)
    second = Plate(label="1", origin=5, front=85, lanes=(Lane(label="A", spots=states), front))
    third = Plate(label="1", origin=0, front=85, lanes=(Lane(label="A", spots=(lines,)),))
    return {
        "a study with odd labels": Study(plates=(first,)),
        "a study with all states": Study(plates=(second,)),
        "a study with lines in its labels": Study(plates=(third,)),
    }
