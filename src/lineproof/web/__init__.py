"""The face in a browser on this computer: what the outcome holds, to look at and to break."""
