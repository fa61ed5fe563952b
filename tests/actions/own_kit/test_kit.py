"""Home measurements: each in one file, all checked before anything is written; what they are worth.

Expected values are by hand: a cylinder, a mass over a volume, IAPWS boiling points.
"""

from __future__ import annotations

import tomllib

import pytest

from spawnwright.actions.own_kit.bands import kit_bands
from spawnwright.actions.own_kit.kit import change_kit, measured, own_kit
from spawnwright.actions.own_kit.known import known_lines, open_questions
from spawnwright.actions.own_kit.questions import GROUPS, QUESTIONS
from spawnwright.actions.own_kit.sums import pot_power_w, thermometer_offset_c
from spawnwright.actions.own_kit.usual import ambient_of, usual_run
from spawnwright.errors import Contradiction, NotAQuantity, OutOfRange, UnknownName, Unusable
from spawnwright.records.canner import Canner
from spawnwright.records.grain import Grain
from spawnwright.records.jar import Jar
from spawnwright.records.kit import Kit
from spawnwright.store.catalog import find

JAR = {"jar": "quart", "jar_empty": "405 g", "jar_full": "1375 g", "string_round": "29.9 cm",
       "inside_height": "16.8 cm"}  # fmt: skip
BOILED = {"boil_two_liters": "9 min", "boiled_from": "15 C", "boiled_lid": "on"}


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    """A folder of one's own, empty."""
    monkeypatch.setenv("SPAWNWRIGHT_HOME", str(tmp_path))
    return tmp_path


def content(home, name):
    return tomllib.loads((home / f"{name}.toml").read_text(encoding="utf-8"))


def everything(home):
    return {file.name: file.read_bytes() for file in home.iterdir()}


def test_a_jar_measured_whole_is_an_entry_of_its_own_and_no_line_of_the_kit(home):
    """970 g of water at 16.8 cm: r = sqrt(0.970/998.2/(π 0.168)) = 42.9 mm, 946 mL as sold."""
    change_kit(JAR)

    jar = find(Jar, "jars", "my-jar")
    assert jar.inner_radius_m == pytest.approx(0.0429, abs=5e-5)
    assert jar.outer_radius_m == pytest.approx(0.299 / 6.283185, rel=1e-6)
    assert jar.glass_mass_kg == pytest.approx(0.405)
    assert jar.nominal_volume_m3 == pytest.approx(946.353e-6, rel=1e-6)
    assert content(home, "kit") == {"jar": "my-jar"}


def test_a_jar_half_measured_waits_in_the_kit(home):
    """Each answer is kept at once; an entry that is not whole would break the catalog."""
    change_kit({"jar": "quart", "jar_empty": "405 g"})
    change_kit({"string_round": "29.9 cm"})
    assert not (home / "jars.toml").exists()
    assert content(home, "kit")["jar_empty"] == "405 g"

    change_kit({"jar_full": "1375 g"})
    change_kit({"inside_height": "16.8 cm"})
    assert content(home, "jars")["my-jar"]["brim_water"] == "970 g"
    assert content(home, "kit") == {"jar": "my-jar"}


def test_a_jar_weighed_again_changes_its_own_entry_and_nothing_else(home):
    """A comment, another jar and the other lines stay."""
    change_kit(JAR)
    file = home / "jars.toml"
    more = '# the tall ones\n[tall]\nnames = ["tall"]\nbrim_water = "1.2 kg"\n'
    more += 'string_round = "30 cm"\ninside_height = "20 cm"\n'
    file.write_text(file.read_text(encoding="utf-8") + more, encoding="utf-8")

    change_kit({"jar_full": "1385 g"})

    assert content(home, "jars")["my-jar"]["brim_water"] == "980 g"
    assert content(home, "jars")["my-jar"]["string_round"] == "29.9 cm"
    assert file.read_text(encoding="utf-8").endswith(more)


