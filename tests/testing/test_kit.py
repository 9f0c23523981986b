"""The kit itself: cheap to import, needs pytest and hypothesis only where it says so, and speaks plainly."""

from __future__ import annotations

import subprocess
import sys

import pytest
from zoo import good, keeper

from lanewise.errors import PluginProblemWarning
from lanewise.formats import builtin as formats
from lanewise.styles import builtin as styles
from lanewise.testing import Example, ImportFormatContract, ReportStyleContract, isolated

LOADED = """
import sys
sys.modules["pytest"] = sys.modules["hypothesis"] = None  # an import of either fails
from lanewise.testing import Example, ImportFormatContract, ReportStyleContract, isolated
import lanewise.testing.reports, lanewise.testing.foreign, lanewise.testing.fresh
print([name for name in ("numpy", "pandas", "xarray", "scipy", "matplotlib") if name in sys.modules])
"""


class Sheet(keeper.SheetContract):
    plugin = good
    format = "good-sheet"


def test_importing_needs_neither_pytest_nor_hypothesis_and_loads_nothing_large():
    ran = subprocess.run([sys.executable, "-c", LOADED], capture_output=True, text=True, check=True)
    assert ran.stdout.split("\n")[0] == "[]"


def test_names_are_listed():
    import lanewise.testing as kit

    assert {"Example", "ImportFormatContract", "ReportStyleContract", "isolated"} <= set(dir(kit))
    with pytest.raises(AttributeError, match=r"'lanewise.testing' has no attribute 'Exampel'"):
        kit.Exampel  # noqa: B018


def test_the_names_that_authors_use():
    for name in ("units", "encodings", "size", "round_trip"):
        assert name in ImportFormatContract.checks()
    assert ImportFormatContract.rows == 1_000_000
    assert ImportFormatContract.memory_mb == 900
    assert dict(ReportStyleContract.options) == {}
    assert Example("bench-1.txt", b"", {}).options == {}


class TestIsolated:
    def test_only_what_was_given(self):
        assert [entry.full_name for entry in isolated(good).formats.values()] == ["zoo-good:good-sheet"]

    def test_with_the_built_in_ones(self):
        registry = isolated(good, built_in=True)
        assert {entry.name for entry in registry.formats.values()} == {"good-sheet", "marks-table", "study-record"}
        assert {"html", "good-page"} <= {entry.name for entry in registry.styles.values()}

    def test_modules_of_the_library_count_as_built_in(self):
        registry = isolated(formats, styles)
        assert all(plugin.distribution == "lanewise" for plugin in registry.plugins)
        assert isolated(formats).styles == {}

    def test_a_module_twice(self):
        with pytest.raises(ValueError, match=r"'zoo.good' was given twice"):
            isolated(good, good)

    def test_faults_raise(self):
        from zoo import untitled

        with pytest.raises(PluginProblemWarning, match="title wanted one line"):
            dict(isolated(untitled).formats)


def test_a_reason_skips_a_check_and_is_shown():
    contract = type("Other", (Sheet,), {"not_applicable": {"units": "it has millimetres only"}})
    with pytest.raises(pytest.skip.Exception, match="it has millimetres only"):
        contract().test_units()


def test_a_reason_does_not_switch_an_essential_check_off():
    contract = type("Other", (Sheet,), {"not_applicable": {"examples": "no time"}, "examples": lambda self: []})
    with pytest.raises(AssertionError, match="wanted: at least one example"):
        contract().test_examples()


def test_what_comes_after_a_failing_check_is_skipped():
    contract = type("Other", (Sheet,), {"format": "goood-sheet"})
    with pytest.raises(AssertionError, match=r"Did you mean 'good-sheet'\?"):
        contract().test_descriptor()
    with pytest.raises(pytest.skip.Exception, match="while test_descriptor fails"):
        contract().test_units()
    with pytest.raises(pytest.skip.Exception, match="while test_descriptor fails"):
        contract().test_examples()


@pytest.mark.parametrize("lacking", ["plugin", "format"])
def test_an_unfinished_contract_says_what_to_write(lacking):
    given = {"plugin": good, "format": "good-sheet"}
    del given[lacking]
    contract = type("Other", (keeper.SheetContract,), given)
    with pytest.raises(AssertionError, match=rf"Write {lacking} = "):
        contract().test_descriptor()


@pytest.mark.parametrize("method", ["in_unit", "large"])
def test_what_an_author_has_to_decide_on(method):
    contract = type("Other", (Sheet,), {method: getattr(ImportFormatContract, method)})
    name = {"in_unit": "units", "large": "size"}[method]
    with pytest.raises(AssertionError, match=rf"override {method}\(.*\), or declare '{name}' not applicable"):
        getattr(contract(), f"test_{name}")()


def test_cells_of_binary_files_are_not_guessed():
    class Binary(Sheet):
        def examples(self):
            return [Example("plate.sheet", super().examples()[0].data.decode().encode("utf-16"), keeper.MARKS)]

    for name in ("labels", "odd_cells", "huge_cell", "place"):
        with pytest.raises(pytest.skip.Exception, match=r"override (labelled|numbered)"):
            getattr(Binary(), f"test_{name}")()


def test_cells_that_the_author_replaces_are_used():
    class Own(Sheet):
        labelled_column = "sample"

        def labelled(self, label):
            return keeper.sheet_text(self.format, "mm", [("A", label, 85.0, 32.5), *keeper.LANES[1:]]).encode("utf-16")

        def numbered(self, text):
            good = keeper.sheet_text(self.format, "mm", keeper.LANES)
            return good.replace("32.5", text).encode("utf-16")

    for name in ("labels", "odd_cells", "huge_cell", "place"):
        getattr(Own(), f"test_{name}")()


class TestSize:
    def test_rows_of_the_environment(self, monkeypatch):
        monkeypatch.setenv("LANEWISE_KIT_ROWS", "50")
        seen = []
        contract = type("Other", (Sheet,), {"large": lambda self, rows: seen.append(rows) or Sheet.large(self, rows)})
        contract().test_size()
        assert seen == [50]

    def test_memory_is_not_asked_below_what_python_takes(self, monkeypatch):
        monkeypatch.setenv("LANEWISE_KIT_ROWS", "2000")
        type("Other", (Sheet,), {"memory_mb": 0.001})().test_size()

    def test_memory_of_all_rows_is_asked_as_stated(self):
        contract = type("Other", (Sheet,), {"memory_mb": 0.001})
        with pytest.raises(AssertionError, match=r"wanted: 20000 rows within 0 MB"):
            contract().test_size()

    def test_a_reader_that_fails_says_so(self):
        contract = type("Other", (Sheet,), {"large": lambda self, rows: b"no sheet"})
        with pytest.raises(AssertionError, match=r"exit code 1: .*UnreadableFile"):
            contract().test_size()
