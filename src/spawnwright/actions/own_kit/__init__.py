"""The grower's kit: what was measured at home, and what that is worth."""
