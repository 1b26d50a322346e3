"""The words of site, systems, fluids, pipes and cases: each is read, and each can be asked of the plant."""

import json
from dataclasses import fields

import pytest

from core import commands, units
from core.errors import Refusal
from core.plant.model import Case, CaseValues, Pipe, SiteValues, System
from core.vocabulary import default_si, to_si
from core.vocabulary.document import CASE, FLUID, FLUIDS, INSULATION, PIPE, SITE, SYSTEM

TABLES = {
    "site": SITE, "system": SYSTEM, "fluid": FLUID, "pipe": PIPE, "insulation": INSULATION, "case": CASE,
}  # fmt: skip
QUANTITIES = [
    (table, name)
    for table, props in TABLES.items()
    for name, prop in props.items()
    if prop.type == "quantity"
]


@pytest.mark.parametrize(("table", "name"), QUANTITIES)
def test_ends_of_the_range_and_the_typical_value_are_taken_and_what_lies_beyond_is_not(table, name):
    prop = TABLES[table][name]
    low, high = to_si(prop, prop.low), to_si(prop, prop.high)
    assert low < high
    if prop.typical:
        assert low <= to_si(prop, prop.typical) <= high
    if prop.default is not None:
        assert low <= default_si(prop) <= high
    base = units.unit_for(prop.dimension, "si")
    for beyond in (f"-1e12 {base}", f"1e12 {base}"):
        with pytest.raises(Refusal, match="Out of range"):
            to_si(prop, beyond, f"{table}.{name}")


def test_every_word_is_a_field_of_what_it_describes():
    assert list(SITE) == list(SiteValues._fields)
    for table, described in ((PIPE, Pipe), (SYSTEM, System), (CASE, Case)):
        assert table.keys() <= {field.name for field in fields(described)}
    assert set(CaseValues._fields) <= CASE.keys()
    assert {key for needed in FLUIDS.values() for key in needed} <= FLUID.keys()


def test_the_table_of_kinds_lists_them_as_data_and_as_text(capsys):
    assert commands.main(["kinds", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    for name, table in TABLES.items():
        assert data[name]["properties"].keys() == table.keys()
    assert data["site"]["properties"]["altitude"]["range"] == ["-500 m", "9000 m"]
    assert data["pipe"]["properties"]["stage"]["choices"][0] == "existing"
    assert commands.main(["kinds"]) == 0
    text = capsys.readouterr().out
    assert "SITE\n    outdoor_design" in text
    assert "hours_per_year" in text
