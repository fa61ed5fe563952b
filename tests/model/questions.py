"""Questions about a sterilizer run, for tests."""

from spawnwright.model.heat.air import standard_pressure_pa
from spawnwright.records.bag import Bag
from spawnwright.records.canner import Canner
from spawnwright.records.fill import Fill
from spawnwright.records.grain import Grain
from spawnwright.records.jar import Jar
from spawnwright.records.sterilizing import Jars, PinnedTransport, SterilizeQuestion
from spawnwright.store.catalog import find
from spawnwright.units import PSI_PA


def question(jar="quart", elevation_m=0.0, canner="two-layer", fill=0.70, **others):
    """Seven quarts of rye, 70 % full, from 20 °C, 15 psi; others as the record names them."""
    given = {
        "jar": find(Jar, "jars", jar) if isinstance(jar, str) else jar,
        "fill": fill if isinstance(fill, Fill) else Fill("share", fill),
        "jars": 7,
        "grain": find(Grain, "grains", "rye"),
        "canner": canner if isinstance(canner, Canner) else find(Canner, "canners", canner),
        "gauge_pa": 15 * PSI_PA,
        "ambient_pa": float(standard_pressure_pa(elevation_m)),
        "start": 20.0,
    }
    return SterilizeQuestion(**given | others)


def bags(bag="2.5-kg", is_lying=True, **others):
    """Two bags of rye, lying; others as for `question`."""
    found = find(Bag, "bags", bag)
    fill = Fill("mass", float(found.grain_kg))
    given = {"bag": found, "is_lying": is_lying, "jars": 2 if is_lying else 1}
    return question(**given | {"fill": fill, "jar": found.as_jar(is_lying)} | others)


def liquid(contents="liquid-culture", **others):
    """Four half-liter jars of a liquid, 60 % full."""
    return question(**{"jar": "500-ml", "fill": 0.6, "jars": 4, "grain": None,
                       "contents": contents} | others)  # fmt: skip


def more(jars, jar="pint", fill=0.6):
    """Jars of another kind for the same load."""
    return Jars(jars, find(Jar, "jars", jar), Fill("share", fill))


def conduction(diffusivity, **others):
    """With heat that creeps, all else central, 50 % moisture, 90 min."""
    pinned = PinnedTransport("conduction", diffusivity_m2_s=diffusivity)
    return question(**{"pinned": pinned, "moisture": 0.5, "hold_s": 5400.0} | others)


def vapor(pore_factor, dry=0.16, **others):
    """With vapor in the pores, all else central, 50 % moisture, 90 min."""
    pinned = PinnedTransport("vapor", pore_factor=pore_factor, dry_conductivity_w_mk=dry)
    return question(**{"pinned": pinned, "moisture": 0.5, "hold_s": 5400.0} | others)
