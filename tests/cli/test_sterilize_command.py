"""`sterilize` and `canners`: promised keys, units, refusals, what a grower reads."""

from __future__ import annotations

import json

import pytest

from spawnwright import cli

USUAL = {
    "--jar": "quart", "--fill": "70%", "--jars": "7", "--grain": "rye", "--start": "20 C",
    "--gauge": "15 psi", "--elevation": "0 m",
}  # fmt: skip
PINNED = {"--transport": "conduction", "--diffusivity": "1.6e-7", "--moisture": "50%",
          "--hold": "90 min"}  # fmt: skip
BANDS = (
    "core_temperature_at_steam_off_c", "f0_at_steam_off_min", "f0_total_min",
    "coldest_f0_total_min", "come_up_min", "water_lost_kg", "water_needed_kg",
)  # fmt: skip


def run(capsys, asked, *flags):
    arguments = [part for pair in asked.items() for part in pair]
    with pytest.raises(SystemExit) as end:
        cli.main(["sterilize", *arguments, *flags])
    written = capsys.readouterr()
    return int(end.value.code or 0), written.out, written.err


@pytest.fixture
def answer_of(capsys):
    def ask(change=None, *flags):
        code, out, err = run(capsys, USUAL | PINNED | (change or {}), *flags, "--json")
        assert code == 0, err
        return json.loads(out)

    return ask


@pytest.fixture
def refusal_of(capsys):
    def ask(change, *without):
        asked = {key: value for key, value in (USUAL | change).items() if key not in without}
        code, out, err = run(capsys, asked)
        assert (code, out) == (2, ""), err
        assert len(err) < 600
        return err

    return ask


def test_a_pinned_run_answers_with_every_promised_key(answer_of):
    """1.6e-7 m²/s at sea level: exact conduction has 3.72 min at steam off, 20.66 in all."""
    found = answer_of()

    for key in BANDS:
        assert found[key]["low"] == found[key]["likely"] == found[key]["high"]
    assert found["f0_at_steam_off_min"]["likely"] == pytest.approx(3.72, abs=0.05)
    assert found["f0_total_min"]["likely"] == pytest.approx(20.66, abs=0.2)
    assert found["come_up_min"]["likely"] == pytest.approx(30.0)
    assert found["hold_min"] == 90.0
    assert found["recommended_hold_min"] < 90
    assert 0 <= found["chance_of_survivor"] < 1e-6
    assert found["widest_cause"] is None


def test_a_free_run_answers_with_bands_and_what_would_narrow_them(capsys):
    """The whole band, with its owner."""
    code, out, _ = run(capsys, USUAL | {"--grain-state": "pours"}, "--json", "--explain")
    found = json.loads(out)

    assert code == 0
    for key in BANDS:
        assert found[key]["low"] < found[key]["likely"] < found[key]["high"]
    assert found["hold_is"] == "recommended"
    assert found["hold_min"] == found["recommended_hold_min"]
    assert found["widest_cause"]
    assert found["narrow_it_with"]
    names = {each["name"] for each in found["inputs"]}
    assert {"open_pore_factor", "start_c", "spore_d_min", "burner_w"} <= names
    assert set(found["width_left"]) <= names
    assert (
        found["hold_curve"][0]["chance_of_survivor"] > found["hold_curve"][-1]["chance_of_survivor"]
    )


def test_step_has_no_come_up_and_no_cooling(answer_of):
    """Total equals steam-off."""
    found = answer_of({"--profile": "step"})

    assert found["f0_total_min"] == found["f0_at_steam_off_min"]
    assert found["come_up_min"]["likely"] == 0.0


def test_the_curve_comes_as_three_arrays(answer_of):
    """From burner on, in minutes."""
    found = answer_of(None, "--curve")

    assert found["time_min"][0] == 0
    assert len(found["time_min"]) == len(found["steam_c"]) == len(found["core_c"])
    assert max(found["steam_c"]) == pytest.approx(120.955, abs=0.005)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ({"--elevation": "1500 m"}, {"--elevation": "4921.26 ft"}),
        ({"--gauge": "15 psi"}, {"--gauge": "15 lb weight"}),
        ({"--start": "20 C"}, {"--start": "68 F"}),
        ({"--start": "hot-packed"}, {"--start": "Hot-Packed"}),
        ({"--hold": "90 min"}, {"--hold": "1 h 30 min"}),
        ({"--z": "10 C"}, {"--z": "18 F"}),
        ({"--fill": "70%"}, {"--fill": "7/10"}),
    ],
)
def test_quantities_are_read_as_people_write_them(answer_of, one, other):
    """The same question in other words has the same answer."""
    first, second = answer_of(one), answer_of(other)

    assert second["f0_total_min"]["likely"] == pytest.approx(first["f0_total_min"]["likely"])
    assert second["chance_of_survivor"] == pytest.approx(first["chance_of_survivor"])


