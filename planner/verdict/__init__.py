"""From the runs and the evidence to checks, each with its reason, and one verdict."""
