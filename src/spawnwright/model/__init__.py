"""Functional core: pure functions on floats and arrays; no files, clock, store or dice."""
