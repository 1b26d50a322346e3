"""kinds, check-file and solve as programs: whole output, errors and exit codes, on a plant solved by hand."""

import json
import shutil
from pathlib import Path

import pytest

from tests.programs.conftest import Run

# A circulator with 6 m at rest, falling straight to 0 m at 2 L/s, drives a strainer that loses 3 m at 1 L/s,
# as the square of the flow. In L/s: 6 - 3 Q = 3 Q^2, so Q = 1 and the head 3 m. The tube of 40 mm: 0.80 m/s.
LOOP = Path(__file__).parent / "data" / "loop.plant.json"
RUNNING = """\
One loop · Running

pipe  from     to        flow        velocity   in       out      loss      pressure in
L-1   P-1.out  ST-1.in   1.000 L/s   0.00 m/s   20.0 °C  20.0 °C  0.00 kPa  129 kPa
L-2   J-1.at   ST-1.out  -1.000 L/s  -0.80 m/s  20.0 °C  20.0 °C  0.00 kPa  100 kPa
L-3   J-1.at   P-1.in    1.000 L/s   0.00 m/s   20.0 °C  20.0 °C  0.00 kPa  100 kPa
L-4   J-1.at   ET-1.at   0.000 L/s   0.00 m/s   20.0 °C  20.0 °C  0.00 kPa  100 kPa

item  kind            figures
P-1   circulator      flow 1.000 L/s, head 3.00 m, running, speed 1
ST-1  strainer        flow 1.000 L/s
J-1   joint           pressure 100 kPa, temperature 20.0 °C
ET-1  expansion tank  pressure 100 kPa, temperature 20.0 °C


Hot water scalds, and pressure, gas and electricity can kill. These are sums, not an approval: local code, \
the authority having jurisdiction and licensed trades decide.
"""


@pytest.fixture
def loop(folder: Path) -> Path:
    """A copy of the hand-solved plant in the folder the program runs in."""
    return Path(shutil.copy(LOOP, folder))


def test_check_file_says_what_was_read(wetside: Run, loop: Path):
    done = wetside("check-file", loop.name)
    said = 'loop.plant.json: "One loop", version 2: 5 items, 4 pipes, 1 system, 2 cases\n'
    assert (done.returncode, done.stdout, done.stderr) == (0, said, "")


def test_solve_shows_the_first_case_as_a_table(wetside: Run, loop: Path):
    done = wetside("solve", loop.name)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == RUNNING


def test_solve_json_is_the_contract(wetside: Run, loop: Path):
    done = wetside("solve", loop.name, "--all-cases", "--json")
    assert (done.returncode, done.stderr) == (0, "")
    running, standing = json.loads(done.stdout)["cases"]
    outer = {"case", "signals", "converged", "passes", "residual_kg_s", "pipes", "items", "notes"}
    assert set(running) == set(standing) == outer
    assert (running["case"], running["signals"], running["converged"]) == ("Running", {"SW-1": True}, True)
    assert running["items"]["P-1"]["flow_m3_s"] == pytest.approx(1.0e-3, rel=1e-6)
    assert running["items"]["P-1"]["head_m"] == pytest.approx(3.0, rel=1e-6)
    assert set(running["pipes"]["L-1"]) == {
        *("flow_m3_s", "velocity_m_s", "reynolds", "drop_pa", "temperature_in_c", "temperature_out_c"),
        *("pressure_in_pa", "pressure_out_pa"),
    }
    # 1 bar at the tank, and 3 m of 1000 kg/m3 more behind the circulator
    assert running["pipes"]["L-1"]["pressure_in_pa"] == pytest.approx(1.0e5 + 3.0 * 9806.65, rel=1e-6)
    assert running["pipes"]["L-2"]["flow_m3_s"] == pytest.approx(-1.0e-3, rel=1e-6)
    assert max(abs(pipe["flow_m3_s"]) for pipe in standing["pipes"].values()) < 1e-9  # the contract's zero
    assert standing["items"]["P-1"]["running"] is False
    assert standing["notes"]


