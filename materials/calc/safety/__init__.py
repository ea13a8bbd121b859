"""The usual cautions: traits guessed from words, rules with their source, and when each comes up.

Advice only: no warning does not mean safe.
"""
