"""Why this panel and no smaller one, and why none at all: see ``docs/explanations.md``."""
