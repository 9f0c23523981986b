"""What the solvent systems of a study are mixed from, as a table."""

from __future__ import annotations

import pandas as pd

from lanewise.model.studies import Study

COMPOSITION = ("system", "substance", "fraction", "grams_per_litre", "phase")


def composition_table(study: Study) -> pd.DataFrame:
    """Give the components of each solvent system.

    Parameters
    ----------
    study : Study
        With its systems.

    Returns
    -------
    DataFrame
        One row for each component: system, substance, fraction (of the volumes before mixing, nan for what is
        dissolved), grams_per_litre (nan for liquids), phase. A system whose components are not known has no row.

    Examples
    --------
    >>> from lanewise.model.notation import parse_system
    >>> table = composition_table(Study(plates=[], systems=[parse_system("heptane:acetone 7:3")]))
    >>> table[["substance", "fraction"]].values.tolist()
    [['heptane', 0.7], ['acetone', 0.3]]
    """
    rows = []
    for system in study.systems:
        total = sum(item.parts for item in system.components if item.parts is not None)
        for item in system.components:
            share = float("nan") if item.parts is None else item.parts / total
            grams = float("nan") if item.grams_per_litre is None else item.grams_per_litre
            rows.append((system.name, item.substance, share, grams, system.phase))
    return pd.DataFrame(rows, columns=list(COMPOSITION))
