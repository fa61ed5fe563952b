"""The figures that a plan is held to, apart from the ones that the planner has of its own.

Waiting limits are common practice without a source, but for the soak (sprouting within a day at
up to 22 °C was not seen: Onofri et al. 2018, Mesgaran et al. 2017, data sets) and the circles.
"""

from datetime import timedelta

SOAK_LEAST = timedelta(hours=12)
SOAK_LEAST_WARM = timedelta(hours=6)
WARM_C = 22.0
SOAK_MOST = timedelta(hours=24)
STATED_SOAK_SLACK = timedelta(hours=1)
SOAK_TO_RINSE = timedelta(minutes=5)
SIMMER_TO_DRAIN = timedelta(minutes=15)
DRAINED_AT_ROOM = timedelta(hours=6)
DRAINED_IN_THE_COLD = timedelta(hours=24)
STERILE_WAIT = timedelta(days=7)
LIDS_CURE = timedelta(hours=24)
CULTURE_TEST_DAYS = (7, 10)
VENT_LEAST = timedelta(minutes=10)
HEAT_UP_LEAST = timedelta(minutes=5)
VENT_TO_HOLD_MOST = timedelta(minutes=45)
HOLD_LEAST_MIN = 15.0
HOLD_TO_ZERO_LEAST = timedelta(minutes=10)
ZERO_TO_UNLOAD = timedelta(minutes=30)
SHUT_LEAST = timedelta(hours=8)
FOR_ONE_JAR = timedelta(minutes=1)  # to fill it, or to inoculate it
LOOK_DAYS = (2, 4, 7)
LOOK_GAP_DAYS = 4
LAG_LEAST = timedelta(days=2)  # a day before the mycelium shows, a day for the inside
USE_BY_MOST = timedelta(days=370)

COLD_ENOUGH_C = 28.0
ABOVE_ROOM_C = 3.0
# Time constants with which jars cool, times 0.6 so that only the impossible is refused: 142 min
# in a shut canner (the reference cycle), 44 min for a quart jar standing in air at 10 W/m²K.
COOLING_MIN = {"overnight shut": 0.6 * 142, "opened warm": 0.6 * 44}

DRY_MATTER_LOST = (0.0, 0.05)
WET_BULK_KG_PER_L = (0.50, 0.82)
GRAIN_MARGIN = 1.15  # what a planner may add for sticking, spilling and rounding
SOAKED_L_PER_KG_DRY = 1.9  # naked grain at 38 % moisture; less is impossible but for oats
DOSE_PER_JAR_VOLUME = 2.0  # mL of culture for a liter of jar ...
DOSE_LEAST_ML = 1.0  # ... and at least this

# Smallest ratio of the radius of a circle to that of n equal circles which it holds, n from 1 up;
# proved to 13 and for 19, best known otherwise (Graham, Lubachevsky, Nurmela, Östergård 1998,
# "Dense packings of congruent circles in a circle"), from memory.
CIRCLES = (
    1.0, 2.0, 2.1547, 2.4142, 2.7013, 3.0, 3.0, 3.3047, 3.6131, 3.8130, 3.9238, 4.0296, 4.2360,
    4.3284, 4.5213, 4.6154, 4.7920, 4.8637, 4.8637, 5.1223,
)  # fmt: skip
