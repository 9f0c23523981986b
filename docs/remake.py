"""Make anew every file of the documentation that follows from the code: ``python docs/remake.py``.

A test compares what stands in the folder with what is made here, so a page cannot fall behind the code.
"""

from __future__ import annotations

import importlib.util
import inspect
import re
import runpy
import types
import typing
from collections.abc import Callable, Iterable, Iterator
from dataclasses import fields
from pathlib import Path

from typer.models import ArgumentInfo

import lanewise
from lanewise.cli.main import app
from lanewise.planning.distances import Distances
from lanewise.plugins.options import OptionInfo, describe_options
from lanewise.plugins.registry import make_registry
from lanewise.tables.columns import CONTEXT, MARKS, PAIRS, SPOTS, Column, shared_columns
from lanewise.tables.headings import SPELLINGS
from lanewise.testing import ImportFormatContract, ReportStyleContract
from lanewise.testing.contracts import Contract

DOCS = Path(__file__).parent
EXAMPLE = DOCS.parent / "examples" / "writing_inks.csv"
PICTURED = "bench 2 ester"  # a plate with a streak, spots at the origin and spots with the front
NOTICE = "<!-- Made by docs/remake.py; change the code, not this file. -->"


SEVERITIES = {
    "stop": ("Nothing, or no Rf, is given", "The picture is refused, or positions are given without an Rf."),
    "doubt": (
        "What is given may be another thing",
        "Numbers are given, and no interval covers this doubt: look at the overlay and the sheet.\n"
        "Only these and those above count as warnings in {doc}`/plugins/photo_accuracy`.",
    ),
    "widen": ("The interval is wider", "Numbers are given, and their uncertainty takes it into account."),
    "note": ("For information", "Nothing is wrong with the numbers."),
}
"""Title and text for each severity of a flag of a photograph, the gravest first."""


def plate_picture() -> bytes:
    """Draw one plate of the example, as its report does."""
    found = lanewise.measure(lanewise.to_frame(lanewise.read(EXAMPLE)))
    chosen = (found.marks["plate"] == PICTURED).to_numpy()
    return lanewise.plate_figure(found.marks[chosen], found.spots[chosen], "plate").draw("svg")


def chart_picture() -> bytes:
    """Draw Rf by dye and system of the example, as its report does."""
    found = lanewise.measure(lanewise.to_frame(lanewise.read(EXAMPLE)))
    return lanewise.rf_figure(found.spots, found.marks, "rf-by-system", found.level).draw("svg")


def sheet_picture() -> bytes:
    """Draw the sheet of a folded plan, as it is printed."""
    vessel = lanewise.Vessel(diameter=80, height=130)
    names = ["spinach", "copper beech", "ivy"], ["carotene", "chlorophyll mix"]
    plan = lanewise.plan(
        *names, width=100, height=120, blank=True, seed=8, vessel=vessel, standing="folded", title="Leaves (invented)"
    )
    return lanewise.sheet_figure(plan).draw("svg")


def distances_table() -> str:
    """List the distances that plans keep, with their sources."""
    usual = Distances()
    rows = [
        (
            f"`{one.name}`",
            f"{getattr(usual, one.name):g}",
            Distances.meaning_of(one.name),
            Distances.source_of(one.name),
        )
        for one in fields(Distances)
    ]
    return f"{NOTICE}\n\n" + _table(("Name", "Value [mm]", "From where to where", "Source"), rows) + "\n"


def identities_picture() -> bytes:
    """Draw which spot of the example is consistent with which dye, as its report does."""
    found = lanewise.identify(lanewise.measure(lanewise.to_frame(lanewise.read(EXAMPLE))))
    return lanewise.identities_figure(found, "identities").draw("svg")


