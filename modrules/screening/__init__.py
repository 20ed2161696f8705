"""Screening: a submission brought together with a ruleset, and the answers drawn from it."""
