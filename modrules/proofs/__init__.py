"""Proofs: what can be shown of a ruleset, by its worked cases and by reading it closely."""
