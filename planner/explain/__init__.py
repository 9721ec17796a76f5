"""Results in words, charts and JSON."""
