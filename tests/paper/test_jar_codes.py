"""The codes on the lids."""

from dataclasses import replace

from spawnwright.records.jar_codes import jar_codes
from tests.paper.example_plan import plan_and_wish


def test_each_jar_has_a_code_of_its_own():
    """Run and number; a control is the last of its run; jars sterile before stand first."""
    plan, _ = plan_and_wish(2)
    more = replace(plan, jars_to_make=plan.jars_to_make + 2)

    assert list(jar_codes(plan)) == [
        "A1", "A2", "A3", "A4", "A5", "A6", "A7", "B1", "B2", "B3", "B4", "B5", "B6", "B7",
    ]  # fmt: skip
    assert [code for code, (_, control) in jar_codes(plan).items() if control] == ["A7"]
    assert list(jar_codes(more).items())[:3] == [
        ("S1", (0, False)), ("S2", (0, False)), ("A1", (1, False)),
    ]  # fmt: skip