def test_another_jar_measured_does_not_replace_the_first(home):
    """It is named as another."""
    change_kit(JAR)
    change_kit({**JAR, "jar": "pint", "jar_full": "900 g", "inside_height": "12.8 cm",
                "string_round": "26 cm"})  # fmt: skip

    assert set(content(home, "jars")) == {"my-jar", "my-jar-2"}
    assert own_kit().jar == "my-jar-2"
    assert find(Jar, "jars", "my-jar-2").nominal_volume_m3 == pytest.approx(473.2e-6, rel=1e-3)


def test_dry_grain_weighed_gives_its_bulk_density(home):
    """480 g in 70 % of 946.353 mL: 724.6 kg/m³, 3 % either way, all else as rye has it."""
    change_kit({"jar": "quart", "fill": "70%", "grain": "rye", "dry_grain": "480 g"})

    own, rye = find(Grain, "grains", "my-rye"), find(Grain, "grains", "rye")
    density = own.dry_bulk_density_kg_m3
    assert density == pytest.approx(724.6, abs=0.05)
    assert (density.low, density.high) == pytest.approx((702.8, 746.3), abs=0.1)
    assert density.source == "OWN"
    assert "480 g" in density.where
    assert own.solids_density_kg_m3 == rye.solids_density_kg_m3
    assert own_kit().grain == "my-rye"


def test_a_canner_measured_in_parts_is_like_another_for_the_rest():
    """What fits is worked out anew once its size is the grower's."""
    change_kit({"canner": "two-layer", "canner_mass": "5.3 kg", "canner_water": "2.8 kg"})
    canner, like = find(Canner, "canners", "my-canner"), find(Canner, "canners", "two-layer")
    assert (canner.mass_kg, canner.water_m3) == pytest.approx((5.3, 2.8e-3))
    assert canner.inner_diameter_m == like.inner_diameter_m
    assert canner.holds == like.holds

    change_kit({"canner_diameter": "25 cm", "rated_gauge": "12 psi"})
    canner = find(Canner, "canners", "my-canner")
    assert canner.inner_diameter_m == pytest.approx(0.25)
    assert canner.mass_kg == pytest.approx(5.3)
    assert canner.holds == ()
    assert usual_run(own_kit()).jars < 7
    assert usual_run(own_kit()).gauge_pa == pytest.approx(12 * 6894.757, rel=1e-6)


def test_putting_in_little_water_does_not_shorten_the_longest_hold():
    """A habit is no limit: the most that fits stays that of the canner it is like."""
    like = find(Canner, "canners", "two-layer")
    change_kit({"canner": "two-layer", "canner_water": "1.5 L"})
    assert find(Canner, "canners", "my-canner").most_water_kg == like.most_water_kg

    change_kit({"most_water": "2 L"})
    assert find(Canner, "canners", "my-canner").most_water_kg == pytest.approx(2.0)
    with pytest.raises(Contradiction, match="at most 2 L"):
        change_kit({"canner_water": "2.5 L"})


