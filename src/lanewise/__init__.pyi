"""The public face as a type checker sees it; a test holds it equal to the names of ``__init__.py``."""

from lanewise.analyses.compare import (
    Comparison as Comparison,
)
from lanewise.analyses.compare import (
    compare as compare,
)
from lanewise.analyses.compare import (
    spread as spread,
)
from lanewise.analyses.limits import (
    Limits as Limits,
)
from lanewise.analyses.limits import (
    limits as limits,
)
from lanewise.analyses.measure import (
    Measurement as Measurement,
)
from lanewise.analyses.measure import (
    measure as measure,
)
from lanewise.analyses.sentences import comparison_sentences as comparison_sentences
from lanewise.analyses.separations import (
    Separations as Separations,
)
from lanewise.analyses.separations import (
    separations as separations,
)
from lanewise.densitometry import spots_of_trace as spots_of_trace
from lanewise.document import Report as Report
from lanewise.errors import (
    AmbiguousFormat as AmbiguousFormat,
)
from lanewise.errors import (
    AnalysisError as AnalysisError,
)
from lanewise.errors import (
    FormatError as FormatError,
)
from lanewise.errors import (
    LanewiseError as LanewiseError,
)
from lanewise.errors import (
    OptionError as OptionError,
)
from lanewise.errors import (
    OutdatedPluginWarning as OutdatedPluginWarning,
)
from lanewise.errors import (
    PluginProblemWarning as PluginProblemWarning,
)
from lanewise.errors import (
    Problem as Problem,
)
from lanewise.errors import (
    ReadingsError as ReadingsError,
)
from lanewise.errors import (
    RecordError as RecordError,
)
from lanewise.errors import (
    StyleError as StyleError,
)
from lanewise.errors import (
    UnknownFormat as UnknownFormat,
)
from lanewise.errors import (
    UnreadableFile as UnreadableFile,
)
from lanewise.figures.charts import rf_figure as rf_figure
from lanewise.figures.plates import plate_figure as plate_figure
from lanewise.files.reading import (
    check as check,
)
from lanewise.files.reading import (
    detect as detect,
)
from lanewise.files.reading import (
    read as read,
)
from lanewise.files.rendering import render as render
from lanewise.files.writing import (
    save as save,
)
from lanewise.files.writing import (
    write as write,
)
from lanewise.model.notation import parse_system as parse_system
from lanewise.model.plates import (
    Development as Development,
)
from lanewise.model.plates import (
    Lane as Lane,
)
from lanewise.model.plates import (
    Plate as Plate,
)
from lanewise.model.plates import (
    Reading as Reading,
)
from lanewise.model.plates import (
    SharedError as SharedError,
)
from lanewise.model.plates import (
    Sheet as Sheet,
)
from lanewise.model.plates import (
    Spot as Spot,
)
from lanewise.model.plates import (
    Trace as Trace,
)
from lanewise.model.solvents import (
    Component as Component,
)
from lanewise.model.solvents import (
    SolventSystem as SolventSystem,
)
from lanewise.model.studies import (
    Input as Input,
)
from lanewise.model.studies import (
    Study as Study,
)
from lanewise.plugins.registry import (
    Registry as Registry,
)
from lanewise.plugins.registry import (
    default_registry as default_registry,
)
from lanewise.plugins.registry import (
    make_registry as make_registry,
)
from lanewise.plugins.registry import (
    refresh as refresh,
)
from lanewise.reports.study import study_report as study_report
from lanewise.tables.headings import known_column as known_column
from lanewise.tables.marks import (
    to_frame as to_frame,
)
from lanewise.tables.marks import (
    to_xarray as to_xarray,
)
from lanewise.uncertainty.measured import Measured as Measured
from lanewise.uncertainty.montecarlo import sample as sample
from lanewise.uncertainty.propagation import propagate as propagate

__version__: str
__all__: list[str]
