"""Hostile input: requests, files and texts that nobody sends by mistake.

A case is made from a seed and a number alone, runs in a savepoint, and is rolled back.
``python -m tests.fuzz --cases 100000`` is the long form; the suite runs a short one.
"""
