"""Whether the model describes a probe run at all; it can say no, and what may be wrong."""

from __future__ import annotations

import numpy as np

from spawnwright.model.heat.bed import Floats
from spawnwright.model.probe.fit import Posterior
from spawnwright.model.probe.noise import DRIFT_K
from spawnwright.model.probe.prior import placement_m
from spawnwright.model.probe.setting import COORDINATES, ProbeSetting
from spawnwright.sources import JUDGMENT, Constant

FARTHEST_SCORE = Constant(
    2.6, "-", source=JUDGMENT,
    where="a middle estimate this many sd from what was believed: one in a hundred by itself",
)  # fmt: skip
LARGEST_RESIDUAL_K = Constant(
    1.5, "K", source=JUDGMENT, where="root mean square that noise alone hardly leaves"
)
_NEAR_AN_END = 0.02  # of the range of a logarithm
_WORDS = {
    "probe_height_m": "the tip would have to stand {value:.0f} mm off in height; was it moved, or "
    "is its depth another?",
    "probe_off_axis": "the tip would have to stand {value:.0f} mm from the axis; it may touch, or "
    "lean toward, the glass",
    "film_w_m2_k": "steam would have to heat the glass at {value:.0f} W/(m² K); was air left in, "
    "or the jar standing in water?",
    "top_film_w_m2_k": "heat would have to enter from the top at {value:.0f} W/(m² K); steam may "
    "stream through the lid and the bed",
    "start_c": "the grain would have to start at {value:.0f} °C",
    "steam_error_k": "the steam would have to be {value:+.1f} °C off; was air left in, or the "
    "gauge or elevation another?",
    "moment_s": "steam would have to come {value:+.0f} s from when it was said",
    "inner_radius_m": "the jar would have to have another width",
    "depth": "the grain would have to be filled to another depth",
}
_TOO_QUICK = (
    "the readings follow the steam more closely than any bed of grain would; steam may channel "
    "through the bed, or the tip touch the glass"
)


def misfits(setting: ProbeSetting, posterior: Posterior) -> list[str]:
    """What speaks against the model, in words; nothing if it fits.

    Parameters
    ----------
    setting : ProbeSetting
        The run [-].
    posterior : Posterior
        Of the likelier way [-].

    Returns
    -------
    list of str
        A sentence each, without its full stop [-].

    Notes
    -----
    Three signs: readings off the curve by more than noise leaves; an unknown of jar, probe or
    vessel that had to go where nobody would believe it; a transport at the end of its range.
    """
    found = []
    left = float(np.sqrt(np.mean(posterior.residual_k**2)))
    if left > float(LARGEST_RESIDUAL_K):
        found.append(
            f"the best curve misses the readings by {left:.1f} K on average; a sensor's drift is "
            f"about {float(DRIFT_K):g} K"
        )
    own = len(COORDINATES[posterior.way])
    for place, each in enumerate(setting.inputs, own):
        score = float(np.median(posterior.scores[:, place]))
        # Nobody stands too near to the axis.
        is_far = score if each.name == "probe_off_axis" else abs(score)
        if each.shape != "fixed" and each.name in _WORDS and is_far > float(FARTHEST_SCORE):
            value = _shown(setting, each.name, posterior.values[each.name])
            found.append(_WORDS[each.name].format(value=value))
    for name, belief in zip(
        COORDINATES[posterior.way], setting.beliefs(posterior.way), strict=True
    ):
        high, low = belief.value[-1], belief.value[0]
        if np.median(posterior.values[name]) > high - _NEAR_AN_END * (high - low):
            found.append(_TOO_QUICK)
    return found


def _shown(setting: ProbeSetting, name: str, values: Floats) -> float:
    middle = float(np.median(values))
    if name == "probe_height_m":
        return 1000 * abs(middle)
    if name == "probe_off_axis":
        share = min(middle, 1 - 1e-9)
        return float(1000 * placement_m(setting.question) * np.sqrt(-2 * np.log1p(-share)))
    return middle
