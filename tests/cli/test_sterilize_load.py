"""`sterilize` with bags, liquids, mixed loads and spoiled jars, and `bags`: keys and refusals."""

from __future__ import annotations

import json

import pytest

from spawnwright import cli

PLACE = ("--start", "20 C", "--gauge", "15 psi", "--elevation", "0 m")
PINNED = ("--transport", "conduction", "--diffusivity", "1.6e-7", "--moisture", "50%")
QUARTS = ("--jar", "quart", "--fill", "70%", "--jars", "4", "--grain", "rye")
BAGS = ("--bag", "2.5 kg", "--bags", "2", "--lying", "--grain", "rye")
CULTURE = ("--contents", "liquid-culture", "--jar", "500 mL", "--fill", "60%", "--jars", "4")


def run(capsys, *asked):
    with pytest.raises(SystemExit) as end:
        cli.main(["sterilize", *asked, *PLACE])
    written = capsys.readouterr()
    return int(end.value.code or 0), written.out, written.err


def answer_of(capsys, *asked):
    code, out, err = run(capsys, *asked, "--json")
    assert code == 0, err
    return json.loads(out)


def test_bags_answer_with_the_promised_keys(capsys):
    """Those of jars; the bag is named, and the trade's 150 min stand beside."""
    found = answer_of(capsys, *BAGS, *PINNED, "--hold", "150 min")

    assert found["kinds"][0]["jar"] == "2.5-kg bag, lying"
    assert found["kinds"][0]["jars"] == 2
    assert found["customary_hold_min"]["low"] == found["customary_hold_min"]["high"] == 150
    assert found["grain_kg_per_jar"] == pytest.approx(2.5)
    assert found["f0_total_min"]["likely"] > 0
    assert found["canner"] == "two-layer"


def test_a_mixed_load_says_each_kind(capsys):
    """Count, jar and fill as they were written; the headline is the slowest's."""
    asked = (*QUARTS, "--also", "3 pint 60%", "--also", "1 half pint 50%")
    found = answer_of(capsys, *asked, *PINNED, "--hold", "90 min")

    assert [(each["jars"], each["jar"]) for each in found["kinds"]] == [
        (4, "quart"), (3, "pint"), (1, "half-pint"),
    ]  # fmt: skip
    slowest = found["kinds"][found["slowest_kind"]]
    assert slowest["jar"] == "quart"
    for key in ("f0_total_min", "coldest_f0_total_min", "chance_of_survivor"):
        assert found[key] == slowest[key]


def test_a_single_kind_stands_in_kinds_as_well(capsys):
    """So that who reads it needs one way only."""
    found = answer_of(capsys, *QUARTS, *PINNED, "--hold", "90 min")

    assert len(found["kinds"]) == 1
    assert found["kinds"][0]["f0_total_min"] == found["f0_total_min"]


def test_a_liquid_answers_without_grain(capsys):
    """Grain's keys are null, the liquid's mass is there; no grain is asked for."""
    found = answer_of(capsys, *CULTURE)

    assert found["contents"] == "liquid-culture"
    assert found["grain_kg_per_jar"] is None
    assert found["dry_grain_kg_per_jar"] is None
    assert found["liquid_kg_per_jar"] == pytest.approx(0.3)
    assert 15 < found["recommended_hold_min"] < 90
    assert found["customary_hold_min"]["source"] == "common practice, no source"
    assert found["f0_total_min"]["low"] < found["f0_total_min"]["likely"]


def test_its_spores_and_target_are_its_own(capsys):
    """Per milliliter; more of them, or a stricter target, and the hold is longer."""
    usual = answer_of(capsys, *CULTURE)
    more = answer_of(capsys, *CULTURE, "--spores-per-ml", "1000")
    easier = answer_of(capsys, *CULTURE, "--target", "5%")

    assert more["recommended_hold_min"] > usual["recommended_hold_min"]
    assert easier["recommended_hold_min"] < usual["recommended_hold_min"]
    assert usual["chance_of_survivor"] == pytest.approx(0.005, rel=0.02)


