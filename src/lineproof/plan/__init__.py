"""The plan: decisions only, by name, as a draft or issued under a number."""
