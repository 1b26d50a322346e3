"""Guesses: read strictly, used like the text, remembered, and written back as they were typed."""

import copy
import json
import pickle

import pytest

from core.errors import Refusal
from core.files import journal, read, write
from core.plant.guesses import guesses_of, plant_guesses
from core.solve.solver import solve_plant
from core.vocabulary.guesses import Guess, GuessedNumber
from tests.support.small_plant import small


def changed(part, number, value, *keys):
    data = copy.deepcopy(small())
    place = data[part] if number is None else data[part][number]
    for key in keys[:-1]:
        place = place.setdefault(key, {})
    place[keys[-1]] = value
    return data


LENGTH = {"guess": "6 ft", "within": 0.3}
CIRCULATOR = next(n for n, item in enumerate(small()["items"]) if item["kind"] == "circulator")


@pytest.mark.parametrize(
    "data",
    [
        changed("pipes", 0, LENGTH, "length"),
        changed("pipes", 0, {"guess": 2, "within": 0.5}, "k"),
        changed("site", None, {"guess": "5 degF", "within": "6 delta_degF"}, "outdoor_design"),
        changed("items", CIRCULATOR, {"guess": 0.8, "within": 0.1}, "props", "speed"),
        changed(
            "items",
            CIRCULATOR,
            [["0 gpm", "19 ft_head"], ["8 gpm", {"guess": "15 ft_head", "within": 0.1}]],
            "props",
            "curve",
        ),
        changed("cases", 0, {"L-1": {"length": LENGTH}}, "set"),
    ],
    ids=["pipe", "number", "temperature", "speed", "inside a curve", "case"],
)
def test_a_guess_comes_back_as_it_was_typed(data):
    plant = read.from_data(data)
    text = write.dumps(plant)
    assert '{"guess": ' in text
    assert read.loads(text) == plant
    assert write.dumps(read.loads(text)) == text


def test_a_guess_counts_as_its_text_and_is_remembered():
    plain = read.from_data(changed("pipes", 0, "6 ft", "length"))
    plant = read.from_data(changed("pipes", 0, LENGTH, "length"))
    pipe = plant.pipes["L-1"]
    assert pipe.si == plain.pipes["L-1"].si
    assert pipe.length != plain.pipes["L-1"].length, "else taking a guess for sure would be no change"
    assert solve_plant(plant)[0].pipes == solve_plant(plain)[0].pipes
    (spread,) = guesses_of(pipe)
    assert (spread.path, spread.dimension) == ("length", "length")
    assert (spread.low, spread.high) == pytest.approx((0.7 * 1.8288, 1.3 * 1.8288))
    assert [one.at for one in plant_guesses(plant)] == ["L-1"]
    assert plant_guesses(plain) == ()


def test_a_guessed_temperature_is_off_by_a_difference():
    plant = read.from_data(changed("site", None, {"guess": "0 degC", "within": "3 K"}, "outdoor_design"))
    (found,) = plant_guesses(plant)
    assert (found.at, found.spread.path) == ("site", "outdoor_design")
    assert (found.spread.low, found.spread.high) == pytest.approx((270.15, 276.15))


@pytest.mark.parametrize(
    ("data", "path", "words"),
    [
        (changed("pipes", 0, {"guess": "6 ft"}, "length"), "pipes[0].length.within", "found nothing"),
        (changed("pipes", 0, {**LENGTH, "by": 1}, "length"), "pipes[0].length.by", "guess and within"),
        (changed("pipes", 0, {**LENGTH, "guess": "6 gpm"}, "length"), "pipes[0].length.guess", "is a flow"),
        (changed("pipes", 0, {**LENGTH, "within": 1.5}, "length"), "pipes[0].length.within", "from 0 to 1"),
        (changed("pipes", 0, {**LENGTH, "within": "3 K"}, "length"), "pipes[0].length.within", "from 0 to 1"),
        (changed("pipes", 0, {**LENGTH, "guess": None}, "length"), "pipes[0].length.guess", "found null"),
        (
            changed("site", None, {"guess": "0 degC", "within": 0.3}, "outdoor_design"),
            "site.outdoor_design.within",
            'such as "3 K"',
        ),
        (changed("items", CIRCULATOR, {"guess": "fixed", "within": 0.1}, "props", "control"), None, "one of"),
        (changed("items", CIRCULATOR, {"guess": 9.0, "within": 0.1}, "props", "speed"), None, "Out of range"),
        (
            changed("cases", 0, {"guess": "0 degC", "within": "3 K"}, "outdoor"),
            "cases[0].outdoor",
            "temperature",
        ),
    ],
)
def test_what_is_no_guess_is_refused_at_its_place(data, path, words):
    with pytest.raises(Refusal) as caught:
        read.from_data(data)
    assert words in str(caught.value)
    assert path is None or caught.value.path == path


def test_the_journal_and_other_processes_keep_guesses():
    plant = read.from_data(changed("pipes", 0, LENGTH, "length"))
    assert pickle.loads(pickle.dumps(plant)) == plant
    told = journal.differences(read.from_data(small()), plant)
    assert json.loads(json.dumps(told))["pipes"]["L-1"]["length"] == LENGTH


def test_a_guess_is_never_what_was_meant():
    assert Guess("6 ft", 0.3) != "6 ft"
    assert GuessedNumber(0.5, 0.1) != 0.5
    assert len({Guess("6 ft", 0.3), Guess("6 ft", 0.3), Guess("6 ft", 0.2)}) == 2
