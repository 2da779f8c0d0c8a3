"""The catalogue of equipment: generic kinds of our own, as data."""
