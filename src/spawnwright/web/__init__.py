"""Pages for the bench: parse what a browser sends, call one action, show what it gives."""
