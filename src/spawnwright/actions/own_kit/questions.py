"""What can be said of a kit and measured at home: twenty minutes, a scale, a string, a ruler."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class KitQuestion:
    """One line of the kit, or of the jar, canner or grain that it names."""

    name: str
    """The line of the kit's file, or what `change_kit` calls it."""
    said: str
    how: str
    why: str
    example: str
    choices: tuple[str, ...] = ()
    option: str = ""
    """Of the command, where it is another than the name."""

    @property
    def flag(self) -> str:
        """The option of the command that answers it."""
        return "--" + (self.option or self.name.replace("_", "-"))


@dataclass(frozen=True)
class KitGroup:
    """What is measured in one go."""

    title: str
    caution: str
    questions: tuple[KitQuestion, ...]


def _ask(
    name: str, said: str, how: str, why: str, example: str, *choices: str, option: str = ""
) -> KitQuestion:
    return KitQuestion(name, said, how, why, example, choices, option)


GROUPS = (
    KitGroup("You and this place", "", (
        _ask("name", "What you are called",
             "As it is to stand in the record book.", "who entered what", "Ada"),
        _ask("units", "Units that pages show", "metric: grams, °C, meters; us: pounds, °F, feet.",
             "what you read", "metric", "metric", "us"),
        _ask("time_zone", "Time zone", "As computers write it.", "times of plans and records",
             "Europe/Lisbon"),
        _ask("elevation", "Elevation of the kitchen", "From a map or a phone, in meters or feet.",
             "how hot the steam is at the mark", "450 m"),
        _ask("boils_at", "What the thermometer shows in boiling water",
             "Open pot, rolling boil, tip in the water and off the bottom, wait until it stands.",
             "the air pressure where you are, or how far your thermometer is off", "98.4 C"),
        _ask("host", "This computer's name for phones", "Only if you print labels with a QR code.",
             "what a phone opens when it sees a label", "bench.local"),
    )),
    KitGroup("The jar", "Weigh before it is wet outside; no hot water into cold glass.", (
        _ask("jar", "Usual jar", "A name from `./run jars`; the one most like it will do.",
             "what all else is worked out for", "quart"),
        _ask("jar_empty", "Jar, empty", "On the kitchen scale, without its lid.",
             "its glass has to be heated too", "405 g"),
        _ask("jar_full", "The same jar, full of water to the brim", "On the scale, outside dry.",
             "how wide it is inside", "1375 g"),
        _ask("string_round", "A string round it", "At half height; lay the string on a ruler.",
             "how thick the glass is, and how many jars fit", "29.9 cm"),
        _ask("inside_height", "Height inside", "A stick from the bottom to the brim.",
             "how wide it is inside", "16.8 cm"),
        _ask("fill", "How full it is with wet grain", "Share of what the jar is sold as.",
             "how deep the grain lies", "70%"),
    )),
    KitGroup("The grain", "", (
        _ask("grain", "Usual grain", "A name from `./run grains`.", "water, swelling, heat",
             "rye"),
        _ask("dry_grain", "Dry grain in that jar, at the usual fill",
             "Pour it in loosely, do not shake, weigh it without the jar.",
             "how many jars a sack fills", "480 g"),
    )),
    KitGroup("The burner", "Stay with the pot. Steam scalds: lift a lid away from you.", (
        _ask("hob", "Hob", "", "how much of the heat goes past the pot", "gas",
             "gas", "electric", "induction"),
        _ask("burner", "Full power of the burner", "The plate under the stove, or its manual.",
             "gas and electricity", "2.5 kW"),
        _ask("boiled_from", "Two liters of cold water: what the thermometer shows",
             "In a usual pot, not in the canner; water measured with a jug.",
             "how much heat the pot gets", "15 C", option="from"),
        _ask("boil_two_liters", "Minutes until they boil",
             "Burner full on, from lighting it to a rolling boil all over.",
             "how much heat the pot gets: come-up, and water that boils off", "9 min"),
        _ask("boiled_lid", "Was the lid on", "", "steam that left took heat along", "on",
             "on", "off", option="lid"),
    )),
    KitGroup("The canner", "Cold and empty. No lid is drilled, no wire goes under the gasket.", (
        _ask("canner", "Canner", "A name from `./run canners`; the one most like it will do.",
             "what you do not measure is taken from it", "two-layer"),
        _ask("canner_mass", "Canner, empty, with lid, rack and weight",
             "Stand on the bathroom scale with it and without it.", "come-up and cooling",
             "5.3 kg"),
        _ask("canner_material", "Metal", "A magnet sticks to most steel and to no aluminum.",
             "come-up and cooling", "aluminum", "aluminum", "steel"),
        _ask("canner_diameter", "Inside, across", "At half height.",
             "how many jars fit, heat lost to the room", "30.4 cm"),
        _ask("canner_height", "Inside, from the bottom to the lid", "Under the lid's middle.",
             "how many jars fit, heat lost to the room", "29.5 cm"),
        _ask("rack_height", "From the bottom to where the jars stand", "", "water under the rack",
             "15 mm"),
        _ask("canner_water", "Water that you usually put in", "With a jug, or weighed.",
             "come-up, and what is left to boil off", "2.8 L"),
        _ask("most_water", "The most water that may go in",
             "From the manual, or up to where the filters of the jars would get wet.",
             "how long a hold may be before the canner boils dry", "3.5 L"),
        _ask("gauge_kind", "Gauge", "A weight rocks or jiggles, a dial has a needle.",
             "how true the pressure is", "weight", "weight", "dial"),
        _ask("rated_gauge", "Rated pressure", "From the manual or the plate; nothing else.",
             "what is never gone above", "15 psi"),
        _ask("gauge", "What you hold it at", "The mark of the weight, or where you keep the dial.",
             "how hot the steam is", "15 psi"),
    )),
    KitGroup("The shelf", "", (
        _ask("shelf", "Where jars grow, it is", "A thermometer beside them, for a day.",
             "how many days a jar takes", "21 C"),
        _ask("dose", "Liquid culture for a jar", "", "how many places it starts from", "2 mL"),
    )),
)  # fmt: skip
QUESTIONS = {each.name: each for group in GROUPS for each in group.questions}
