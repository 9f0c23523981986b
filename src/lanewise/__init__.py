"""Planar chromatography: from what was read on a sheet to a report one can defend.

The names listed here are the public face, beside the public modules `lanewise.hooks` (for plugins),
`lanewise.document`, `lanewise.quantities` and `lanewise.uncertainty`. Each is loaded when it is first used, so
importing the package costs next to nothing.
"""

from importlib import import_module

_HOME = {
    "AmbiguousFormat": "errors",
    "AnalysisError": "errors",
    "Cautions": "planning.cautions",
    "Comparison": "analyses.compare",
    "Component": "model.solvents",
    "Contrasts": "analyses.contrasts",
    "Correlations": "analyses.correlations",
    "Development": "model.plates",
    "Discrimination": "analyses.discrimination",
    "FormatError": "errors",
    "Glassware": "planning.glassware",
    "Identification": "analyses.identify",
    "Input": "model.studies",
    "KitchenSolution": "planning.kitchen",
    "Lane": "model.plates",
    "LanewiseError": "errors",
    "LibraryEntry": "tables.rf_library",
    "Limits": "analyses.limits",
    "Measured": "uncertainty.measured",
    "Measurement": "analyses.measure",
    "Observation": "planning.fronts",
    "OptionError": "errors",
    "OutdatedPluginWarning": "errors",
    "Plan": "planning.plans",
    "PlanError": "errors",
    "Plate": "model.plates",
    "PluginProblemWarning": "errors",
    "Predictions": "analyses.strength",
    "PrintScale": "planning.printing",
    "Problem": "errors",
    "Ranking": "analyses.ranking",
    "Reading": "model.plates",
    "ReadingsError": "errors",
    "Recipe": "planning.recipes",
    "RecordError": "errors",
    "Registry": "plugins.registry",
    "Report": "document",
    "RfLibrary": "tables.rf_library",
    "RunningTime": "planning.running",
    "Separations": "analyses.separations",
    "SharedDyes": "analyses.sharing",
    "SharedError": "model.plates",
    "Sheet": "model.plates",
    "SolventSystem": "model.solvents",
    "Spot": "model.plates",
    "Study": "model.studies",
    "StyleError": "errors",
    "Trace": "model.plates",
    "UnknownFormat": "errors",
    "UnreadableFile": "errors",
    "Vessel": "planning.vessels",
    "cautions": "planning.cautions",
    "check": "files.reading",
    "choice_report": "reports.choosing",
    "compare": "analyses.compare",
    "comparison_report": "reports.comparing",
    "comparison_sentences": "analyses.sentences",
    "composition_table": "tables.mixtures",
    "contrast": "analyses.contrasts",
    "contrast_sentences": "analyses.verdicts",
    "correlate": "analyses.correlations",
    "correlation_sentences": "analyses.verdicts",
    "default_registry": "plugins.registry",
    "detect": "files.reading",
    "discrimination": "analyses.discrimination",
    "identification_report": "reports.identification",
    "identify": "analyses.identify",
    "identities_figure": "figures.identities",
    "kitchen_recipe": "planning.kitchen",
    "kitchen_solution": "planning.kitchen",
    "known_column": "tables.headings",
    "library_of": "analyses.own_library",
    "limits": "analyses.limits",
    "make_registry": "plugins.registry",
    "measure": "analyses.measure",
    "observations_of": "planning.observed",
    "parse_system": "model.notation",
    "plan": "planning.plans",
    "plan_report": "reports.plans",
    "plate_figure": "figures.plates",
    "predict_rf": "analyses.strength",
    "prediction_sentences": "analyses.verdicts",
    "printed_library": "tables.rf_library",
    "propagate": "uncertainty.propagation",
    "rank_systems": "analyses.ranking",
    "ranking_sentences": "analyses.verdicts",
    "read": "files.reading",
    "read_library": "files.libraries",
    "recipe": "planning.recipes",
    "recipe_report": "reports.recipes",
    "recipe_sections": "reports.recipes",
    "refresh": "plugins.registry",
    "render": "files.rendering",
    "rf_figure": "figures.charts",
    "running_section": "reports.recipes",
    "running_time": "planning.running",
    "sample": "uncertainty.montecarlo",
    "save": "files.writing",
    "scale_of_print": "planning.printing",
    "separations": "analyses.separations",
    "shared_dyes": "analyses.sharing",
    "sheet_figure": "figures.sheets",
    "spots_of_trace": "densitometry",
    "spread": "analyses.compare",
    "strength_figure": "figures.strengths",
    "study_report": "reports.study",
    "system_map": "figures.maps",
    "to_frame": "tables.marks",
    "to_xarray": "tables.marks",
    "write": "files.writing",
    "write_library": "files.libraries",
}

__all__ = sorted(_HOME)  # type checkers read __init__.pyi instead


def __getattr__(name: str) -> object:
    if name == "__version__":
        from importlib.metadata import version

        return version("lanewise")
    if name not in _HOME:
        raise AttributeError(f"module 'lanewise' has no attribute {name!r}")
    value = getattr(import_module(f"lanewise.{_HOME[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *_HOME})