def test_solve_one_named_case(wetside: Run, loop: Path):
    done = wetside("solve", loop.name, "--case", "Standing", "--json")
    assert [case["case"] for case in json.loads(done.stdout)["cases"]] == ["Standing"]
    refused = wetside("solve", loop.name, "--case", "Stand")
    assert (refused.returncode, refused.stdout) == (2, "")
    assert "Stand; expected one of Running, Standing" in refused.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["solve", "FILE", "--case", "Stand"], "--case: found Stand; expected one of Running, Standing"),
        (
            ["print", "FILE", "-o", "a.pdf", "--case", "Run"],
            "--case: found Run; expected one of Running, Standing",
        ),
        (["size", "FILE", "P-9"], "ID: found P-9; expected one of P-1, ST-1, J-1, ET-1"),
        (["call-sheet", "FILE", "--circuit", "P9"], "--circuit: found P9; expected one of P-1"),
        (["second-pump", "FILE", "--circuit", "X"], "--circuit: found X; expected one of P-1, ST-1"),
        (["second-pump", "FILE", "--beside", "X"], "--beside: found X; expected a circulator: one of P-1"),
    ],
)
def test_a_refused_choice_names_the_file_and_what_there_is(
    wetside: Run, loop: Path, words: list[str], said: str
):
    done = wetside(*(loop.name if word == "FILE" else word for word in words))
    assert (done.returncode, done.stdout) == (2, "")
    assert f"{loop.name}: {said}" in done.stderr
    assert done.stderr.count("\n") == 1


@pytest.mark.parametrize(
    ("old", "new", "parts"),
    [
        ('"turn"', "", []),
        ('"units": "si"', '"units": "si", "units": "us"', ["units", "found"]),
        ('"id": "J-1"', '"id": "J-1", "heigth": 1', ["items[2]", "heigth"]),
        ('"8 L"', '"8 bar"', ["items[3].props.volume", "8 bar"]),
        ('"8 L"', '"8,5 L"', ["items[3].props.volume", "8,5 L", "8.5"]),
        ('"run_when": "SW-1"', '"speed": NaN', ["NaN"]),
        ('"run_when": "SW-1"', '"speed": 1e400', ["1e400"]),
        ('["P-1", "out"]', '["P-1", "outt"]', ["pipes[0].from", "outt", "out"]),
        ('["P-1", "out"]', '["P-9", "out"]', ["pipes[0].from", "P-9"]),
        ('"id": "L-2"', '"id": "L-1"', ["pipes[1].id", "L-1"]),
    ],
)
def test_a_spoiled_file_is_refused_in_one_line(
    wetside: Run, loop: Path, old: str, new: str, parts: list[str]
):
    whole = loop.read_text(encoding="utf-8")
    if not new:  # cut off in the middle
        loop.write_text(whole[: len(whole) // 2], encoding="utf-8")
    else:
        assert old in whole
        loop.write_text(whole.replace(old, new, 1), encoding="utf-8")
    done = wetside("check-file", loop.name)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("loop.plant.json: ")
    assert done.stderr.count("\n") == 1
    assert "expected" in done.stderr
    assert [part for part in parts if part not in done.stderr] == []


def test_solve_refuses_in_the_same_words(wetside: Run, loop: Path):
    loop.write_text(loop.read_text(encoding="utf-8").replace('"8 L"', '"8 bar"'), encoding="utf-8")
    checked, solved = wetside("check-file", loop.name), wetside("solve", loop.name)
    assert (solved.returncode, solved.stdout, solved.stderr) == (2, "", checked.stderr)


def test_files_that_are_no_text_or_not_there(wetside: Run, folder: Path):
    (folder / "picture.plant.json").write_bytes(b"\x89PNG\r\n\x1a\n\x00\xff")
    for name in ("picture.plant.json", "gone.plant.json", "."):
        done = wetside("check-file", name)
        assert (done.returncode, done.stdout, done.stderr.count("\n")) == (2, "", 1)
        assert done.stderr.startswith(f"{name}: ")
        assert "expected a plant file" in done.stderr or "UTF-8 JSON, a plant file" in done.stderr


def test_kinds_as_data_and_as_text_name_the_same_kinds(wetside: Run):
    data, text = wetside("kinds", "--json"), wetside("kinds")
    assert (data.returncode, data.stderr, text.returncode, text.stderr) == (0, "", 0, "")
    kinds = json.loads(data.stdout)["kinds"]
    assert {"joint", "circulator", "exchanger", "manifold", "outdoor_reset"} <= set(kinds)
    assert kinds["circulator"]["ports"] == ["in", "out"]
    assert kinds["exchanger"]["properties"]["fouling"]["range"] == [0, 1]
    assert [name for name in kinds if f"\n{name} (" not in text.stdout] == []
