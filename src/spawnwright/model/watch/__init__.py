"""A run that is watched: its clock, its chain of steps, its cautions."""
