"""Benchmarks: how long Lineproof takes, held against its goals; `make bench` runs them all."""
