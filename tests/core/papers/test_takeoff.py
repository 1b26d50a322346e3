"""The takeoff against counts by hand or straight from the file; prices; spreadsheets of a stranger's file."""

import csv
import io
import json

import pytest
from openpyxl import load_workbook

from core.commands.takeoff import run
from core.errors import Refusal
from core.files.read import load, loads
from core.papers.change_costs import Costs
from core.papers.prices import Price, priced, read_prices
from core.papers.spreadsheet import as_csv, as_xlsx
from core.papers.takeoff import takeoff
from core.papers.takeoff_table import rows
from core.sizing.result import Option
from core.units import parse
from tests.plants.edits import SAMPLES

NAMES = ("bakery_loft", "kennel_clinic", "orchard_packhouse", "potting_shed", "school_annex")
FOOT = 0.3048


def pipe(name, start, end, size, **more):
    return {
        "id": name, "from": start, "to": end, "system": "s", "length": "10 ft",
        "tube": {"material": "copper_l", "size": size}, **more,
    }  # fmt: skip


def plant_of(items, pipes, system="s", **fluid):
    return loads(
        json.dumps(
            {
                "format": "wetside-plant", "version": 2, "title": "t", "units": "us",
                "systems": {system: {"use": "closed", "fluid": {"kind": "water", **fluid}}},
                "items": items, "pipes": [{**one, "system": system} for one in pipes],
            }
        )
    )  # fmt: skip


def small(**more):
    """A tee of three sizes, a size and a material that meet another, a valve larger than its tube."""
    items = [
        {"id": "J-1", "kind": "joint", "at": [0, 0]},
        {"id": "J-2", "kind": "joint", "at": [100, 0]},
        {"id": "J-3", "kind": "joint", "at": [200, 0]},
        {"id": "V-1", "kind": "shutoff", "at": [300, 0], "props": {"size": "1 in", "cv": 30}},
        {"id": "PG-1", "kind": "gauge", "at": [0, 100]},
        {"id": "PL-1", "kind": "plug", "at": [-100, 0]},
    ]
    pex = {"material": "pex", "size": "3/4 in"}
    pipes = [
        pipe("L-1", ["PL-1", "at"], ["J-1", "at"], "1 in", fittings={"tee_run": 1, "elbow_90": 2}),
        pipe("L-2", ["J-1", "at"], ["J-2", "at"], "1 in", fittings={"tee_run": 2}),
        pipe("L-3", ["J-1", "at"], ["PG-1", "at"], "1/2 in", fittings={"tee_branch": 1}),
        pipe("L-4", ["J-2", "at"], ["J-3", "at"], "3/4 in", **more),
        {**pipe("L-5", ["J-3", "at"], ["V-1", "a"], "3/4 in"), "tube": pex},
    ]
    return plant_of(items, pipes)


def counted(plant):
    return {(line.what, line.size): line.count for line in takeoff(plant).lines if line.unit == "ea"}


def test_fittings_of_a_small_plant_are_those_counted_by_hand():
    found = counted(small())
    copper = "Type L copper"
    assert (
        found[f"tee, {copper}", "1 in x 1 in x 1/2 in"] == 1
    )  # J-1; its tee_run and tee_branch are the same
    assert found[f"tee, {copper}, counted by its pipe alone", "1 in"] == 1  # L-2 counts two, one is drawn
    assert found[f"90° elbow, standard, {copper}", "1 in"] == 2
    assert found[f"reducer, {copper}", "1 in x 3/4 in"] == 1
    assert found[f"adapter, {copper} to PEX", "3/4 in x 3/4 in"] == 1
    assert found["reducer or adapter at a valve, PEX", "3/4 in x 1 in"] == 1
    assert found["shut-off valve", "1 in"] == 1
    assert found["pressure gauge", ""] == found["plug", ""] == 1


def test_tube_is_as_drawn_and_ordered_with_its_waste():
    (line,) = [x for x in takeoff(small(), 0.2).lines if x.what == "Type L copper tube" and x.size == "1 in"]
    assert line.length == pytest.approx(20 * FOOT)
    assert line.order == pytest.approx(24 * FOOT)


