"""Heat: steam, and how it gets into jars by conduction or by vapor."""
