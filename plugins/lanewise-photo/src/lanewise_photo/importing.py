"""The reader of the format: from the content of a file to a study."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lanewise.errors import UnreadableFile
from lanewise_photo.by_hand import corrections_of, read_corrected, recorded
from lanewise_photo.planned import as_planned, plan_of, settings_with
from lanewise_photo.plugin import PhotographOptions
from lanewise_photo.settings import settings_of
from lanewise_photo.study import study_of

if TYPE_CHECKING:
    from lanewise import Study
    from lanewise.hooks import Source


def read(source: Source, options: PhotographOptions) -> Study:
    """Read a photograph or scan of a developed sheet.

    Parameters
    ----------
    source : Source
        The file.
    options : PhotographOptions
        What the picture does not say.

    Returns
    -------
    Study
        One plate a sheet. What may be wrong stands in the notes of plates, lanes and spots.

    Raises
    ------
    UnreadableFile
        If the picture cannot be measured, with the reason.
    OptionError
        If an option cannot be understood.
    """
    plan = plan_of(options.plan)
    settings = settings_with(settings_of(options), plan)
    corrections = corrections_of(settings.corrections)
    try:
        reading = read_corrected(source.bytes(), source.name, settings, corrections)
    except UnreadableFile as refusal:
        if source.name in str(refusal):
            raise
        text = f"{source.name}: wanted a picture of a sheet that can be measured. {refusal}"
        raise UnreadableFile(text) from refusal
    study = recorded(study_of(reading, settings), reading, corrections)
    return as_planned(study, plan, settings)
