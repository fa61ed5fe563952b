"""The usual run of a kit as a question: as measured at home, or as the book has it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from spawnwright.actions.grain.jars import find_jar
from spawnwright.actions.own_kit.sums import pot_power_w
from spawnwright.actions.sterilizing.sterilize_load import assumed_canner
from spawnwright.model.canner.loading import jars_per_load
from spawnwright.model.heat.air import standard_pressure_pa
from spawnwright.model.heat.steam import saturation_pressure_pa
from spawnwright.records.canner import HEAVIEST_MARK_PA, Canner
from spawnwright.records.fill import Fill
from spawnwright.records.grain import Grain
from spawnwright.records.jar import Jar
from spawnwright.records.kit import Kit
from spawnwright.records.sterilizing import GrainState, SterilizeQuestion
from spawnwright.store import catalog
from spawnwright.store.own_catalog import own_entry

USUAL_JAR, USUAL_FILL, USUAL_GRAIN = "quart", 0.70, "rye"


def usual_run(kit: Kit, grain_state: GrainState = "unknown") -> SterilizeQuestion:
    """A full load of the usual jars in the usual canner, with all that was measured.

    What the kit does not know is taken as usual: quarts of rye, 70 % full, the canner most
    kitchens have, sea level, the heaviest mark that the canner may carry.
    """
    ambient, is_measured = ambient_of(kit)
    return load_as_usual(
        jar=None if kit.jar is None else find_jar(kit.jar),
        fill=None if kit.fill is None else Fill("share", kit.fill),
        jars=None,
        grain=None if kit.grain is None else catalog.find(Grain, "grains", kit.grain),
        canner=None if kit.canner is None else catalog.find(Canner, "canners", kit.canner),
        gauge_pa=kit.gauge_pa,
        ambient_pa=ambient,
        is_ambient_measured=is_measured,
        grain_state=grain_state,
        burner_w=kit.burner_w,
        pot_w=pot_power_w(kit),
        hob=kit.hob or "unknown",
        effort="quick",
        wants_causes=False,
    )


def load_as_usual(
    *,
    jar: Jar | None,
    fill: Fill | None,
    jars: int | None,
    grain: Grain | None,
    canner: Canner | None,
    gauge_pa: float | None,
    **others: Any,
) -> SterilizeQuestion:
    """A question in which what is none is as usual; the others as `SterilizeQuestion` has them.

    Quarts of rye, 70 % full, as many as the canner takes, at the heaviest mark it may carry.
    """
    jar = jar or find_jar(USUAL_JAR)
    canner = canner or assumed_canner(jar, jars or 1)
    return SterilizeQuestion(
        jar=jar,
        fill=fill or Fill("share", USUAL_FILL),
        jars=jars or max(1, jars_per_load(canner, jar).jars),
        grain=grain or catalog.find(Grain, "grains", USUAL_GRAIN),
        canner=canner,
        gauge_pa=gauge_pa or min(float(HEAVIEST_MARK_PA), canner.highest_gauge_pa),
        **others,
    )


def by_the_book(kit: Kit, measured: SterilizeQuestion) -> SterilizeQuestion:
    """The same run with the book's values wherever the kit has measured its own."""
    jar, canner, grain = measured.jar, measured.canner, measured.kernels
    if own_entry("jars", kit.jar) is not None:
        sizes = catalog.shipped_catalog(Jar, "jars").values()
        jar = min(sizes, key=lambda each: abs(each.nominal_volume_m3 - jar.nominal_volume_m3))
    own = own_entry("canners", kit.canner)
    if own is not None:
        canner = _like(own) or assumed_canner(jar, measured.jars)
    own = own_entry("grains", kit.grain)
    if own is not None and "like" in own:
        grain = catalog.find(Grain, "grains", str(own["like"]))
    jars = min(measured.jars, max(1, jars_per_load(canner, jar).jars))
    return replace(
        measured, jar=jar, canner=canner, grain=grain, jars=jars, burner_w=None, pot_w=None,
        hob="unknown", is_ambient_measured=False,
    )  # fmt: skip


def ambient_of(kit: Kit) -> tuple[float, bool]:
    """Air pressure of the place [Pa], and whether it was measured there.

    The elevation where it is known: a map is truer than a kitchen thermometer. Sea level where
    nothing is.
    """
    if kit.elevation_m is not None or kit.boils_at_c is None:
        return float(standard_pressure_pa(kit.elevation_m or 0.0)), False
    return float(saturation_pressure_pa(kit.boils_at_c)), True


def _like(own: dict[str, object]) -> Canner | None:
    if "like" not in own:
        return None
    return catalog.find(Canner, "canners", str(own["like"]))
