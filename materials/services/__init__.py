"""Writes: one function per user action, atomic, recording who did it."""
