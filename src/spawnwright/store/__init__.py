"""What is kept in files: catalogs, the grower's own kit, wishes; no decisions."""
