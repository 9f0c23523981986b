"""Solvent systems: what a plate was developed in, part by part."""

from __future__ import annotations

from typing import Annotated, Literal, TypeAlias

import msgspec

from lanewise.model import checks
from lanewise.model.fields import Name, Record

Phase: TypeAlias = Literal["", "upper", "lower"]
Parts: TypeAlias = Annotated[float, msgspec.Meta(gt=0)]
GramsPerLitre: TypeAlias = Annotated[float, msgspec.Meta(gt=0, extra_json_schema={"unit": "g/L"})]


class Component(Record, frozen=True, kw_only=True):
    """One substance of a solvent system: a liquid by its parts, or a salt by its mass concentration.

    Attributes
    ----------
    substance : str
        Name of the substance.
    parts : float or None
        Parts by volume, above zero. [1]
    grams_per_litre : float or None
        Mass in one litre of the mixed liquid, above zero; for what is weighed in. [g/L]

    Raises
    ------
    RecordError
        If not exactly one of `parts` and `grams_per_litre` is given, or a value is not possible.

    Examples
    --------
    >>> Component(substance="ethanol", parts=35).parts
    35.0
    """

    substance: Name
    parts: Parts | None = None
    grams_per_litre: GramsPerLitre | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        checks.check_component(self)


class SolventSystem(Record, frozen=True, kw_only=True):
    """A solvent system, under the name by which the plates call it.

    Attributes
    ----------
    name : str
        The name, as it was typed.
    components : tuple of Component
        What it is mixed from; empty where that is not known.
    phase : {"", "upper", "lower"}
        Which layer is used, where the mixture parts into two.
    note : str
        Remarks: how it was made, how old it was.

    Raises
    ------
    RecordError
        If a substance comes twice, or salts are given without a liquid.

    Examples
    --------
    >>> from lanewise.model.notation import parse_system
    >>> [component.parts for component in parse_system("ethyl acetate:ethanol:water 70:35:30").components]
    [70.0, 35.0, 30.0]
    """

    name: Name
    components: tuple[Component, ...] = ()
    phase: Phase = ""
    note: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        checks.check_system(self)
