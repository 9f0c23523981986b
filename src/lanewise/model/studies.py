"""A study: plates, the solvent systems they were developed in, and where the readings came from."""

from __future__ import annotations

from typing import Annotated, TypeAlias

import msgspec

from lanewise.model import checks
from lanewise.model.fields import Name, Record
from lanewise.model.plates import Plate
from lanewise.model.solvents import SolventSystem

KIND = "lanewise study"
SCHEMA_VERSION = 1

Version: TypeAlias = Annotated[int, msgspec.Meta(ge=1, le=2**53)]
Digest: TypeAlias = Annotated[str, msgspec.Meta(pattern="^[0-9a-f]{64}$")]
Bytes: TypeAlias = Annotated[int, msgspec.Meta(ge=0, le=2**53, extra_json_schema={"unit": "B"})]


class Input(Record, frozen=True, kw_only=True):
    """Where readings came from: one file as it was when it was read.

    Attributes
    ----------
    name : str
        File name without its folder.
    sha256 : str
        SHA-256 of the content, 64 hexadecimal digits in lower case.
    size : int
        Length of the content. [B]
    format : str
        Import format that read it.
    options : dict of str to str
        Options of the format, as text.
    unread : tuple of str
        What the reader saw and left out, in words.
    """

    name: Name
    sha256: Digest
    size: Bytes
    format: Name
    options: dict[str, str] = {}  # noqa: RUF012 (msgspec copies it)
    unread: tuple[str, ...] = ()


class Study(Record, frozen=True, kw_only=True, tag_field="kind", tag=KIND):
    """What was planned and seen, and never a result.

    Attributes
    ----------
    schema_version : int
        Version of the record's form; this library writes 1.
    title : str
        What the study is called.
    question : str
        What it is to find out.
    systems : tuple of SolventSystem
        The solvent systems; names are unique.
    plates : tuple of Plate
        The plates; labels are unique.
    note : str
        Remarks.
    inputs : tuple of Input
        The files that the readings came from.

    Raises
    ------
    RecordError
        If two systems have one name or two plates one label; if systems are listed and a plate's is not among
        them; if `schema_version` is not 1.

    Examples
    --------
    >>> Study(title="Writing inks", plates=[Plate(label="bench 3", system="water")]).plates[0].system
    'water'
    """

    schema_version: Version = SCHEMA_VERSION
    title: str = ""
    question: str = ""
    systems: tuple[SolventSystem, ...] = ()
    plates: tuple[Plate, ...] = ()
    note: str = ""
    inputs: tuple[Input, ...] = ()

    def __post_init__(self) -> None:
        super().__post_init__()
        checks.check_version("study, schema_version", self.schema_version, SCHEMA_VERSION)
        checks.check_unique(self, "systems", [system.name for system in self.systems])
        checks.check_unique(self, "plates", [plate.label for plate in self.plates])
        checks.check_systems(self)
