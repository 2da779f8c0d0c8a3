"""Runs: which cable joins what, through which ducts, and which ports stay open for a rescue."""
