"""A gauge study typed into a table, and its picture."""

from pathlib import Path

import pytest

from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.study_file import StudyTable, read_study, study_of

# invented: three rods, two hands, three readings each, in thousandths of an inch
ROWS = """part,hand,unit,reading_1,reading_2,reading_3
one,A,thou,100,101,100
two,A,thou,110,111,110
three,A,thou,95,95,96
one,B,thou,102,102,103
two,B,thou,112,113,112
three,B,thou,97,98,97
"""
THOU = 0.0254e-3


def study(folder: Path, text: str) -> StudyTable:
    path = folder / "study.csv"
    path.write_text(text, encoding="utf-8")
    return read_study(path)


def test_balanced_study_by_hand(tmp_path: Path) -> None:
    table = study(tmp_path, ROWS)
    assert len(table.values) == 18
    found = study_of(table)
    assert found.method.startswith("analysis of variance")
    # by hand: each cell has two equal readings and one a unit off, squares 2/3, six cells, 4 in all; the hands
    # differ by exactly 2 on every part, so no interaction: pooled 4 / 14; hands' mean square 9 * (1 + 1) = 18,
    # (18 - 4/14) / 9
    assert (found.repeatability / THOU) ** 2 == pytest.approx(4 / 14, rel=1e-9)
    assert (found.reproducibility / THOU) ** 2 == pytest.approx((18 - 4 / 14) / 9, rel=1e-9)


def test_blanks_are_solved_by_likelihood(tmp_path: Path) -> None:
    whole = study_of(study(tmp_path, ROWS))
    found = study_of(study(tmp_path, ROWS.replace("95,95,96", "95,,96")))
    assert found.method == "restricted maximum likelihood"
    assert found.repeatability == pytest.approx(whole.repeatability, rel=0.2)


def test_bad_cells_are_findings(tmp_path: Path) -> None:
    table = study(tmp_path, ROWS + "one,A,mm,x,1,1\nfour,B,V,1,1,1\n,B,thou,1,1,1\nfive,B,cubit,1,1,1\n")
    assert [one.where for one in table.findings] == [
        "study.csv, row 8, reading_1",
        "study.csv, row 9, unit",
        "study.csv, row 10",
        "study.csv, row 11, unit",
    ]
    assert len(table.values) == 20


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("part,unit,reading_1\n1,mm,2\n", "lacks `hand`"),
        ("part,hand,unit,reading_1\na,A,mm,2\nb,B,mm,2\n", "too small"),
        ("part,hand,unit,r1,r2\na,A,mm,2,2\nb,A,mm,2,2\na,B,mm,2,2\nb,B,mm,2,2\n", "all the same"),
        ("part,hand,unit,r1,r2\na,A,mm,1,1\nb,A,mm,2,2\na,B,mm,1,1\nb,B,mm,2,\n", "too coarse"),
        ("part,hand,unit,r1\n" + "a,A,mm,1\nb,B,mm,2\n" * 301, "too long"),
    ],
)
def test_useless_studies_are_refused(tmp_path: Path, text: str, words: str) -> None:
    with pytest.raises(InputFault, match=words):
        study_of(study(tmp_path, text))
