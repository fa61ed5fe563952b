"""Growth: the forecast of a jar, and jars to spare."""
