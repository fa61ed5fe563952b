"""Sterilizing: a run foreseen, watched, probed, filed."""
