"""Words every part shares: quantities, positions in the text, names, spots, findings."""
