"""Which send channels share a stream, and who listens to it."""
