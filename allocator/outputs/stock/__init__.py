"""Lists, charts and summary of a fleet's shelf."""