def test_measured_air_wins_and_a_weather_figure_is_refused(answer_of, refusal_of):
    """84.556 kPa is the standard atmosphere of 1500 m; 101 kPa up there is a report's."""
    high = answer_of({"--elevation": "1500 m"})
    measured = answer_of({"--ambient": "84.556 kPa", "--elevation": "1500 m"})

    assert measured["f0_total_min"]["likely"] == pytest.approx(
        high["f0_total_min"]["likely"], rel=1e-3
    )
    assert "sea" in refusal_of({"--ambient": "101.3 kPa", "--elevation": "1500 m"})


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"--gauge": "20 psi"}, "rated pressure of the canner two-layer is not known"),
        ({"--gauge": "15"}, "--gauge"),
        ({"--gauge": "15 min"}, "--gauge"),
        ({"--hold": "0 min"}, "moment pressure is reached"),
        ({"--hold": "-5 min"}, "--hold"),
        ({"--jars": "40"}, "40 jars of quart do not fit"),
        ({"--jars": "0"}, "--jars"),
        ({"--fill": "130%"}, "--fill"),
        ({"--start": "120 C"}, "temperature at the start"),
        ({"--start": "lukewarm"}, "--start"),
        ({"--moisture": "95%"}, "moisture of the grain"),
        ({"--canner": "three-layer"}, "one-layer"),
        ({"--jar": "quarter"}, "quart"),
        ({"--grain": "rey"}, "rye"),
        ({"--transport": "conduction"}, "--diffusivity"),
        ({"--transport": "vapor"}, "--pore-factor"),
        ({"--diffusivity": "1.6e-7"}, "--transport conduction"),
        ({"--transport": "vapor", "--pore-factor": "1.5"}, "pore factor is 1.5"),
        ({"--transport": "conduction", "--diffusivity": "1.6"}, "diffusivity is 1.6"),
        ({"--elevation": "20000 m"}, "Elevation"),
    ],
)  # fmt: skip
def test_unusable_input_is_one_sentence_and_exit_code_2(refusal_of, change, says):
    """What, which value, what would do; nothing on standard output."""
    assert says in refusal_of(change)


def test_the_grain_is_asked_for_and_so_is_the_air(refusal_of):
    """Never assumed silently."""
    assert "--grain" in refusal_of({}, "--grain")
    assert "--elevation" in refusal_of({}, "--elevation")


def test_a_full_jar_is_warned_of_beside_the_answer(capsys):
    """Above three quarters: on standard error, and in the answer."""
    code, out, err = run(capsys, USUAL | PINNED | {"--fill": "80%"})

    assert code == 0
    assert "above three quarters" in err
    assert "above three quarters" in out


def test_an_own_canner_is_taken_from_its_file(answer_of, tmp_path):
    """Heavier, more water: more of it is lost in no way, but the rating is known."""
    file = tmp_path / "mine.toml"
    file.write_text('[mine]\nlike = "two-layer"\nrated_gauge = "20 psi"\nmass = "7 kg"\n')

    found = answer_of({"--canner": str(file), "--gauge": "18 psi"})

    assert found["canner"] == "mine"
    assert found["steam_temperature_c"]["likely"] > 123


def test_the_page_says_what_matters(capsys):
    """Hold, chance, water, cautions, and that it is no food preservation."""
    _, out, _ = run(capsys, USUAL | PINNED)

    for words in (
        "chance of a survivor", "water to put in", "cool, shut overnight", "common practice",
        "Growth medium, not food preservation", "A pass is no proof", "manual of your canner",
        "No canner was named: two-layer is assumed",
    ):  # fmt: skip
        assert words in out


def test_unknown_grain_is_told_what_knowing_would_change(capsys):
    """Three holds in a sentence."""
    _, out, _ = run(capsys, USUAL)
    out = " ".join(out.split())

    assert "if it pours" in out
    assert "if it smears" in out
    assert "--grain-state" in out


def test_canners_lists_sizes_with_their_sources(capsys):
    """Sizes, not makes."""
    with pytest.raises(SystemExit):
        cli.main(["canners", "--json"])
    listed = json.loads(capsys.readouterr().out)["canners"]

    assert [each["key"] for each in listed] == ["one-layer", "two-layer", "large-cast"]
    for each in listed:
        assert each["values"]["mass_kg"]["source"] == "JUDGMENT"