@pytest.mark.parametrize("name", NAMES)
def test_every_pipe_and_every_part_of_a_sample_is_in_it_once(name):
    raw = json.loads((SAMPLES / f"{name}.plant.json").read_text("utf-8"))
    lines = takeoff(loads(json.dumps(raw))).lines
    drawn = sum(parse(each["length"], "length") for each in raw["pipes"] if not each.get("joined"))
    runs = [x for x in lines if x.group == "tube" and x.count is None]
    assert sum(x.length for x in runs) == pytest.approx(drawn)
    bought = {at for x in lines if x.group not in ("fittings", "tube", "insulation", "fluid") for at in x.at}
    loops = {at for x in lines if x.group == "tube" and x.count is not None for at in x.at}
    no_part = {"joint", "room", "load", "cold_main"}
    wanted = {each["id"] for each in raw["items"] if each["kind"] not in no_part}
    assert (bought | loops) - {"PL-1"} == wanted - {"PL-1"}
    tees = sum(x.count for x in lines if x.what.startswith("tee") and "alone" not in x.what)
    ends = {each["id"]: 0 for each in raw["items"] if each["kind"] == "joint"}
    for each in raw["pipes"]:
        for end in (each["from"], each["to"]):
            ends[end[0]] = ends.get(end[0], 0) + (end[0] in ends)
    assert tees == sum(max(0, ends[each["id"]] - 2) for each in raw["items"] if each["kind"] == "joint")


def test_what_is_there_is_not_ordered_and_what_is_bought_is_not_bought_again():
    plant = small(stage="existing")
    assert "L-4" in takeoff(plant).existing
    assert ("3/4 in", "Type L copper tube") not in {(x.size, x.what) for x in takeoff(plant).lines}
    (line,) = [
        x
        for x in takeoff(small(stage="bought")).lines
        if x.what == "Type L copper tube" and x.size == "3/4 in"
    ]
    assert (line.length, line.order) == (pytest.approx(10 * FOOT), 0.0)


def test_antifreeze_is_its_share_of_the_water_content():
    items = [{"id": f"J-{n}", "kind": "joint", "at": [100 * n, 0]} for n in (1, 2)]
    plant = plant_of(
        items, [pipe("L-1", ["J-1", "at"], ["J-2", "at"], "1 in")], kind="propylene_glycol", fraction=0.4
    )
    glycol, content = [x for x in takeoff(plant).lines if x.group == "fluid"]
    bore = 1.025 * 0.0254  # ASTM B88, 1 in Type L
    assert content.volume == pytest.approx(3.14159265 / 4 * bore**2 * 10 * FOOT, rel=1e-3)
    assert glycol.volume == pytest.approx(0.4 * content.volume)


def test_prices_make_costs_and_the_closest_price_counts(tmp_path):
    path = tmp_path / "prices.csv"
    path.write_text(
        "what,size,unit,price\nType L copper tube,1 in,ft,2\nType L copper tube,,ft,1\nbidet,,ea,9\n", "utf-8"
    )
    found = priced(takeoff(small(), 0.0), read_prices(path))
    costs = {line.size: line.cost for line in found.lines if line.what == "Type L copper tube"}
    assert costs == {"1/2 in": pytest.approx(10), "3/4 in": pytest.approx(10), "1 in": pytest.approx(40)}
    assert found.cost == pytest.approx(60)
    assert any("bidet" in text for text in found.remarks)


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("what,price\na,1\n", "row 1"),
        ("what,size,unit,price\na,,ea,1;5\n", "row 2.price"),
        ("what,size,unit,price\na,,ea,-5\n", "row 2.price"),
        ("what,size,unit,price\na,,feet,5\n", "row 2.unit"),
        ("what,size,unit,price\na,,ea\n", "row 2"),
        ("what,size,unit,price\n,,ea,2\n", "row 2.what"),
    ],
)
def test_a_price_list_that_is_not_understood_is_refused_at_its_row(tmp_path, text, place):
    path = tmp_path / "prices.csv"
    path.write_text(text, "utf-8")
    with pytest.raises(Refusal, match=place):
        read_prices(path)


