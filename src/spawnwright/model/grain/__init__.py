"""Grain: water in it, room it takes, how long it keeps."""