def calibration() -> types.ModuleType:
    """Load the script beside this one that simulates studies and draws what came of them."""
    spec = importlib.util.spec_from_file_location("lanewise_docs_calibration", DOCS / "calibration.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def identification_page() -> str:
    """Put the rows of the claims made with 90 % into the page."""
    text = (DOCS / "explanation" / "identification.md").read_text(encoding="utf-8")
    marks = r"(<!-- claims with 90 %, by docs/remake.py -->\n).*?(<!-- end of claims -->)"
    rows = calibration().near_ninety()
    return re.sub(marks, lambda found: f"{found[1]}\n{rows}\n\n{found[2]}", text, flags=re.DOTALL)


def map_picture() -> bytes:
    """Draw the two systems of the example as a map, as the report of a comparison does."""
    compared = lanewise.compare(lanewise.measure(lanewise.to_frame(lanewise.read(EXAMPLE))))
    ester, butanol = compared.systems
    return lanewise.system_map(compared, ester, butanol, "system-map", labels=("the ester", "the butanol")).draw("svg")


def strength_picture() -> bytes:
    """Draw Rf against strength for the leaf readings, as the report of a choice does."""
    study = lanewise.read(EXAMPLE.with_name("leaf_systems.csv"))
    found = lanewise.measure(lanewise.to_frame(study))
    predicted = lanewise.predict_rf(found, lanewise.composition_table(study))
    return lanewise.strength_figure(predicted, "acetone in heptane", "strength").draw("svg")


def drawing(name: str) -> bytes:
    """Draw one of the pictures in drawings.py."""
    made: bytes = runpy.run_path(str(DOCS / "drawings.py"))[name]()
    return made


def flags_page() -> str:
    """Give each flag of the reader of photographs its sentence and its advice, by what it does to the numbers."""
    from lanewise_photo.flags import SENTENCES

    parts = [
        "# What each flag of a photograph means",
        NOTICE,
        "The package `lanewise-photo` says of each thing that may be wrong what it is and what to do about it.\n"
        "A flag stands in the note of the plate, the lane or the spot that it speaks of, with its code first, "
        "often with the number found and its limit; `lanewise_photo.flags.flags_in` reads the codes out of a note.\n"
        "How such pictures are taken well is told in {doc}`/how-to/photograph-a-plate`.",
    ]
    for severity, (title, text) in SEVERITIES.items():
        rows = [
            (f"`{code}`", f"{sentence[0].upper()}{sentence[1:]}.", advice, test)
            for code, (kind, sentence, advice, test) in sorted(SENTENCES.items())
            if kind == severity
        ]
        parts += [f"## {title}", text, _table(("Flag", "What it says", "What to do", "What is tested"), rows)]
    return "\n\n".join(parts) + "\n"


def columns_page() -> str:
    """Give each column of the three tables its name, unit and meaning."""
    parts = [
        "# Columns",
        NOTICE,
        "One name and one unit for each quantity, wherever it appears: in tables, labelled arrays and files.\n"
        "Lengths are in millimetres inside the library, whatever unit they came in; `1` is a pure number.\n"
        "How the headings of a file become these columns is told in {doc}`/how-to/marks-table`.",
        "## Marks: what was read",
        "One row a spot.\nGiven by {py:func}`lanewise.to_frame <lanewise.tables.marks.to_frame>`.\n"
        "Columns with other names are factors, such as `bench`.",
        _columns_table(MARKS),
        "### Context: how it was read",
        "Part of the same table, where they are known.",
        _columns_table(CONTEXT),
        "## Errors that readings share",
        "Five columns for each error that moves all positions of a plate together "
        "({py:class}`SharedError <lanewise.model.plates.SharedError>`); its name stands for `NAME`.",
        _columns_table(shared_columns("NAME")),
        "## Spots: what follows for each spot",
        "One row for each row of the marks.\n"
        "Attribute `spots` of {py:class}`Measurement <lanewise.analyses.measure.Measurement>`.",
        _columns_table(SPOTS),
        "## Pairs: what follows for each two neighbours",
        "One row for each two neighbours in a lane, counted from the origin.\n"
        "Attribute `pairs` of {py:class}`Measurement <lanewise.analyses.measure.Measurement>`.",
        _columns_table(PAIRS),
    ]
    return "\n\n".join(parts) + "\n"


def headings_table() -> str:
    """List for each column of the marks the headings under which it is understood."""
    columns = {column.name: column for column in (*MARKS, *CONTEXT)}
    rows = [
        (f"`{name}`", ", ".join(f"`{spelling}`" for spelling in spellings), columns[name].meaning)
        for name, spellings in SPELLINGS.items()
    ]
    return f"{NOTICE}\n\n" + _table(("Column", "Headings that are understood, without unit", "Meaning"), rows) + "\n"


def command_line_page() -> str:
    """Describe the commands, the built-in formats and the built-in styles, with all their options."""
    own = make_registry(discover=False)
    parts = [
        "# Command line",
        NOTICE,
        f"{app.info.help}\n{app.info.epilog}",
        "Each command is also `python -m lanewise ...`, and `lanewise COMMAND --help` prints what stands here.\n"
        "Faults of files are listed one a line: file, row, column, what was wanted, what was given, what to do.\n"
        "Several files given to one command are read as one study.",
        "`lanewise --version` prints the version; `--install-completion` and `--show-completion` serve the shell.",
        *_commands(),
        "## Import formats",
        "Chosen with `--format NAME` or found out from the file; their options are given with `--option NAME=VALUE`.",
    ]
    for entry in own.formats.values():
        endings = ", ".join(f"`{suffix}`" for suffix in entry.item.suffixes)
        parts += _offer(entry.name, entry.item.title, f"Endings: {endings}.", entry.item.description)
        parts += _options(describe_options(entry.item.options))
    parts += [
        "## Report styles",
        "Chosen with `--style NAME` or by the ending of `--out`; their options are given with "
        "`--style-option NAME=VALUE`.",
    ]
    for style in own.styles.values():
        parts += _offer(style.name, style.item.title, f"Ending: `{style.item.suffix}`.", style.item.description)
        parts += _options(describe_options(style.item.options))
    return "\n\n".join(parts) + "\n"


def checks_list(contract: type[Contract]) -> str:
    """Name the checks that a plugin has to pass, each with what it demands."""
    lines = [
        f"- `{check.name}`: {check.demand}" for check in sorted(contract.checks().values(), key=lambda one: one.name)
    ]
    return f"{NOTICE}\n\n" + "\n".join(lines) + "\n"


def testing_page() -> str:
    """Put the checks of both contracts into the page of the kit."""
    text = (DOCS / "reference" / "testing.md").read_text(encoding="utf-8")
    for contract in (ImportFormatContract, ReportStyleContract):
        rows = [(f"`{name}`", check.demand, check.todo) for name, check in sorted(contract.checks().items())]
        table = _table(("Check", "Demands", "What to do"), rows)
        marks = rf"(<!-- checks: {contract.__name__} -->\n).*?(<!-- end of checks -->)"
        text = re.sub(marks, lambda found, table=table: f"{found[1]}\n{table}\n\n{found[2]}", text, flags=re.DOTALL)
    return text


def _columns_table(columns: Iterable[Column]) -> str:
    rows = [
        (f"`{column.name}`", column.kind, f"`{column.unit}`" if column.unit else "", column.meaning)
        for column in columns
    ]
    return _table(("Column", "Kind", "Unit", "Meaning"), rows)


def _commands() -> Iterator[str]:
    for command in app.registered_commands:
        function = command.callback
        assert function is not None
        name = command.name or function.__name__.replace("_", "-")
        summary, _, example = (inspect.getdoc(function) or "").partition("\n\nExample: ")
        yield f"## lanewise {name}"
        yield " ".join(summary.split())
        if example:
            yield f"```sh\n{example}\n```"
        parameters = inspect.signature(function, eval_str=True).parameters.values()
        rows = [_parameter(parameter) for parameter in parameters]
        if rows:
            yield _table(("Argument or option", "What it does", "Default"), rows)


def _parameter(parameter: inspect.Parameter) -> tuple[str, str, str]:
    (info,) = parameter.annotation.__metadata__
    needed = parameter.default is inspect.Parameter.empty
    if isinstance(info, ArgumentInfo):
        (kind, *_) = typing.get_args(parameter.annotation)
        several = "..." if typing.get_origin(kind) is list else ""
        return (f"`{info.metavar}{several}`", info.help, "must be given")
    stated = [text for text in (info.default, *(info.param_decls or ())) if str(text).startswith("--")]
    flag = stated[0] if stated else "--" + parameter.name.replace("_", "-")
    value = "" if parameter.default is False else " " + (info.metavar or _placeholder(parameter.annotation))
    said = re.sub(r"--[a-z-]+", r"`\g<0>`", info.help)  # or two hyphens become a dash
    if needed:
        return (f"`{flag}{value}`", said, "must be given")
    return (f"`{flag}{value}`", said, "" if parameter.default is False else _default(parameter.default))


def _default(value: object) -> str:
    if isinstance(value, bool):
        return "`yes`" if value else "`no`"
    return "" if value in (None, "") else f"`{value}`"


def _placeholder(annotation: object) -> str:
    (kind, *_) = typing.get_args(annotation)
    if isinstance(kind, types.UnionType):
        kind = next(part for part in typing.get_args(kind) if part is not type(None))
    return {Path: "PATH", str: "TEXT", float: "NUMBER", int: "NUMBER"}[kind]


def _offer(name: str, title: str, endings: str, description: str) -> list[str]:
    return [f"### {name}", f"{title}.\n{description}\n{endings}"]


def _options(infos: Iterable[OptionInfo]) -> list[str]:
    rows = [(f"`{info.name}`", f"{info.help} ({info.wanted})", _default(info.default)) for info in infos]
    return [_table(("Option", "What it does", "Default"), rows)] if rows else ["It has no options."]


def _table(header: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    lines = [list(header), *(list(row) for row in rows)]
    lines.insert(1, ["---"] * len(lines[0]))
    return "\n".join("| " + " | ".join(cell.replace("|", r"\|") for cell in line) + " |" for line in lines)


GENERATED: dict[str, Callable[[], str | bytes]] = {
    "images/plate.svg": plate_picture,
    "images/rf-by-system.svg": chart_picture,
    "images/sheet.svg": sheet_picture,
    "images/identities.svg": identities_picture,
    "images/calibration.svg": lambda: calibration().picture(),
    "explanation/identification.md": identification_page,
    "images/strength.svg": strength_picture,
    "images/system-map.svg": map_picture,
    "images/photo-sheet.svg": lambda: drawing("sheet"),
    "images/photo-camera.svg": lambda: drawing("camera"),
    "reference/photo_flags.md": flags_page,
    "reference/columns.md": columns_page,
    "reference/command-line.md": command_line_page,
    "how-to/_headings.md": headings_table,
    "reference/_distances.md": distances_table,
    "reference/testing.md": testing_page,
    "hooks/_import-format-checks.md": lambda: checks_list(ImportFormatContract),
    "hooks/_report-style-checks.md": lambda: checks_list(ReportStyleContract),
}
"""Each generated file of this folder, with the function that makes it."""


def main() -> None:
    for name, make in GENERATED.items():
        content = make()
        path = DOCS / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))


if __name__ == "__main__":
    main()
