"""Planning: from a wish to a dated batch, or to the limits that forbid it."""
