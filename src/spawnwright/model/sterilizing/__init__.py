"""Lethality: what a temperature history kills, and how long to hold for it."""
