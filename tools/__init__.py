"""The project's own plumbing: standard library only, so that a fresh clone can start it."""
