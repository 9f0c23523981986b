"""A plugin that leans on something old."""

from __future__ import annotations

import warnings

from lanewise.hooks import hookimpl
from zoo import Caught
from zoo.sheet import sheet

CAUGHT = {"alarmed-sheet": Caught("quiet_import", "mend what the warning is about")}

warnings.warn("what this plugin uses goes away soon", DeprecationWarning, stacklevel=1)


@hookimpl
def lanewise_import_formats():
    return [sheet("alarmed-sheet")]
