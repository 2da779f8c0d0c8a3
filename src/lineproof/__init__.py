"""Lineproof: plan, prove and break a networked sound system before the doors open."""

__version__ = "0.1.0"
