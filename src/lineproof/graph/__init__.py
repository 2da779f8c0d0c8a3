"""Ways of seeing a show as a graph: how a signal goes, how a cable can lie. No opinions."""
