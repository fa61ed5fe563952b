"""A mushroom species, as a grower meets it on grain and after.

The first of its names is the Latin one, the second the common name that answers show. What a
grower's own file leaves out has the defaults below, which are this project's own estimates.
"""

from __future__ import annotations

from dataclasses import dataclass

from spawnwright.records.catalog import CatalogRecord, entry
from spawnwright.sources import COMMON, JUDGMENT, Constant, Estimate

_LAG = Estimate(
    2, "d", low=1, high=3, source=JUDGMENT, where="from inoculation to the first visible growth"
)
_INSIDE = Estimate(
    4, "d", low=2, high=7, source=COMMON, where="from white all round to white inside the kernels"
)
_SHAKE_FROM = Constant(0.20, "-", source=COMMON, where="shake at 20 to 40 % colonized")
_SHAKE_UNTIL = Constant(0.40, "-", source=COMMON, where="shake at 20 to 40 % colonized")
_ALARM = Constant(32, "°C", source=JUDGMENT, where="sustained in the core; where none is known")
_COLD = Constant(4, "°C", source=COMMON, where="a refrigerator; most strains keep best in it")
_USE_BY_COLD = Estimate(
    60, "d", low=30, high=120, source=COMMON, where="trade life of grain spawn, 0-4 °C"
)
_USE_BY_ROOM = Estimate(
    21, "d", low=14, high=42, source=COMMON, where="trade says 4-8 weeks at 18-22 °C at most"
)
_SPAWN_RATE = Estimate(
    0.04, "-", low=0.02, high=0.06, source=COMMON, where="spawn on wet substrate, 2-6 %"
)
_EFFICIENCY = Estimate(
    0.6, "-", low=0.3, high=1.0, source=JUDGMENT, where="where nothing is known of the species"
)
_MOISTURE = Estimate(
    0.65, "-", low=0.58, high=0.70, source=COMMON, where="straw and supplemented sawdust, wet basis"
)
_FIRST_HARVEST = Estimate(
    35, "d", low=25, high=60, source=JUDGMENT, where="where nothing is known of the species"
)
_FLUSH_GAP = Estimate(12, "d", low=7, high=18, source=JUDGMENT, where="between flushes")
_FLUSHES = Constant(2, "-", source=JUDGMENT, where="worth waiting for")
_FIRST_FLUSH = Estimate(
    0.55, "-", low=0.40, high=0.70, source=JUDGMENT, where="share of the crop in the first flush"
)


@dataclass(frozen=True)
class Species(CatalogRecord):
    """A species or a common strain group; strains differ as much as species do."""

    tmin_c: Constant = entry("tmin", "temperature")
    """Below this the mycelium does not grow."""
    topt_c: Constant = entry("topt", "temperature")
    """At this it grows fastest."""
    tmax_c: Constant = entry("tmax", "temperature")
    """Above this it does not grow."""
    rate_grain_mm_per_day: Constant = entry("rate_grain", "speed")
    """Speed of the front in grain at rest, at the best temperature, after the lag."""
    rate_agar_mm_per_day: Constant | None = entry("rate_agar", "speed", default=None)
    """Growth of a colony's radius on agar at the best temperature; `growth-rate` shows this one."""
    lag_days: Constant = entry("lag", "days", default=_LAG)
    inside_days: Constant = entry("inside", "days", default=_INSIDE)
    """Days from white all round to colonized inside."""

    shake_from: Constant = entry("shake_from", "share", default=_SHAKE_FROM)
    shake_until: Constant = entry("shake_until", "share", default=_SHAKE_UNTIL)
    """Past this share a shake costs more than it gives."""
    shake_note: str = entry("shake_note", "text", default="Once, firmly, at about a third.")

    alarm_c: Constant = entry("alarm", "temperature", default=_ALARM)
    """Sustained in the middle of a jar, this harms the mycelium and helps molds."""
    looks_like_trouble: str = entry("looks_like_trouble", "text", default="")
    """What is normal for this species and is taken for contamination."""

    cold_storage_c: Constant = entry("cold_storage", "temperature", default=_COLD)
    """The coldest place that colonized grain of this species keeps well in."""
    use_by_cold_days: Constant = entry("use_by_cold", "days", default=_USE_BY_COLD)
    """How long it keeps there, counted from ready."""
    use_by_room_days: Constant = entry("use_by_room", "days", default=_USE_BY_ROOM)
    """How long it keeps at about 20 °C, counted from ready."""

    spawn_rate: Constant = entry("spawn_rate", "share", default=_SPAWN_RATE)
    """Mass of spawn over mass of wet substrate."""
    biological_efficiency: Constant = entry("biological_efficiency", "plain", default=_EFFICIENCY)
    """Fresh mushrooms of the whole crop over dry substrate, both in kilograms; may exceed one."""
    substrate_moisture: Constant = entry("substrate_moisture", "share", default=_MOISTURE)
    """Water over wet substrate."""
    substrate: str = entry("substrate", "text", default="")
    first_harvest_days: Constant = entry("first_harvest", "days", default=_FIRST_HARVEST)
    """From spawning the substrate to the first harvest."""
    flush_gap_days: Constant = entry("flush_gap", "days", default=_FLUSH_GAP)
    flushes: Constant = entry("flushes", "plain", default=_FLUSHES)
    first_flush_share: Constant = entry("first_flush", "share", default=_FIRST_FLUSH)
    pinning_low_c: Constant | None = entry("pinning_low", "temperature", default=None)
    pinning_high_c: Constant | None = entry("pinning_high", "temperature", default=None)
    fruiting_low_c: Constant | None = entry("fruiting_low", "temperature", default=None)
    fruiting_high_c: Constant | None = entry("fruiting_high", "temperature", default=None)
    note: str = entry("note", "text", default="")

    @property
    def latin(self) -> str:
        """The Latin name, or the only one there is."""
        return self.names[0] if self.names else self.key

    @property
    def common(self) -> str:
        """The common name that answers show."""
        return self.names[1] if len(self.names) > 1 else self.latin
