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
from lanewise.analyses.discrimination import Discrimination as Discrimination
from lanewise.analyses.discrimination import discrimination as discrimination
from lanewise.analyses.identify import Identification as Identification
from lanewise.analyses.identify import identify as identify
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
from lanewise.analyses.own_library import library_of as library_of
from lanewise.analyses.sentences import comparison_sentences as comparison_sentences
from lanewise.analyses.separations import (
    Separations as Separations,
)
from lanewise.analyses.separations import (
    separations as separations,
)
from lanewise.analyses.sharing import SharedDyes as SharedDyes
from lanewise.analyses.sharing import shared_dyes as shared_dyes
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
from lanewise.errors import PlanError as PlanError
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
from lanewise.figures.identities import identities_figure as identities_figure
from lanewise.figures.plates import plate_figure as plate_figure
from lanewise.figures.sheets import sheet_figure as sheet_figure
from lanewise.files.libraries import read_library as read_library
from lanewise.files.libraries import write_library as write_library
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
from lanewise.planning.plans import Plan as Plan
from lanewise.planning.plans import plan as plan
from lanewise.planning.printing import PrintScale as PrintScale
from lanewise.planning.printing import scale_of_print as scale_of_print
from lanewise.planning.vessels import Vessel as Vessel
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
from lanewise.reports.identification import identification_report as identification_report
from lanewise.reports.plans import plan_report as plan_report
from lanewise.reports.study import study_report as study_report
from lanewise.tables.headings import known_column as known_column
from lanewise.tables.marks import (
    to_frame as to_frame,
)
from lanewise.tables.marks import (
    to_xarray as to_xarray,
)
from lanewise.tables.rf_library import LibraryEntry as LibraryEntry
from lanewise.tables.rf_library import RfLibrary as RfLibrary
from lanewise.tables.rf_library import printed_library as printed_library
from lanewise.uncertainty.measured import Measured as Measured
from lanewise.uncertainty.montecarlo import sample as sample
from lanewise.uncertainty.propagation import propagate as propagate

__version__: str
__all__: list[str]
from lanewise.analyses.contrasts import Contrasts as Contrasts
from lanewise.analyses.contrasts import contrast as contrast
from lanewise.analyses.correlations import Correlations as Correlations
from lanewise.analyses.correlations import correlate as correlate
from lanewise.analyses.ranking import Ranking as Ranking
from lanewise.analyses.ranking import rank_systems as rank_systems
from lanewise.analyses.strength import Predictions as Predictions
from lanewise.analyses.strength import predict_rf as predict_rf
from lanewise.analyses.verdicts import contrast_sentences as contrast_sentences
from lanewise.analyses.verdicts import correlation_sentences as correlation_sentences
from lanewise.analyses.verdicts import prediction_sentences as prediction_sentences
from lanewise.analyses.verdicts import ranking_sentences as ranking_sentences
from lanewise.figures.maps import system_map as system_map
from lanewise.figures.strengths import strength_figure as strength_figure
from lanewise.planning.cautions import Cautions as Cautions
from lanewise.planning.cautions import cautions as cautions
from lanewise.planning.fronts import Observation as Observation
from lanewise.planning.glassware import Glassware as Glassware
from lanewise.planning.kitchen import KitchenSolution as KitchenSolution
from lanewise.planning.kitchen import kitchen_recipe as kitchen_recipe
from lanewise.planning.kitchen import kitchen_solution as kitchen_solution
from lanewise.planning.observed import observations_of as observations_of
from lanewise.planning.recipes import Recipe as Recipe
from lanewise.planning.recipes import recipe as recipe
from lanewise.planning.running import RunningTime as RunningTime
from lanewise.planning.running import running_time as running_time
from lanewise.reports.choosing import choice_report as choice_report
from lanewise.reports.comparing import comparison_report as comparison_report
from lanewise.reports.recipes import recipe_report as recipe_report
from lanewise.reports.recipes import recipe_sections as recipe_sections
from lanewise.reports.recipes import running_section as running_section
from lanewise.tables.mixtures import composition_table as composition_table
