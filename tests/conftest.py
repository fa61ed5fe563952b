"""What holds for every test: no kit of the developer's own, no skips where all is required."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Generator
from datetime import datetime
from pathlib import Path
from typing import TypeVar
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, settings

Report = TypeVar("Report", pytest.TestReport, pytest.CollectReport)

# No test asserts a time: a busy machine is no failure. On CI the same examples come each time.
settings.register_profile("here", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("ci", settings.get_profile("here"), derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "here")


def pytest_configure(config: pytest.Config) -> None:
    """Give the tests an empty folder for the grower's own files."""
    folder = tempfile.TemporaryDirectory(prefix="spawnwright-tests-")
    config.add_cleanup(folder.cleanup)
    os.environ["SPAWNWRIGHT_HOME"] = folder.name


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """With REQUIRE_ALL=1 a skipped test is a failed one."""
    return _required((yield))


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """The same for a file that is skipped whole."""
    return _required((yield))


def _required(report: Report) -> Report:
    if report.skipped and os.environ.get("REQUIRE_ALL") == "1":
        report.outcome = "failed"
        report.longrepr = f"{report.nodeid} was skipped, and REQUIRE_ALL=1: {report.longrepr}"
    return report


@pytest.fixture(scope="session")
def season(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the demo's scenario and its record book, filled once for all tests.

    Tests that change anything copy `season.db` first.
    """
    from spawnwright.actions.demo.season import fill_season
    from spawnwright.store.demo_files import lay_out

    folder = tmp_path_factory.mktemp("season")
    lay_out(folder)
    fill_season(folder, datetime(2026, 11, 25, 10, 30, tzinfo=ZoneInfo("Europe/Lisbon")), print)
    return folder
