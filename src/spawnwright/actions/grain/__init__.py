"""Grain and jars: soak, simmer, moisture, fill."""
