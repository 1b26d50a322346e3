"""What accepting an option would set is a valid plant, and options say in their unit what they are."""

from __future__ import annotations

import importlib

import pytest

from core.plant.validity import require
from core.sizing.trial import with_props
from core.working import show_value
from tests.support.sizes import FAMILIES, SAMPLES, context_of, sample

ENDS = (
    "_m3_s",
    "_m3",
    "_pa",
    "_w",
    "_k",
    "_c",
    "_w_m2",
    "_w_k",
    "_s",
    "_h",
    "fraction",
    "_ratio",
    "ness",
    "_kg_s",
)


@pytest.mark.parametrize("name", SAMPLES)
def test_options_can_be_taken(name: str) -> None:
    context = context_of(name)
    taken = 0
    for family in FAMILIES:
        for sized in importlib.import_module(f"core.sizing.families.{family}").size(context):
            assert sized.words.startswith((f"{sized.at}:", f"{sized.at}, ")) or sized.what == "antifreeze"
            assert sized.chosen == "" or any(option.name == sized.chosen for option in sized.options)
            assert len({option.name for option in sized.options}) == len(sized.options)
            if sized.value is not None and sized.dimension and not isinstance(sized.value, str):
                assert show_value(sized.value, sized.dimension, "us")
            for option in sized.options:
                assert all(key.endswith(ENDS) for key in option.figures), option.figures
                if option.props is not None:
                    require(with_props(sample(name), {sized.at: option.props}))
                    taken += 1
    assert taken > 3
