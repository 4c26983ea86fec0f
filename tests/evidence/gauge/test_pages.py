"""The how-to pages of gas and gauges: every example is run, every table in them is read."""

import doctest
import re
from pathlib import Path

import pytest

from dwellwright.catalogue.gauge_items import gauge_items
from dwellwright.evidence.gas import read_gas
from dwellwright.evidence.gauge import read_gauges

PAGES = Path(__file__).resolve().parents[3] / "docs" / "how-to"
FENCE = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def blocks(name: str, language: str) -> list[str]:
    text = (PAGES / name).read_text(encoding="utf-8")
    return [body for kind, body in FENCE.findall(text) if kind == language]


@pytest.mark.parametrize("name", ["gas-readings.md", "gauge-readings.md", "without-the-special-gauge.md"])
def test_examples_say_what_comes_out(name: str) -> None:
    source = "\n".join(blocks(name, "pycon"))
    test = doctest.DocTestParser().get_doctest(source, {}, name, name, 0)
    assert len(test.examples) >= 5
    said: list[str] = []
    result = doctest.DocTestRunner().run(test, out=said.append)
    assert result.failed == 0, "".join(said)


def test_gas_table_on_the_page_is_read(tmp_path: Path) -> None:
    (table,) = blocks("gas-readings.md", "csv")
    path = tmp_path / "gas.csv"
    path.write_text(table, encoding="utf-8")
    assert len(read_gas(path)) == 2


def test_bench_sheet_on_the_page_is_read(tmp_path: Path) -> None:
    (table,) = blocks("gauge-readings.md", "csv")
    path = tmp_path / "bench.csv"
    path.write_text(table, encoding="utf-8")
    sheet = read_gauges(path)
    assert sheet.findings == ()
    assert len(sheet.readings) == 3
    assert sheet.readings["rod_rich_gauge"].tolerance == pytest.approx(5 * 0.0254e-3)


def test_items_on_the_page_are_known() -> None:
    text = (PAGES / "gauge-readings.md").read_text(encoding="utf-8")
    table = text[text.index("| item |") : text.index("## How sure")]
    named = re.findall(r"`(\w+)`", table)
    assert len(named) == 9
    assert set(named) <= set(gauge_items())
