"""Every command with its one-line help; the command itself is in the module of its name."""

COMMANDS: dict[str, str] = {
    "steam": "How hot the steam is at a gauge reading and an elevation.",
}
