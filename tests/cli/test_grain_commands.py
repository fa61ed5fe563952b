"""`hydrate`, `moisture`, `grains` and `jars` as somebody types them."""

import json

import pytest

from spawnwright.cli import main as run

HYDRATE = ("hydrate", "--grain", "rye", "--jar", "quart")


@pytest.fixture
def typed(capsys):
    """Run a command in this process: exit code, standard output, standard error."""

    def command(*arguments: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as end:
            run(list(arguments))
        written = capsys.readouterr()
        return int(end.value.code or 0), written.out, written.err

    return command


def test_hydrate_answers_with_the_promised_keys(typed):
    """Names and kinds that checks from outside rely on."""
    code, out, _ = typed(*HYDRATE, "--jars", "10", "--fill", "70%", "--json")

    found = json.loads(out)
    assert code == 0
    for key in ("dry_kg", "water_l", "jar_grain_kg", "gypsum_g"):
        assert isinstance(found[key], float)
    for key in ("moisture_after_soak", "moisture_at_fill", "bulk_swelling"):
        assert found[key]["low"] < found[key]["likely"] < found[key]["high"]
    assert found["jars"] == 10
    assert found["target_reached"] in ("yes", "unlikely", "no")
    assert "inputs" not in found


def test_the_defaults_are_those_of_the_help(typed):
    """Leaving an option out is the same as giving what the help shows."""
    given = ("--fill", "70%", "--soak", "18 h", "--water", "20 C", "--simmer", "15 min",
             "--target", "48%", "--gypsum", "0.5%")  # fmt: skip

    left_out = typed(*HYDRATE, "--jars", "10", "--json")[1]

    assert json.loads(left_out) == json.loads(typed(*HYDRATE, "--jars", "10", *given, "--json")[1])


def test_a_drained_mass_gives_advice_and_the_texture_tests(typed):
    """On the page and in the object."""
    options = (*HYDRATE, "--dry", "2 kg", "--drained", "2.9 kg")

    _, out, _ = typed(*options, "--json")
    _, page, _ = typed(*options)

    assert json.loads(out)["advice"] == "back into hot water"
    assert len(json.loads(out)["texture_tests"]) == 2
    assert "By weight: back into hot water." in page
    assert "paper towel" in page


def test_explain_lists_the_inputs(typed):
    """With their source, for people and for machines."""
    _, out, _ = typed(*HYDRATE, "--jars", "10", "--explain", "--json")
    _, page, _ = typed(*HYDRATE, "--jars", "10", "--explain")

    inputs = json.loads(out)["inputs"]
    assert {"name", "low", "likely", "high", "unit", "source"} <= set(inputs[0])
    assert "dry moisture" in page


def test_a_jar_measured_at_home_is_taken_inline(typed):
    """No file is needed for the first try."""
    _, out, _ = typed("hydrate", "--grain", "rye", "--jars", "10", "--jar",
                      "980 g, 30.1 cm, 16.2 cm", "--fill", "70%", "--json")  # fmt: skip

    assert json.loads(out)["jar_grain_kg"] == pytest.approx(0.7 * 0.9818 * 0.704, abs=0.004)


def test_an_over_full_jar_warns_beside_the_answer(typed):
    """Standard output carries the answer only."""
    code, out, err = typed(*HYDRATE, "--jars", "10", "--fill", "80%", "--json")

    assert code == 0
    assert "hard to shake" in err
    json.loads(out)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((*HYDRATE,), "exactly one of the two"),
        ((*HYDRATE, "--jars", "10", "--dry", "2 kg"), "exactly one of the two"),
        ((*HYDRATE, "--jars", "10", "--soak", "18"), "has no unit"),
        ((*HYDRATE, "--jars", "10", "--fill", "0.7"), "is not a fill"),
        ((*HYDRATE, "--jars", "10", "--fill", "900 g"), "of the jar quart"),
        ((*HYDRATE, "--jars", "10", "--water", "15 psi"), "a temperature is needed"),
        ((*HYDRATE, "--jars", "10", "--target", "48"), "percent sign"),
        (("hydrate", "--grain", "oats", "--jar", "quart", "--jars", "3"), "oats-in-hull"),
        (("hydrate", "--grain", "ry", "--jar", "quart", "--jars", "3"), "Did you mean rye"),
        (("hydrate", "--grain", "rye", "--jar", "quort", "--jars", "3"), "Did you mean quart"),
        (("moisture", "--mass", "1", "--from", "12%", "--to", "48%"), "has no unit"),
        (("moisture", "--mass", "0 kg", "--from", "12%", "--to", "48%"), "Mass is 0 kg"),
        (("moisture", "--mass", "1 kg", "--from", "12%", "--to", "100%"), "Moisture is 1 "),
        (("grains", "barley"), "barley-hulled or barley-in-hull"),
        (("jars", "0.9 L"), "Did you mean quart"),
    ],
)
def test_bad_input_ends_with_one_sentence(typed, arguments, said):
    """Exit code 2, nothing on standard output."""
    code, out, err = typed(*arguments)

    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1
    assert len(err) < 600


def test_moisture_gives_mass_and_water(typed):
    """1 kg of wheat, 12 to 48 %: 1.692 kg; dried again the water is negative."""
    _, wetter, _ = typed("moisture", "--mass", "1 kg", "--from", "12%", "--to", "48%", "--json")
    _, drier, _ = typed("moisture", "--mass", "2.2 lb", "--from", "48%", "--to", "12%", "--json")

    assert json.loads(wetter)["final_kg"] == pytest.approx(1.692308, abs=1e-6)
    assert json.loads(wetter)["water_kg"] == pytest.approx(0.692308, abs=1e-6)
    assert json.loads(drier)["water_kg"] < 0


@pytest.mark.parametrize(("name", "count"), [("grains", 12), ("jars", 11)])
def test_catalogs_list_every_number_with_its_source(typed, name, count):
    """The whole list in the object; the page in brief, one entry in full."""
    _, out, _ = typed(name, "--json")
    _, page, _ = typed(name)

    listed = json.loads(out)[name]
    assert len(listed) == count
    for entry in listed:
        assert entry["key"] in page
        for number in entry["values"].values():
            assert set(number) == {"value", "unit", "low", "high", "source", "where"}
            assert number["source"]


def test_one_entry_is_shown_in_full(typed):
    """Value, spread, source, place, and what the source is."""
    _, page, _ = typed("grains", "milo")
    _, out, _ = typed("grains", "milo", "--json")

    (sorghum,) = json.loads(out)["grains"]
    assert sorghum["key"] == "sorghum"
    assert "721 kg/m³" in page
    assert "Kashiri, M." in page
    assert "second hand" in page
