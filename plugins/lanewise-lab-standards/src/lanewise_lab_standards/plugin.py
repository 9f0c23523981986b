"""The plugin: three formats of lane traces in, two styles of results out."""

from __future__ import annotations

from collections.abc import Sequence

from lanewise.hooks import ImportFormat, ReportStyle, hookimpl
from lanewise_lab_standards import recognising
from lanewise_lab_standards.options import TraceOptions
from lanewise_lab_standards.results_options import CrateOptions, PackageOptions


@hookimpl
def lanewise_import_formats() -> Sequence[ImportFormat]:
    """Register the three formats of lane traces.

    Examples
    --------
    >>> [one.name for one in lanewise_import_formats()]
    ['jcamp-dx', 'andi-chromatography', 'animl']
    """
    return (
        ImportFormat(
            name="jcamp-dx",
            title="JCAMP-DX: lane traces as text with labels",
            read="lanewise_lab_standards.jcamp_reading:read",
            suffixes=(".jdx", ".dx", ".jcamp"),
            recognise=recognising.jcamp,
            options=TraceOptions,
            description=(
                "The exchange format of IUPAC for curves: plain and compressed numbers (AFFN, ASDF), one block a lane, "
                "several in a LINK file. NTUPLES are refused."
            ),
        ),
        ImportFormat(
            name="andi-chromatography",
            title="ANDI chromatography: one lane trace as netCDF",
            read="lanewise_lab_standards.andi_reading:read",
            suffixes=(".cdf",),
            recognise=recognising.andi,
            options=TraceOptions,
            description=(
                "ASTM E1947 in classic netCDF: the raw curve, and the table of peaks where there is one. The standard "
                "means time; for a lane the abscissa has to be stated as a length, or chosen with the option axis."
            ),
        ),
        ImportFormat(
            name="animl",
            title="AnIML: lane traces as XML",
            read="lanewise_lab_standards.animl_reading:read",
            suffixes=(".animl", ".xml"),
            recognise=recognising.animl,
            options=TraceOptions,
            description="The analytical markup language, core schema 0.90: one experiment step a lane.",
        ),
    )


@hookimpl
def lanewise_report_styles() -> Sequence[ReportStyle]:
    """Register the two styles of results; their modules load when a report is laid out.

    Examples
    --------
    >>> [one.name for one in lanewise_report_styles()]
    ['data-package', 'ro-crate']
    """
    return (
        ReportStyle(
            name="data-package",
            title="Data Package: tables with their columns described, in one archive",
            render="lanewise_lab_standards.data_package:render",
            suffix=".zip",
            media_type="application/zip",
            options=PackageOptions,
            description=(
                "Frictionless Data Package 2: every number in CSV tables whose columns, units, keys and references "
                "are described, the record of the study, and the report as a web page with its figures in words."
            ),
        ),
        ReportStyle(
            name="ro-crate",
            title="RO-Crate: the whole report with tables and pictures, for a paper's supplement",
            render="lanewise_lab_standards.ro_crate:render",
            suffix=".zip",
            media_type="application/zip",
            options=CrateOptions,
            description=(
                "RO-Crate 1.1: the files of the Data Package, the report as a web page and its pictures, each "
                "described, and which program made them of which files."
            ),
        ),
    )
