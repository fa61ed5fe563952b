"""growth-rate, colonize, spares and species as somebody types them."""

from __future__ import annotations

import json
from contextlib import redirect_stdout
from functools import cache
from io import StringIO

import pytest

from spawnwright import cli

COLONIZE = (
    "colonize", "--species", "blue oyster", "--jar", "quart", "--fill", "70%",
    "--temperature", "24 C", "--dose", "2 mL", "--json",
)  # fmt: skip
CURVE = ("day", "percent_low", "percent_likely", "percent_high")


def main(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as end:
        cli.main(list(arguments))
    written = capsys.readouterr()
    return int(end.value.code or 0), written.out, written.err


@cache
def answer(*arguments: str) -> dict:
    """The JSON object of a command line that succeeds; the same one is run once."""
    out = StringIO()
    with redirect_stdout(out), pytest.raises(SystemExit) as end:
        cli.main(list(arguments))
    assert not end.value.code
    return json.loads(out.getvalue())


def with_option(option: str, value: str) -> list[str]:
    changed = list(COLONIZE)
    if option in changed:
        changed[changed.index(option) + 1] = value
        return changed
    return [*changed, option, value]


def test_colonize_answers_every_promised_key():
    """Bands rise, ready comes after colonized, the curve goes from nothing to all."""
    found = answer(*COLONIZE)

    for key in ("days_to_colonized", "shake_day", "ready_day"):
        band = found[key]
        assert 0 < band["low"] < band["likely"] < band["high"]
    for number in ("low", "likely", "high"):
        assert (
            found["shake_day"][number]
            < found["days_to_colonized"][number]
            < found["ready_day"][number]
        )
    assert len({len(found["curve"][each]) for each in CURVE}) == 1
    assert found["curve"]["percent_likely"][0] == 0
    assert found["curve"]["percent_likely"][-1] == 100
    assert found["widest_cause"]
    assert found["narrow_it_with"]
    assert found["cautions"]


@pytest.mark.parametrize(
    ("option", "value", "earlier"),
    [
        ("--species", "shiitake", False),
        ("--jar", "half-pint", True),
        ("--fill", "50%", True),
        ("--dose", "1 mL", False),
        ("--dose", "5 mL", True),
        ("--temperature", "17 C", False),
        ("--inoculation", "top", False),
        ("--inoculation", "through", True),
        ("--drops-per-ml", "5", False),
        ("--starting-points", "400", True),
        ("--shake-at", "30%", True),
    ],
)
def test_every_input_changes_the_answer(option, value, earlier):
    """No option is there for show, and each moves the days the way it should."""
    usual, changed = answer(*COLONIZE), answer(*with_option(option, value))

    for key in ("days_to_colonized", "ready_day"):
        assert (changed[key]["likely"] < usual[key]["likely"]) == earlier
        assert changed[key]["likely"] != usual[key]["likely"]
    assert changed["curve"] != usual["curve"]


@pytest.mark.parametrize("option", ["--species", "--jar", "--dose", "--temperature"])
def test_the_shake_day_moves_with_the_jar(option):
    """And with the share that is asked for."""
    other = {
        "--species": "shiitake", "--jar": "half-pint", "--dose": "5 mL", "--temperature": "17 C",
    }  # fmt: skip
    usual, changed = answer(*COLONIZE), answer(*with_option(option, other[option]))
    later = answer(*with_option("--shake-at", "60%"))

    assert changed["shake_day"] != usual["shake_day"]
    assert later["shake_day"]["likely"] > usual["shake_day"]["likely"]


def test_a_shelf_on_which_nothing_grows_is_an_answer(capsys):
    """Null days, a plain sentence, exit code 0; and the same in words."""
    found = answer(*with_option("--temperature", "50 C"))

    assert found["days_to_colonized"] == {"low": None, "likely": None, "high": None}
    assert "does not grow at 50 °C" in found["notes"][0]
    assert found["widest_cause"] is None
    words = [each for each in with_option("--temperature", "50 C") if each != "--json"]
    assert "never" in main(capsys, *words)[1]


def test_explain_lists_the_inputs_and_what_each_would_leave():
    """The widest cause is the input that leaves least."""
    found = answer(*COLONIZE, "--explain")

    names = [each["name"] for each in found["inputs"]]
    assert {"best rate", "starting points", "lag", "shelf temperature"} <= set(names)
    left = found["width_left"]
    assert found["widest_cause"] == min(left, key=left.get)
    assert all(each["source"] for each in found["inputs"])


def test_lions_mane_is_shaken_earlier_and_what_looks_like_trouble_is_told():
    """Hard or late shaking harms it; its thin mycelium worries people."""
    found = answer(*with_option("--species", "lion's mane"))

    assert found["shake_share"] == pytest.approx(0.20)
    assert any("wispy" in note for note in found["notes"])


@pytest.mark.parametrize(
    ("option", "value", "complaint"),
    [
        ("--fill", "120%", "fill"),
        ("--dose", "0 mL", "dose is 0 mL"),
        ("--dose", "1 L", "1000 mL is more than the jar holds"),
        ("--temperature", "500 C", "temperature is 500 °C; this holds from -30 to 80 °C"),
        ("--temperature", "24", "has no unit"),
        ("--species", "moonshroom", "no species called"),
        ("--shake-at", "100%", "shaken is 1; this holds from 0.01 to 0.99"),
        ("--starting-points", "0", "starting-points"),
        ("--inoculation", "sideways", "spread"),
    ],
)
def test_what_no_jar_can_be_is_refused_in_one_sentence(capsys, option, value, complaint):
    """Exit code 2 and nothing on standard output."""
    code, out, err = main(capsys, *with_option(option, value))

    assert (code, out) == (2, "")
    assert complaint in err
    assert len(err) < 600


def test_growth_rate_is_the_curve_of_the_four_given_numbers():
    """The worked row of Rosso's model, and no band where all is given."""
    found = answer(
        "growth-rate", "--tmin", "5 C", "--topt", "26 C", "--tmax", "36 C",
        "--best", "5 mm/day", "--temperature", "68 F", "--json",
    )  # fmt: skip

    assert found["rate_mm_per_day"] == pytest.approx(3.9683, abs=5e-5)
    assert set(found["rate_band_mm_per_day"].values()) == {found["rate_mm_per_day"]}


def test_growth_rate_changes_with_species_temperature_and_own_numbers():
    """Each input moves rate and band; agar is quicker than grain."""
    usual = ("growth-rate", "--species", "blue oyster", "--temperature", "20 C", "--json")
    rates = [
        answer(*usual, *more)
        for more in (
            (), ("--species", "shiitake"), ("--temperature", "15 C"), ("--best", "4 mm/day"),
            ("--topt", "24 C"), ("--on", "agar"),
        )
    ]  # fmt: skip

    assert len({each["rate_mm_per_day"] for each in rates}) == len(rates)
    assert len({each["rate_band_mm_per_day"]["low"] for each in rates}) == len(rates)
    assert rates[-1]["rate_mm_per_day"] > rates[0]["rate_mm_per_day"]


def test_growth_rate_outside_the_temperatures_of_growth_is_zero_and_says_so(capsys):
    """An answer, not an error; and a curve that is none is refused."""
    found = answer("growth-rate", "--species", "shiitake", "--temperature", "45 C", "--json")
    assert found["rate_mm_per_day"] == 0
    assert "does not grow" in found["note"]
    code, out, err = main(capsys, "growth-rate", "--tmin", "5 C", "--temperature", "45 C")
    assert (code, out) == (2, "")
    assert "all four numbers" in err


def test_spares_counts_and_warns_that_losses_come_by_the_run():
    """13 of independent jars; with bad runs many more, fewer over two runs."""
    usual = ("spares", "--good", "10", "--survival", "95%", "--service", "95%", "--json")
    thirteen = answer("spares", "--good", "10", "--survival", "90%", "--service", "95%", "--json")
    one = answer(*usual, "--run-loss", "8%", "--run-kill", "70%")
    two = answer(*usual, "--run-loss", "8%", "--run-kill", "70%", "--runs", "2")

    assert thirteen["jars"] == 13
    assert thirteen["service"] == pytest.approx(0.965839, abs=5e-7)
    assert one["jars"] == 31
    assert two["jars"] == 17
    assert "17 jars do" in one["note"]


def test_spares_that_no_number_reaches_are_null_and_exit_1(capsys):
    """The object is still printed: the most that can be is the chance of a sound run."""
    code, out, _ = main(
        capsys, "spares", "--good", "10", "--survival", "95%", "--service", "95%",
        "--run-loss", "8%", "--json",
    )  # fmt: skip
    found = json.loads(out)

    assert code == 1
    assert found["jars"] is None
    assert found["service"] == pytest.approx(0.92)
    assert "2 runs with 21 jars" in found["note"]


def test_spares_beyond_what_is_looked_at_are_not_said_to_be_impossible(capsys):
    """111,000 jars with nine in ten good give 100,000: a number does, but none that is tried."""
    code, out, _ = main(
        capsys, "spares", "--good", "100000", "--survival", "90%", "--service", "95%",
    )  # fmt: skip

    assert code == 1
    assert "More than 100,000 jars would be needed" in out
    assert "No number" not in out


def test_spares_refuses_a_share_of_a_run_without_the_chance_of_a_bad_one(capsys):
    """It would silently mean nothing."""
    code, out, err = main(
        capsys, "spares", "--good", "10", "--survival", "95%", "--service", "95%",
        "--run-kill", "70%",
    )  # fmt: skip

    assert (code, out) == (2, "")
    assert "--run-loss" in err


def test_species_lists_all_and_one_in_full():
    """Every number with its source."""
    every = answer("species", "--json")["species"]
    pink = answer("species", "pink oyster", "--json")["species"][0]

    assert len(every) == 15
    assert pink["values"]["cold_storage_c"]["value"] == 10
    assert pink["values"]["rate_grain_mm_per_day"]["source"] == "JUDGMENT"
