"""A probe run: from readings of one probe in one jar to how heat moves through that grain."""
