"""What the record book holds: kinds of record, steps, the codes of jars."""