@pytest.mark.parametrize(
    ("changes", "error", "said"),
    [
        ({"jar_full": "300 g"}, Contradiction, "full must be more"),
        ({"string_round": "40 cm"}, Contradiction, "too thick"),
        ({"dry_grain": "1.2 kg"}, OutOfRange, "density"),
        ({"dry_grain": "480 g", "fill": None}, Unusable, "--fill"),
        ({"canner_mass": "5.3"}, NotAQuantity, "no unit"),
        ({"canner_material": "copper"}, Unusable, "aluminum or steel"),
        ({"gauge_kind": "both"}, Unusable, "weight or dial"),
        ({"canner_mass": None}, Unusable, "no line of the kit's own"),
        ({"elevaton": "450 m"}, UnknownName, "elevation"),
        ({"jar": "qart"}, UnknownName, "quart"),
        ({"elevation": "450 m", "boils_at": "93 C"}, Contradiction, "98.5"),
        ({**BOILED, "burner": "1 kW"}, Contradiction, "read the plate"),
        ({"boil_two_liters": "30 s"}, OutOfRange, "two liters"),
        ({"shelf": "70 C"}, OutOfRange, "shelf"),
        ({"shelf": "21 C", "boiled_lid": "ajar"}, Unusable, "on or off"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_written(home, changes, error, said):
    """Every line is checked before the first file is touched."""
    change_kit({**JAR, "grain": "rye", "fill": "70%", "name": "Ada"})
    before = everything(home)

    with pytest.raises(error, match=said):
        change_kit({"name": "Bo", "canner_water": "3 L", **changes})

    assert everything(home) == before


def test_a_broken_own_file_is_named_and_left_alone(home):
    """Other people's entries are not thrown away."""
    (home / "canners.toml").write_text("[mine\n", encoding="utf-8")

    with pytest.raises(Unusable, match=r"canners\.toml"):
        change_kit({"canner_mass": "5.3 kg"})
    assert (home / "canners.toml").read_text(encoding="utf-8") == "[mine\n"


def test_boiling_water_says_how_far_the_thermometer_is_off():
    """Standard air at 450 m has 96.03 kPa, and water boils at 98.48 °C there (IAPWS)."""
    kit = measured(Kit(), elevation="450 m", boils_at="98.0 C")

    assert thermometer_offset_c(kit) == pytest.approx(98.0 - 98.48, abs=0.01)
    assert ambient_of(kit) == (pytest.approx(96030, abs=20), False)


def test_boiling_water_alone_gives_the_air_pressure():
    """Saturation pressure at 95 °C: 84.6 kPa."""
    kit = measured(Kit(), boils_at="95 C")

    assert thermometer_offset_c(kit) is None
    assert ambient_of(kit) == (pytest.approx(84600, abs=30), True)


def test_the_thermometer_s_own_error_is_taken_out_of_the_cold_water():
    """One that reads half a degree low saw colder water than there was."""
    without = pot_power_w(measured(Kit(), elevation="450 m", **BOILED))
    low = pot_power_w(measured(Kit(), elevation="450 m", boils_at="97.5 C", **BOILED))

    assert low / without == pytest.approx((98.48 - 15.98) / (98.48 - 15.0), abs=0.002)


def test_measuring_the_burner_narrows_the_come_up_and_nothing_unrelated():
    """The draws are the same, so the grain in a jar is as wide as before."""
    found = kit_bands(measured(Kit(), elevation="450 m", **BOILED), "pours")

    narrower = {each.name: each.narrower for each in found.changes}
    assert narrower["come_up_min"] > 0.5
    assert narrower["jar_grain_kg"] == pytest.approx(0.0, abs=1e-9)
    before = next(each for each in found.changes if each.name == "come_up_min").before
    assert before.low < before.likely < before.high


def test_a_kit_without_measurements_changes_no_band():
    """A place and habits are no measurements; nothing is worked out for nothing."""
    assert kit_bands(measured(Kit(), elevation="450 m", fill="2/3", name="Ada")) is None


def test_what_is_known_is_not_asked_again():
    """Whichever file it stands in; the rest is, in order."""
    change_kit({**JAR, **BOILED, "grain": "rye", "fill": "70%", "dry_grain": "480 g",
                "canner_mass": "5.3 kg", "gauge_kind": "dial"})  # fmt: skip

    known, missing = known_lines(own_kit()), [each.name for each in open_questions(own_kit())]

    assert known["canner_mass"] == "5.3 kg"
    assert known["jar_full"] == "970 g of water"
    assert known["dry_grain"].startswith("480 g")
    assert set(known) | set(missing) == set(QUESTIONS)
    assert not set(known) & set(missing)
    assert missing == [each.name for group in GROUPS for each in group.questions
                       if each.name in missing]  # fmt: skip


def test_every_example_is_an_answer():
    """What a question shows as an answer is one; two of them need others first."""
    change_kit({each.name: each.example for each in QUESTIONS.values()})

    assert not open_questions(own_kit())


def test_a_comment_in_the_kit_s_file_stays(home):
    """The file is the grower's as well."""
    change_kit({"elevation": "450 m"})
    file = home / "kit.toml"
    file.write_text("# from the map\n" + file.read_text(encoding="utf-8"), encoding="utf-8")

    change_kit({"elevation": "1476 ft", "shelf": "21 C"})

    assert file.read_text(encoding="utf-8").startswith('# from the map\nelevation = "1476 ft"\n')
