"""Makes the plan: which line on which spots, so that what hangs already stays."""
