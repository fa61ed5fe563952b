"""Growth: how fast mycelium fills a jar, and what it yields."""
