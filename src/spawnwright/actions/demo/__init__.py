"""The demo: an invented grower's plan, and a season in their book."""