def test_no_cell_of_a_strangers_file_becomes_a_formula():
    items = [
        {"id": "J-1", "kind": "joint", "at": [0, 0]},
        {"id": "P-1", "kind": "circulator", "at": [90, 0], "props": {"connection": '=HYPERLINK("x")'}},
    ]
    plant = plant_of(items, [pipe("L-1", ["J-1", "at"], ["P-1", "in"], "1 in")])
    table = rows(takeoff(plant), "us")
    table.append(("=1+1\u202e", "@SUM(A1)", "+1", 1.0, 1.0, "-2", "\t=1", None, None))
    read = list(csv.reader(io.StringIO(as_csv(table).decode("utf-8-sig"))))
    assert not [cell for row in read for cell in row if cell.strip("\t ")[:1] in tuple("=+@-")]
    sheet = load_workbook(io.BytesIO(as_xlsx("takeoff", table))).active
    cells = [cell for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert {cell.data_type for cell in cells} <= {"s", "n"}
    assert any(str(cell.value).startswith("=1+1\\u202e") for cell in cells)


def test_the_command_writes_what_json_says(tmp_path, capsys):
    file, out = str(SAMPLES / "potting_shed.plant.json"), tmp_path / "t.csv"
    assert run([file, "--json"]) == 0
    lines = json.loads(capsys.readouterr().out)["lines"]
    assert set(lines[0]) >= {"group", "what", "size", "count", "length_m", "unit", "cost"}
    assert run([file, "--csv", str(out)]) == 0
    assert len(out.read_text("utf-8-sig").splitlines()) == len(lines) + 1
    with pytest.raises(Refusal, match="never overwritten"):
        run([file, "--csv", file])


def test_a_choice_of_tube_costs_what_a_hand_adds_up() -> None:
    plant = load(SAMPLES / "potting_shed.plant.json")
    prices = [
        Price("Type L copper tube", "1/2 in", "m", 5.0, 2),
        Price("Type L copper tube", "3/4 in", "m", 8.0, 3),
        *(Price(what, "", "ea", 0.0, 4) for what in ("90° elbow", "tee", "union or adapter to equipment")),
        *(Price(what, "", "ea", 0.0, 5) for what in ("reducer or adapter at a valve", "reducer")),
    ]
    one = next(
        p for p in plant.pipes.values() if p.tube and p.tube.get("size") == "1/2 in" and p.insulation is None
    )
    larger = Option("3/4 in Type L copper", props={"tube": {"material": "copper_l", "size": "3/4 in"}})
    by_hand = one.si.length * 1.1 * (8.0 - 5.0)
    assert Costs(plant, prices).of_option([one.id], larger) == pytest.approx(by_hand)
    assert Costs(plant, prices[:1]).of_option([one.id], larger) is None
    assert Costs(plant, prices).of_option([one.id], Option("as drawn")) is None


def test_the_branch_of_a_tee_comes_last_also_where_it_is_the_largest():
    """The shed's relief stands on 3/4 in of a run of 1/2 in: listed as 3/4 x 1/2 x 1/2 it would not fit."""
    shed = counted(loads((SAMPLES / "potting_shed.plant.json").read_text("utf-8")))
    assert shed["tee, Type L copper", "1/2 in x 1/2 in x 3/4 in"] == 1
    assert shed["tee, Type L copper", "1/2 in"] == 8


def test_the_clinics_price_list_knows_all_but_its_fixtures():
    found = priced(takeoff(loads((SAMPLES / "kennel_clinic.plant.json").read_text("utf-8"))),
                   read_prices(SAMPLES / "kennel_clinic.prices.csv"))  # fmt: skip
    assert {line.what.split(",")[0] for line in found.unpriced} == {"fixture"}
    assert not any(price == 0.0 for price in (line.price for line in found.lines))
