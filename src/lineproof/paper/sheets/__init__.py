"""One module for each kind of sheet: what stands on it, before anything is drawn."""
