"""The coldest point of scenarios, read off two points, against the coldest of the whole run."""

import pytest

from spawnwright.actions.sterilizing.sterilize import sterilize
from spawnwright.model.sterilizing import run_table
from tests.model.questions import conduction


@pytest.mark.parametrize("diffusivity", [1.0e-7, 1.3e-7, 2.0e-7])
def test_two_points_give_the_coldest_of_the_whole_run(diffusivity, monkeypatch):
    """Where cooling brings most of the lethality the end cools first; the core alone misses it."""
    asked = conduction(diffusivity)
    exact = sterilize(asked)
    monkeypatch.setattr(run_table, "with_coldest_of_whole_run", lambda table, *_: table)

    by_two_points = sterilize(asked)

    wanted = exact.coldest_f0_total_min.likely
    assert by_two_points.coldest_f0_total_min.likely == pytest.approx(wanted, rel=0.01)
    assert by_two_points.f0_total_min.likely > 1.02 * wanted
