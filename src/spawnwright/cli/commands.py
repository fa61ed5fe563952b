"""Every command with its one-line help; the command itself is in the module of its name."""

COMMANDS: dict[str, str] = {
    "plan": "From a wish to a dated batch: quantities, minutes, days, cautions.",
    "demo": "The whole job for an invented grower, and where its files are.",
    "hydrate": "Grain and water for your jars; what soak and simmer will do.",
    "sterilize": "How hot the middle of the jar gets, how long to hold, the chance of a survivor.",
    "colonize": "When a jar is colonized, when to shake it, when it is ready.",
    "spares": "How many jars to make so that enough are good.",
    "steam": "How hot the steam is at a gauge reading and an elevation.",
    "lethality": "Lethality delivered, from a logger file.",
    "survivors": "Log reduction of one organism, from a logger file.",
    "moisture": "Mass and water from one moisture to another.",
    "properties": "Density, specific heat and conductivity of grain.",
    "growth-rate": "How fast a species grows at a temperature.",
    "grains": "The grains, and the source of each number.",
    "species": "The species, and the source of each number.",
    "jars": "The jars, and the source of each number.",
    "canners": "The canners, and the source of each number.",
    "spores": "Published resistance of spores, and the source of each number.",
    "sources": "Every source, weak ones first.",
}
