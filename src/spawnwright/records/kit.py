"""The grower's kit: the place, the habits and the settings that nobody should be asked twice."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

from spawnwright.records.sterilizing import Hob

UnitSystem = Literal["metric", "us"]


def setting(kind: str, about: str) -> Any:
    """A line of the kit's file: `kind` is one of `units.KINDS`, "share", "text" or "choice"."""
    return field(default=None, metadata={"kind": kind, "about": about})


@dataclass(frozen=True)
class Kit:
    """What is the same from batch to batch; whatever is not known is none.

    Jars, canners and grains that were measured at home are entries of the own catalogs; the kit
    names them by their keys. Only a jar of which not all three measurements are there yet has
    its lines here. `typed` is each line as it was written.
    """

    name: str | None = setting("text", "who enters things, if a page is not told otherwise")
    units: UnitSystem = field(
        default="metric", metadata={"kind": "choice", "about": "what pages show"}
    )
    time_zone: str | None = setting("text", "such as Europe/Lisbon; left out, this machine's")
    host: str | None = setting("text", "this machine's name for phones, in QR codes of labels")
    elevation_m: float | None = setting("elevation", "of the kitchen")
    boils_at_c: float | None = setting("temperature", "what the thermometer shows in boiling water")
    jar: str | None = setting("text", "the usual jar, as in `jars`")
    fill: float | None = setting("share", "of the jar's nominal volume, wet grain")
    grain: str | None = setting("text", "the usual grain, as in `grains`")
    canner: str | None = setting("text", "as in `canners`")
    gauge_pa: float | None = setting("gauge pressure", "what the weight is marked")
    burner_w: float | None = setting("power", "full power of the burner")
    hob: Hob | None = setting("choice", "gas, electric or induction")
    shelf_c: float | None = setting("temperature", "where jars stand while they grow")
    dose_ml: float | None = setting("volume", "of liquid culture, for a jar")

    boil_two_liters_s: float | None = setting("duration", "burner full on to a rolling boil")
    boiled_from_c: float | None = setting("temperature", "of those two liters when it was lit")
    boiled_lid: Literal["on", "off"] | None = setting("choice", "whether the pot was covered")

    jar_empty_kg: float | None = setting("mass", "a jar not yet measured whole: empty")
    jar_full_kg: float | None = setting("mass", "that jar, full of water to the brim")
    string_round_m: float | None = setting("length", "a string laid round it")
    inside_height_m: float | None = setting("length", "from the bottom inside to its brim")
    typed: dict[str, str] = field(default_factory=dict)


NAMES = {
    "name": "name", "units": "units", "time_zone": "time_zone", "host": "host",
    "elevation": "elevation_m", "boils_at": "boils_at_c", "jar": "jar", "fill": "fill",
    "grain": "grain", "canner": "canner",
    "gauge": "gauge_pa", "burner": "burner_w", "hob": "hob", "shelf": "shelf_c",
    "dose": "dose_ml", "boil_two_liters": "boil_two_liters_s", "boiled_from": "boiled_from_c",
    "boiled_lid": "boiled_lid", "jar_empty": "jar_empty_kg", "jar_full": "jar_full_kg",
    "string_round": "string_round_m", "inside_height": "inside_height_m",
}  # fmt: skip
"""The lines of the file, and the fields that they set."""
CHOICES = {
    "units": ("metric", "us"),
    "hob": ("gas", "electric", "induction"),
    "boiled_lid": ("on", "off"),
}
OF_A_JAR = ("jar_empty", "jar_full", "string_round", "inside_height")
"""Lines that are the kit's only until the jar is measured whole."""
