"""The catalogue of tubes: dimensions against published tables, and the spellings a fitter uses."""

import pytest
from fluids.piping import nearest_pipe

from core.errors import Refusal
from core.media.tubes import material_of, materials, sizes, tube_of
from tests.verification.checks import Agrees

SUBJECT = "Tubes, fittings and insulation"

INCH = 0.0254
STANDARDS = {"copper": "ASTM B88, Table 1", "pex": "ASTM F876", "cpvc": "ASTM D2846 (from memory)"}


@pytest.mark.parametrize(
    ("material", "size", "bore", "outside"),
    [
        # source: ASTM B88 Table 1, inside diameters as printed
        ("copper_k", "1/2 in", 0.527, 0.625),
        ("copper_k", "3/4 in", 0.745, 0.875),
        ("copper_k", "1 1/4 in", 1.245, 1.375),
        ("copper_l", "1/2 in", 0.545, 0.625),
        ("copper_l", "3/4 in", 0.785, 0.875),
        ("copper_l", "1 in", 1.025, 1.125),
        ("copper_l", "4 in", 3.905, 4.125),
        ("copper_m", "3/4 in", 0.811, 0.875),
        ("copper_m", "2 in", 2.009, 2.125),
        # source: ASTM F876, minimum wall
        ("pex", "1/2 in", 0.485, 0.625),
        ("pex", "3/4 in", 0.681, 0.875),
        ("pex", "1 in", 0.875, 1.125),
        # source: ASTM D2846 Table 1, from memory
        ("cpvc", "3/4 in", 0.715, 0.875),
    ],
)
def test_inch_tubes_have_their_published_bore(
    agrees: Agrees, material: str, size: str, bore: float, outside: float
) -> None:
    tube = tube_of(material, size)
    assert tube.outside == pytest.approx(outside * INCH, abs=2e-7)
    what = f"bore of {size} {material.replace('_', ' ')}"
    agrees(what, tube.bore / INCH, bore, "in", within=1e-5, source=STANDARDS[material.partition("_")[0]])


@pytest.mark.parametrize("schedule", ["40", "80"])
@pytest.mark.parametrize(
    ("size", "inches"), [("1/2 in", 0.5), ("1 in", 1), ("1 1/4 in", 1.25), ("2 in", 2), ("4 in", 4)]
)
def test_steel_pipe_agrees_with_the_library(agrees: Agrees, schedule: str, size: str, inches: float) -> None:
    # source: ASME B36.10M as tabulated by fluids
    _, inside, outside, _ = nearest_pipe(NPS=inches, schedule=schedule)
    tube = tube_of(f"steel_{schedule}", size)
    asme = "ASME B36.10M as tabulated by package fluids"
    agrees(f"bore of {size} steel, schedule {schedule}", tube.bore, inside, "m", within=1e-7, source=asme)
    assert tube.outside == pytest.approx(outside, abs=1e-7)


@pytest.mark.parametrize(
    ("material", "size", "bore_mm"),
    [("copper_en", "22x1", 20.0), ("copper_en", "28 x 1.5 mm", 25.0), ("pex_metric", "16 x 2 mm", 12.0)],
)
def test_metric_tubes_are_outside_less_two_walls(material: str, size: str, bore_mm: float) -> None:
    # source: EN 1057 Table 1; EN ISO 15875-2 from memory
    assert tube_of(material, size).bore == pytest.approx(bore_mm / 1000.0, abs=1e-9)


@pytest.mark.parametrize("material", ["copper_k", "copper_l", "copper_m", "steel_40", "pex"])
def test_sizes_go_from_small_to_large(material: str) -> None:
    bores = [tube_of(material, size).bore for size in sizes(material)]
    assert bores == sorted(bores)
    assert len(set(bores)) == len(bores) >= 7


def test_walls_of_copper_grow_thinner_from_k_over_l_to_m() -> None:
    # source: ASTM B88, the types share their outside diameter
    for size in sizes("copper_m"):
        k, l, m = (tube_of(name, size) for name in ("copper_k", "copper_l", "copper_m"))  # noqa: E741
        assert k.outside == l.outside == m.outside
        assert k.bore < l.bore < m.bore


@pytest.mark.parametrize(
    ("material", "micrometres"), [("copper_l", 1.5), ("pex", 1.5), ("steel_40", 45.7), ("copper_en", 1.5)]
)
def test_roughness_is_the_published_one(material: str, micrometres: float) -> None:
    # source: Moody, Trans. ASME 66 (1944): drawn tubing 0.000005 ft, commercial steel 0.00015 ft
    assert tube_of(material, sizes(material)[3]).roughness == pytest.approx(micrometres * 1e-6)
    assert material_of(material).roughness_source


@pytest.mark.parametrize(
    ("material", "nominal", "spellings"),
    [
        (
            "copper_l",
            "3/4 in",
            ["3/4in", "3/4 in.", '3/4"', "¾ in", "¾", "0.75 in", ".75 in", "3/4-in", " 3/4 IN "],
        ),
        ("pex", "1 1/4 in", ["1-1/4 in", "1-1/4in", "1¼ in", "1.25 in", "1 1/4", "1 1/4 inch", "5/4 in"]),
        ("steel_40", "2 in", ["2in", "2.0 in", "2 inches", "2″"]),
        ("copper_en", "22 x 1 mm", ["22x1", "22 x 1", "22×1 mm", "22x1.0mm", "22 mm", "22mm", "22"]),
        ("copper_en", "28 x 0.9 mm", ["28x0.9", "28 x .9 mm"]),
        ("pex_metric", "16 x 2 mm", ["16 mm", "16x2.0"]),
    ],
)
def test_equivalent_spellings_name_one_tube(material: str, nominal: str, spellings: list[str]) -> None:
    for spelling in spellings:
        assert tube_of(material, spelling).nominal == nominal, spelling


def test_every_size_is_found_by_its_own_name_and_has_a_source() -> None:
    for material in materials():
        for size in sizes(material):
            tube = tube_of(material, size)
            assert (tube.material, tube.nominal) == (material, size)
            assert 0.0 < tube.bore < tube.outside
            assert tube.source


def test_every_metric_size_has_one_usual_wall() -> None:
    for material in ("copper_en", "pex_metric"):
        for outside in {size.split(" x ")[0] for size in sizes(material)}:
            assert tube_of(material, f"{outside} mm").nominal.startswith(f"{outside} x ")


@pytest.mark.parametrize(
    ("material", "size", "message"),
    [
        (
            "copper_l",
            "7/8 in",
            r"tube\.size: found 7/8 in; expected a size of copper_l, nearest first: (3/4|1) in, (3/4|1) in",
        ),
        ("copper_en", "22x2", r"nearest first: 22 x 1\.2 mm, 22 x 1 mm"),
        ("copper_l", "22 mm", "copper_l such as"),
        ("copper_en", "3/4 in", "copper_en such as"),
        ("copper_l", "22x1", "copper_l such as"),
        ("pex", "large", "pex such as"),
        ("pex", "", "pex such as"),
        ("pex", "3/0 in", "pex such as"),
        ("copper", "1 in", r"copper_k, copper_l.*Did you mean copper_"),
    ],
)
def test_an_unknown_tube_is_refused_with_what_there_is(material: str, size: str, message: str) -> None:
    with pytest.raises(Refusal, match=message):
        tube_of(material, size)
