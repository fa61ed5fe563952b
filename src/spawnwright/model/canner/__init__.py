"""The canner: what goes in, how it heats up, holds and cools."""
