"""The usual cautions: traits guessed from words, rules with their source, and when each comes up.

Advice only: no warning does not mean safe. Traits are ticked on the component or guessed from
plain trade words in its name. A caution stands once for a build with all it concerns; one that
says the same of everything reused (``is_general``) stands short below the others. A note that a
caution was dealt with is kept for each component ticked, so that what comes later is open again,
and never removes the caution from the page. Each rule says how its source was read.
"""
