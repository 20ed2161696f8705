"""The expression language: units, grammar, typed tree, and the two ways to run it."""
