"""Moisture of drained grain by its weight, for a page; in the process that knows the models."""

from __future__ import annotations

from datetime import datetime

from spawnwright.actions.grain.hydrate import HydrateQuestion, hydrate
from spawnwright.actions.planning.form import ORIGIN
from spawnwright.records.fill import Fill
from spawnwright.store.catalog import own_folder
from spawnwright.store.wish_file import parse_wish


def weighed(
    wish_text: str, planned_at: datetime, dry_kg: float, drained_kg: float
) -> dict[str, float | str]:
    """What drained grain of a batch is worth by the scale.

    Parameters
    ----------
    wish_text : str
        The wish of the batch: its grain, jar, moisture as bought and target.
    planned_at : datetime
        When it was planned, so that its days are not past.
    dry_kg, drained_kg : float
        Grain as bought, and drained with its surface dry [kg].

    Returns
    -------
    dict
        `low`, `likely`, `high` moisture [-] and the `grain`. Plain values: a class of this module
        would have whoever takes the answer load the models.

    Raises
    ------
    Unusable
        If the two masses cannot be of the same grain.
    """
    wish = parse_wish(wish_text, ORIGIN, planned_at, own_folder())
    found = hydrate(HydrateQuestion(
        wish.grain.grain, wish.kit.jar, Fill("share", wish.kit.fill), dry_kg=dry_kg,
        target=wish.grain.target_moisture, drained_kg=drained_kg,
        dry_moisture=wish.grain.dry_moisture,
    ))  # fmt: skip
    band = found.moisture_at_fill
    return {
        "low": float(band.low), "likely": float(band.likely), "high": float(band.high),
        "grain": wish.grain.grain.key,
    }  # fmt: skip
