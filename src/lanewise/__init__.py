"""Planar chromatography: from what was read on a sheet to a report one can defend.

The names listed here are the public face, beside the public modules `lanewise.hooks` (for plugins),
`lanewise.document`, `lanewise.quantities` and `lanewise.uncertainty`. Each is loaded when it is first used, so
importing the package costs next to nothing.
"""

from importlib import import_module

_HOME = {
    "AmbiguousFormat": "errors",
    "AnalysisError": "errors",
    "Comparison": "analyses.compare",
    "Component": "model.solvents",
    "Development": "model.plates",
    "FormatError": "errors",
    "Input": "model.studies",
    "Lane": "model.plates",
    "LanewiseError": "errors",
    "Limits": "analyses.limits",
    "Measured": "uncertainty.measured",
    "Measurement": "analyses.measure",
    "OptionError": "errors",
    "OutdatedPluginWarning": "errors",
    "Plate": "model.plates",
    "PluginProblemWarning": "errors",
    "Problem": "errors",
    "Reading": "model.plates",
    "Registry": "plugins.registry",
    "ReadingsError": "errors",
    "RecordError": "errors",
    "Report": "document",
    "Separations": "analyses.separations",
    "SharedError": "model.plates",
    "Sheet": "model.plates",
    "SolventSystem": "model.solvents",
    "Spot": "model.plates",
    "Study": "model.studies",
    "StyleError": "errors",
    "Trace": "model.plates",
    "UnknownFormat": "errors",
    "UnreadableFile": "errors",
    "check": "files.reading",
    "compare": "analyses.compare",
    "comparison_sentences": "analyses.sentences",
    "default_registry": "plugins.registry",
    "detect": "files.reading",
    "known_column": "tables.headings",
    "limits": "analyses.limits",
    "make_registry": "plugins.registry",
    "measure": "analyses.measure",
    "parse_system": "model.notation",
    "plate_figure": "figures.plates",
    "propagate": "uncertainty.propagation",
    "read": "files.reading",
    "refresh": "plugins.registry",
    "render": "files.rendering",
    "rf_figure": "figures.charts",
    "sample": "uncertainty.montecarlo",
    "save": "files.writing",
    "separations": "analyses.separations",
    "spots_of_trace": "densitometry",
    "spread": "analyses.compare",
    "study_report": "reports.study",
    "to_frame": "tables.marks",
    "to_xarray": "tables.marks",
    "write": "files.writing",
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