def test_its_curve_and_its_inputs_can_be_asked_for(capsys):
    """`--curve` and `--explain` as for grain; nothing about grain is among the inputs."""
    found = answer_of(capsys, *CULTURE, "--hold", "20 min", "--curve", "--explain")

    assert len(found["time_min"]) == len(found["core_c"])
    names = {each["name"] for each in found["inputs"]}
    assert "film_w_m2_k" in names
    assert not names & {"moisture", "transport", "wet_void", "diffusivity_m2_s"}


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (BAGS, ("2 bags of 2.50 kg wet, lying", "the rack above it", "cooled by itself",
                "Customary for 2.5 kg of grain at 15 psi: 150 min (common practice, no source)")),
        ((*QUARTS, "--also", "3 pint 60%"),
         ("Each kind of jar in this load", "3 pint", "is that of the slowest kind", "quart")),
        (CULTURE, ("liquid culture: 4 500-ml jars", "liquid at steam off", "two thirds full",
                   "up to half a liter of liquid at 15 psi: 15 to 20 min")),
        ((*QUARTS, "--spoiled"), ("spoiled rye", "taken as smearing", "stay shut", "outdoors")),
    ],
    ids=["bags", "mixed", "liquid", "spoiled"],
)  # fmt: skip
def test_the_page_says_what_matters(capsys, asked, words):
    """What is in the canner, what the trade does, and the cautions at their step."""
    code, out, err = run(capsys, *asked)
    said = " ".join(out.split())

    assert code == 0, err
    for each in words:
        assert each in said
    assert "Growth medium, not food preservation" in said


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ((), "--jar, --fill, --jars"),
        (("--bag", "2.5 kg", "--bags", "2", "--grain", "rye"), "--lying or --standing"),
        (("--bag", "2.5 kg", "--lying", "--grain", "rye"), "--bags"),
        (("--bag", "9 kg", "--bags", "1", "--lying", "--grain", "rye"), "./run bags"),
        ((*BAGS, "--jars", "3"), "--jars belongs to jars"),
        ((*BAGS, "--also", "3 pint 60%"), "--also belongs to jars"),
        ((*QUARTS, "--bags", "3"), "--bags belong to --bag"),
        ((*QUARTS, "--lying"), "--lying and --standing belong to --bag"),
        (("--bag", "2.5 kg", "--bags", "0", "--lying", "--grain", "rye"), "--bags"),
        (("--bag", "2.5 kg", "--bags", "-1", "--lying", "--grain", "rye"), "--bags"),
        ((*BAGS, "--canner", "one-layer"), "2 bags like a 2.5-kg bag lying do not fit"),
        ((*QUARTS, "--also", "3 pint"), '"5 pint 60%"'),
        ((*QUARTS, "--also", "-3 pint 60%"), '"5 pint 60%"'),
        ((*QUARTS, "--also", "3 pint -60%"), '"5 pint 60%"'),
        ((*QUARTS, "--also", "0 pint 60%"), "load one or more"),
        ((*QUARTS, "--also", "3 pint 140%"), '"5 pint 60%"'),
        ((*QUARTS, "--also", "9 pint 60%", "--canner", "two-layer"), "together"),
        ((*CULTURE[:4], "--fill", "80%", "--jars", "4"), "boils over"),
        ((*CULTURE, "--grain", "rye"), "--grain is about grain"),
        ((*CULTURE, "--moisture", "50%"), "--moisture is about grain"),
        ((*CULTURE, "--grain-state", "pours"), "--grain-state is about grain"),
        ((*CULTURE, "--spores-per-gram", "5"), "--spores-per-ml"),
        ((*CULTURE, "--spores-per-ml", "-1"), "-1"),
        ((*CULTURE, "--spores-per-ml", "0"), "spores"),
        ((*CULTURE, "--hold", "0 min"), "moment pressure is reached"),
        ((*CULTURE, "--contents", "soup"), "--contents"),
        ((*QUARTS, "--spores-per-ml", "5"), "--spores-per-gram"),
        ((*QUARTS, "--spoiled", "--also", "2 pint 60%"), "a run of their own"),
        ((*QUARTS, "--spoiled", "--grain-state", "pours"), "Leave out --grain-state"),
        ((*QUARTS, "--hold", "0 min"), "moment pressure is reached"),
        ((*QUARTS, "--hold", "-90 min"), "--hold"),
        ((*QUARTS, "--hold", "nan min"), "--hold"),
        ((*QUARTS, "--burner", "-2 kW"), "--burner"),
        ((*QUARTS, "--target", "-1%"), "target"),
        ((*QUARTS, "--spores-per-gram", "nan"), "--spores-per-gram"),
    ],
)  # fmt: skip
def test_unusable_loads_are_one_sentence_and_exit_code_2(capsys, asked, says):
    """What, which value, what would do; nothing on standard output."""
    code, out, err = run(capsys, *asked)

    assert (code, out) == (2, ""), err
    assert says in err
    assert len(err) < 600
    assert "Traceback" not in err


def test_bags_lists_sizes_with_their_sources(capsys):
    """Our own estimates, and said so."""
    with pytest.raises(SystemExit):
        cli.main(["bags", "--json"])
    listed = json.loads(capsys.readouterr().out)["bags"]

    assert [each["key"] for each in listed] == ["2-kg", "2.5-kg", "3-kg"]
    for each in listed:
        assert each["values"]["standing_radius_m"]["source"] == "JUDGMENT"
