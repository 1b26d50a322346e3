"""The property tables in the tree are what the script makes from the libraries."""

import csv

import numpy as np
import pytest

from tests.tools import make_media_tables as maker


def _table(name: str) -> list[list[str]]:
    lines = (maker.MEDIA / name).read_text(encoding="utf-8").splitlines()
    return list(csv.reader(line for line in lines if not line.startswith("#")))[1:]


@pytest.mark.parametrize(("name", "code"), [("propylene_glycol.csv", "APG"), ("ethylene_glycol.csv", "AEG")])
def test_glycol_table_is_as_made(name: str, code: str) -> None:
    kept, made = _table(name), maker.glycol_rows(code)
    assert [row[:1] + row[2:4] for row in kept] == [row[:1] + row[2:4] for row in made]
    figures = [[1, 4, 5, 6, 7]]
    np.testing.assert_allclose(
        np.array(kept)[:, figures].astype(float), np.array(made)[:, figures].astype(float), rtol=1e-6
    )


def test_water_table_is_as_made() -> None:
    kept, made = np.array(_table("water.csv"), float), np.array(maker.water_rows(), float)
    np.testing.assert_allclose(kept, made, rtol=1e-7)


@pytest.mark.parametrize("name", ["water.csv", "propylene_glycol.csv", "ethylene_glycol.csv"])
def test_each_table_names_source_and_version(name: str) -> None:
    head = (maker.MEDIA / name).read_text(encoding="utf-8").splitlines()[0]
    assert head.startswith("# ")
    assert "Source: " in head
    assert any(f"{library} " in head for library in ("iapws", "CoolProp"))
