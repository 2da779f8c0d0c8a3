"""Figures that follow from show and plan; nothing here chooses."""
