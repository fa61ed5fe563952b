"""Planning: how many jars, in which hours, with which chance."""
