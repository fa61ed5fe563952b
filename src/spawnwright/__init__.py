"""Spawnwright: plans, times and records home-made grain spawn."""

__version__ = "0.1.0"
