"""Which dye is in what: each spot against the standards beside it and a library, each sample as a mixture of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from lanewise.analyses.answers import answer
from lanewise.analyses.bench import Bench, set_up, standards
from lanewise.analyses.expectation import Expectations
from lanewise.analyses.following import follow
from lanewise.analyses.identity_words import notes, sentence
from lanewise.analyses.measure import Measurement
from lanewise.analyses.own_library import OWN, own_entries
from lanewise.analyses.scatter import Scatter
from lanewise.errors import AnalysisError
from lanewise.tables.rf_library import RfLibrary
from lanewise.uncertainty.sources import Ids

NONE, CLAIM = 0.5, 0.9
SPOTS = [
    *("sample", "spot", "system", "plates", "colour", "verdict", "dyes", "probability", "none", "compared_with"),
    "rows",
]
CANDIDATES = [
    "sample", "spot", "system", "candidate", "standing", "probability", "factor", "compared_with", "compared_in",
    "delta_rf", "u_delta_rf", "place", "ends", "colour", "missing",
]  # fmt: skip
MIXTURES = ["sample", "dyes", "probability", "left_over", "missing", "exact"]


@dataclass(frozen=True, eq=False)
class Identification:
    """What can be said of the dye behind each spot, and of each sample as a mixture.

    Attributes
    ----------
    spots : DataFrame
        One row for each spot that was followed: sample, spot (its colour, name or number), system (empty where it was
        followed through all), plates, colour, verdict, dyes, probability, none, compared_with, rows. The verdict is
        ``consistent with`` one dye, ``cannot tell between`` several, ``none of these``, or ``not decided``. dyes are
        those that it speaks of, probability is that of the verdict, compared_with says by what they were judged, and
        rows are positions in the measurement's spots.
    candidates : DataFrame
        One row for each spot and candidate: standing (``consistent with``, ``open`` or ``excluded``), its posterior
        probability, the Bayes factor against an unknown dye, what it was compared with, the mean difference of Rf in
        each system as text-keyed columns, and the decimal logarithm of each kind of evidence.
    mixtures : DataFrame
        One row for each sample: the dyes of the most probable explanation, its probability, the spots that it leaves
        over, what is missing (spots that a standard shows and the sample does not), and whether all explanations were
        gone through.
    dyes : tuple of str
        All candidates.
    notes : tuple of str
        What was assumed and what weakens the answer, as sentences.
    scatter : Scatter
        Scatter from lane to lane that was used.
    none, claim : float
        Prior share of spots that are none of the candidates, and the probability from which a claim is made.
    """

    spots: pd.DataFrame
    candidates: pd.DataFrame
    mixtures: pd.DataFrame
    dyes: tuple[str, ...]
    notes: tuple[str, ...]
    scatter: Scatter
    none: float
    claim: float

    def __str__(self) -> str:
        return "\n".join(sentence(row) for row in self.spots.to_dict("records"))

    def to_frame(self) -> pd.DataFrame:
        """Give the table of spots without the row numbers."""
        return self.spots.drop(columns="rows")


def identify(
    measurement: Measurement, library: RfLibrary | None = None, *, none: float = NONE, claim: float = CLAIM
) -> Identification:
    """Say which dye each spot is consistent with.

    Parameters
    ----------
    measurement : Measurement
        From `lanewise.measure`, with standards in lanes of their own, or a library.
    library : RfLibrary, optional
        Used where a dye has no standard on the plate; values are corrected by standards on the plate that the library
        knows.
    none : float
        Prior share of spots whose dye is none of the candidates, above 0 and below 1. The rest is even over the
        candidates. One half says that nothing is known beforehand.
    claim : float
        Probability from which a verdict is given, above 0.5 and below 1.

    Returns
    -------
    Identification

    Raises
    ------
    AnalysisError
        If a share is out of range, or there is neither a standard nor a fitting entry of the library.

    Notes
    -----
    A standard on the same plate comes first; what a plate does to all lanes alike then drops out. Nothing here says
    that a spot *is* a dye: another one may have the same Rf in every system that was run.

    Examples
    --------
    >>> import pandas as pd
    >>> from lanewise.analyses.measure import measure
    >>> marks = pd.DataFrame({"lane": ["1", "2", "3"], "sample": ["eosin Y", "red ink", "crystal violet"],
    ...     "role": ["standard", "sample", "standard"], "front_mm": 80.0, "centre_mm": [56.0, 56.5, 28.0]})
    >>> print(identify(measure(marks)))
    red ink is consistent with eosin Y (probability 0.91).
    """
    if not 0.0 < none < 1.0:
        raise AnalysisError(f"none: wanted a share above 0 and below 1, given {none:g}")
    if not 0.5 < claim < 1.0:
        raise AnalysisError(f"claim: wanted a probability above 0.5 and below 1, given {claim:g}")
    bench = set_up(measurement)
    known = standards(bench)
    own = own_entries(measurement, bench, OWN, refuse=False) if _gaps(bench, known) else ()
    expectations = Expectations(bench, known, library or RfLibrary(), RfLibrary(own))
    dyes = expectations.candidates
    if not dyes:
        raise AnalysisError(
            "wanted at least one lane with the role standard, or a library with values for the layer and system of a "
            "plate, given neither. Name what a standard lane holds in the column sample and write standard under role."
        )
    prior = np.array([(1.0 - none) / len(dyes)] * len(dyes) + [none])
    answers = [answer(expectations, sample, prior, claim) for sample in follow(bench)]
    return Identification(
        spots=pd.DataFrame([row for one in answers for row in one.spots], columns=SPOTS),
        candidates=pd.DataFrame([row for one in answers for row in one.candidates], columns=CANDIDATES),
        mixtures=pd.DataFrame([one.mixture for one in answers], columns=MIXTURES),
        dyes=dyes,
        notes=tuple(notes(expectations, answers, none)),
        scatter=bench.scatter,
        none=none,
        claim=claim,
    )


def _gaps(bench: Bench, known: Mapping[str, Ids]) -> bool:
    """Whether a standard did not run on some plate of a system in which it ran."""
    for rows in known.values():
        systems = np.unique(bench.system[rows])
        wanted = np.unique(bench.plate[np.isin(bench.system, systems)])
        if not np.isin(wanted, bench.plate[rows]).all():
            return True
    return False
