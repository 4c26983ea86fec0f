"""No machine path, no unlisted host, no unit suffix inside; the rules are shown able to fail.

Samples of what is forbidden are put together from pieces, so that this file passes its own rules.
"""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest
from tools.names import ROOT, findings, suffix_findings, text_findings

SLASH = "/"


def test_the_tree_is_clean() -> None:
    assert findings(ROOT) == []


@pytest.mark.parametrize(
    "path", ["work/main/x.csv", "tmp/y", "home/somebody/z", "root/.cache", "Users/somebody", "opt/thing"]
)
def test_a_path_of_one_machine_is_found(path: str) -> None:
    assert list(text_findings("a.md", f"see {SLASH}{path}")) != []


@pytest.mark.parametrize("text", ["a/work/main", "docs/tmp/y", "~/data", "the /jobs/3 page", "and/or work"])
def test_other_paths_are_let_be(text: str) -> None:
    assert list(text_findings("a.md", text)) == []


@pytest.mark.parametrize("host", ["files.somewhere-else.org", "cdn.somewhere.net", "LOCALHOST.evil.com"])
def test_an_unlisted_host_is_found(host: str) -> None:
    assert list(text_findings("a.html", f'<script src="https:{SLASH}/{host}/x.js">')) == [
        f"a.html:1: host {host} is not on the list in tools/names.py"
    ]


@pytest.mark.parametrize("host", ["localhost:8000", "shop.invalid", "json-schema.org/draft"])
def test_a_listed_or_reserved_host_is_let_be(host: str) -> None:
    assert list(text_findings("a.html", f"http:{SLASH}/{host}")) == []


@pytest.mark.parametrize("option", ["--index-url x", "--extra-index-url=x", "--find-links x"])
def test_a_requirements_list_with_an_index_is_found(option: str) -> None:
    assert list(text_findings("requirements/run.txt", option)) == [
        "requirements/run.txt:1: a requirements list names no index"
    ]


@pytest.mark.parametrize(
    ("code", "name"),
    [
        ("def float_level_mm() -> None: ...", "float_level_mm"),
        ("def flow(pressure_kpa: float) -> None: ...", "pressure_kpa"),
        ("def flow(*, bore_thou: float) -> None: ...", "bore_thou"),
        ("emf_mv = 450", "emf_mv"),
        ("for speed_rpm in (1, 2): ...", "speed_rpm"),
        ("class Sensor:\n    emf_mV: float", "emf_mV"),
        ("self.angle_deg = 3", "angle_deg"),
        ("x = [a_hz for a_hz in y]", "a_hz"),
        ("if (n_ppm := 3): ...", "n_ppm"),
        ("JET_MM = 3", "JET_MM"),
        ("lambda bore_mm: bore_mm", "bore_mm"),
    ],
)
def test_a_unit_suffix_is_found_wherever_a_name_is_bound(code: str, name: str) -> None:
    found = list(suffix_findings("physics/x.py", code))
    assert len(found) == 1
    assert f"{name} ends in a unit" in found[0]


@pytest.mark.parametrize(
    "code", ["spa = 1", "float_level = 2", "_mm = 3", "flow_in = 4", "f(bore_mm=3)", "bar = 5"]
)
def test_other_names_are_let_be(code: str) -> None:
    assert list(suffix_findings("physics/x.py", code)) == []


def test_the_suffix_rule_reaches_the_inside_only(tmp_path: Path) -> None:
    subprocess.run(["git", "init", "-q", str(tmp_path)], check=True)
    for part in ("physics", "evidence"):
        folder = tmp_path / "src" / "dwellwright" / part
        folder.mkdir(parents=True)
        (folder / "x.py").write_text("bore_mm = 1\n", encoding="utf-8")
    assert findings(tmp_path) == [
        "src/dwellwright/physics/x.py:1: bore_mm ends in a unit; inside, a bare name is SI"
    ]
